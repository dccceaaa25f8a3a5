// Keys: Tab reaches each point; arrows move it by one photo pixel, with Shift by ten; Delete removes it; + - 0 zoom.

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function pointInFocus(ed) {
  const handle = ed.shadow.activeElement;
  const id = handle && handle.classList.contains("handle") ? handle.dataset.id : null;
  return id && ed.doc.points[id] && ed.data.mode === "points" ? id : null;
}

/** What a first zoom by key or button should bring to the middle, in photo px: the point in focus, the face, the mark. */
function ofInterest(ed) {
  const id = pointInFocus(ed);
  if (id) return ed.doc.points[id];
  if (!ed.view.fitted) return null;
  const face = Object.entries(ed.doc.points).filter(([name]) => !["shoulder", "hip", "scale_a", "scale_b"].includes(name));
  const spots = face.length ? face.map(([, point]) => point) : ed.doc.box ? boxCorners(ed) : [];
  if (!spots.length) return null;
  const middle = (axis) => spots.reduce((sum, spot) => sum + spot[axis] / spots.length, 0);
  return { x: middle("x"), y: middle("y") };
}

function zoomStep(ed, factor) {
  const stage = stageSize(ed);
  const { photo } = ed.data;
  const centre = { x: stage.width / 2, y: stage.height / 2 };
  const target = factor > 1 ? ofInterest(ed) : null;
  const at = target ? toStage(ed.view, photo, stage, target) : centre;
  zoomAt(ed.view, photo, stage, factor, at);
  if (target) panBy(ed.view, photo, stage, centre.x - at.x, centre.y - at.y);
  renderStage(ed);
}

function fitNow(ed) {
  fitView(ed.view, ed.data.photo, stageSize(ed));
  renderStage(ed);
}

function editKey(ed, event) {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return false;
  const key = event.key.toLowerCase();
  if (key === "z" && event.shiftKey) redo(ed);
  else if (key === "z") undo(ed);
  else if (key === "y") redo(ed);
  else return false;
  return true;
}

function pointKey(ed, event, id) {
  if (event.ctrlKey || event.metaKey || event.altKey || ed.gesture) return false;
  if (ARROWS[event.key]) {
    const step = event.shiftKey ? 10 : 1;
    ed.selected = id;
    nudge(ed, id, ARROWS[event.key][0] * step, ARROWS[event.key][1] * step);
    glanceLoupe(ed, ed.doc.points[id]);
    return true;
  }
  if (event.key === "Delete" || event.key === "Backspace") {
    removePoint(ed, id);
    return true;
  }
  return false;
}

function viewKey(ed, event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return false;
  if (event.key === "+" || event.key === "=") zoomStep(ed, 1.35);
  else if (event.key === "-" || event.key === "_") zoomStep(ed, 1 / 1.35);
  else if (event.key === "0") fitNow(ed);
  else if (event.key === "Escape") standDown(ed);
  else if (event.key === " " && !event.repeat && ed.shadow.activeElement === ed.ui.stage) ed.spaceHeld = true;
  else return event.key === " " && ed.shadow.activeElement === ed.ui.stage;
  return true;
}

function standDown(ed) {
  if (ed.gesture) gestureLost(ed);
  ed.boxTool = false;
  ed.armed = null;
  ed.guided = false;
  ed.selected = null;
  render(ed);
}

function keyDown(ed, event) {
  const typing = event.target.tagName === "INPUT";
  const id = pointInFocus(ed);
  const done = editKey(ed, event) || (id && pointKey(ed, event, id)) || (!typing && viewKey(ed, event));
  if (!done) return;
  event.preventDefault();
  event.stopPropagation();
}

function listenToKeys(ed) {
  ed.root.addEventListener("keydown", (event) => keyDown(ed, event));
  ed.root.addEventListener("keyup", (event) => {
    if (event.key === " ") ed.spaceHeld = false;
  });
  ed.root.addEventListener("focusin", (event) => {
    const id = event.target.dataset && event.target.classList.contains("handle") ? event.target.dataset.id : null;
    if (id && ed.doc.points[id] && !ed.gesture && ed.selected !== id) {
      ed.selected = id;
      render(ed);
    }
  });
  ed.root.addEventListener("focusout", () => flush(ed));
}
