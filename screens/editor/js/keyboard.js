// Keys: Tab reaches each point; arrows move it by one photo pixel, with Shift by ten; Delete removes it; + - 0 zoom.
// On the photo itself Enter places what is asked for in the middle of what is in sight, and arrows move an enlarged photo.

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function pointInFocus(ed) {
  const handle = ed.shadow.activeElement;
  const id = handle && handle.classList.contains("handle") ? handle.dataset.id : null;
  return id && ed.doc.points[id] && ed.data.mode === "points" ? id : null;
}

/** What else can be moved and has the focus: a pin that is asked for, or a corner of the mark; its id, or null. */
function markInFocus(ed) {
  const handle = ed.shadow.activeElement;
  const id = handle && handle.classList.contains("handle") ? handle.dataset.id : null;
  return id && (id.startsWith("pin:") || id.startsWith("box:")) && handle.tabIndex === 0 ? id : null;
}

function markKey(ed, event, id) {
  if (event.ctrlKey || event.metaKey || event.altKey || ed.gesture) return false;
  if (event.key === "Enter" && id.startsWith("pin:")) {
    flush(ed);
    return true;
  }
  if (!ARROWS[event.key]) return false;
  const [dx, dy] = ARROWS[event.key].map((way) => way * (event.shiftKey ? 10 : 1));
  if (id.startsWith("pin:")) nudgePin(ed, id.slice(4), dx, dy);
  else nudgeCorner(ed, Number(id.slice(4)), dx, dy);
  return true;
}

/** Enter on the photo: what the next tap would place, in the middle, with the focus on it for the arrows. */
function placeByKey(ed) {
  const stage = stageSize(ed);
  const middle = photoPlace(ed, { x: stage.width / 2, y: stage.height / 2 });
  const asked = toPlaceNow(ed);
  if (asked && asked.id.startsWith("pin:")) placePin(ed, middle, UNTIL_LEFT_MS);
  else if (asked) placeHere(ed, middle);
  else if (boxing(ed) && !ed.doc.box) boxByKey(ed, stage);
  else return false;
  ed.handles.get(asked ? asked.id : "box:0")?.focus({ preventScroll: true });
  return true;
}

/** A mark over the middle half of what is in sight; its corners can then be moved. */
function boxByKey(ed, stage) {
  const at = (share) => settled(ed.data.photo, photoPlace(ed, { x: stage.width * share, y: stage.height * share }));
  remember(ed);
  ed.doc.box = boxBetween(ed, at(0.25), at(0.75));
  changed(ed);
  announce(ed, _("Marked"));
}

const PAN_STEP_PX = 48;

function stageKey(ed, event) {
  if (event.ctrlKey || event.metaKey || event.altKey || ed.gesture || ed.shadow.activeElement !== ed.ui.stage) return false;
  if (event.key === "Enter") return placeByKey(ed);
  if (!ARROWS[event.key] || ed.view.fitted) return false;
  const [dx, dy] = ARROWS[event.key];
  panBy(ed.view, ed.data.photo, stageSize(ed), -dx * PAN_STEP_PX, -dy * PAN_STEP_PX);
  renderStage(ed);
  return true;
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
    announceAtRest(ed, () => announceMoved(ed, id));
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
  const mark = markInFocus(ed);
  const done = editKey(ed, event) || (id && pointKey(ed, event, id)) || (mark && markKey(ed, event, mark)) || stageKey(ed, event) || (!typing && viewKey(ed, event));
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
  ed.root.addEventListener("focusout", (event) => {
    // From the photo to the pin that a key has just placed on it: the arrows come next.
    const onward = event.target === ed.ui.stage && event.relatedTarget && event.relatedTarget.classList.contains("handle");
    if (!onward) flush(ed);
  });
}
