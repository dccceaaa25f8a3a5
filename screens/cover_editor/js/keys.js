// Keys: Tab reaches each cover; arrows move it by one photo pixel, with Shift by ten; Delete removes it; + - 0 zoom.

const ARROW_STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function areaInFocus(ed) {
  const active = ed.shadow.activeElement;
  return active && active.classList.contains("areabutton") ? areaOf(ed, Number(active.dataset.key)) : null;
}

function historyKey(ed, event) {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return false;
  const key = event.key.toLowerCase();
  if (key === "y" || (key === "z" && event.shiftKey)) stepBack(ed, ed.future, ed.past);
  else if (key === "z") stepBack(ed, ed.past, ed.future);
  else return false;
  return true;
}

function areaKey(ed, event, area) {
  if (event.ctrlKey || event.metaKey || event.altKey || ed.gesture) return false;
  if (ARROW_STEPS[event.key]) {
    const step = event.shiftKey ? 10 : 1;
    const [dx, dy] = ARROW_STEPS[event.key];
    changeArea(ed, area.key, { x: area.x + dx * step, y: area.y + dy * step }, `move${area.key}`);
    return true;
  }
  if (event.key !== "Delete" && event.key !== "Backspace") return false;
  removeArea(ed, area.key);
  ed.ui.stage.focus({ preventScroll: true });
  return true;
}

function sightKey(ed, event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return false;
  if (event.key === "+" || event.key === "=") zoomBy(ed, 1.35);
  else if (event.key === "-" || event.key === "_") zoomBy(ed, 1 / 1.35);
  else if (event.key === "0") wholePhoto(ed);
  else if (event.key === "Escape") {
    if (ed.gesture) handLost(ed);
    ed.selected = null;
    drawAll(ed);
  } else return false;
  return true;
}

/** Towards the chosen area, else towards the middle of what is in sight. */
function zoomBy(ed, factor) {
  const centre = { x: ed.size.width / 2, y: ed.size.height / 2 };
  const area = factor > 1 ? areaOf(ed, ed.selected) : null;
  const at = area ? placed(ed, area) : centre;
  zoomAt(ed.view, ed.data.photo, ed.size, factor, at);
  if (area) panBy(ed.view, ed.data.photo, ed.size, centre.x - at.x, centre.y - at.y);
  drawStage(ed);
}

function wholePhoto(ed) {
  fitView(ed.view, ed.data.photo, ed.size);
  drawStage(ed);
}

function listenToCoverKeys(ed) {
  ed.root.addEventListener("keydown", (event) => {
    const typing = ["INPUT", "SELECT"].includes(event.target.tagName);
    const area = areaInFocus(ed);
    const done = (!typing && historyKey(ed, event)) || (area && areaKey(ed, event, area)) || (!typing && sightKey(ed, event));
    if (!done) return;
    event.preventDefault();
    event.stopPropagation();
  });
  ed.root.addEventListener("focusin", (event) => {
    const key = event.target.classList.contains("areabutton") ? Number(event.target.dataset.key) : null;
    if (key === null || ed.gesture || ed.selected === key) return;
    ed.selected = key;
    ed.tool = "cover";
    drawAll(ed);
  });
  ed.root.addEventListener("focusout", () => tellPython(ed));
}
