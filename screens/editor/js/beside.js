// The second photo: to look at only, with its own zoom by wheel, fingers, drag and double press.

function openBeside(ed) {
  const stage = ed.ui.other.querySelector(".stage");
  const beside = { stage, picture: stage.querySelector("img"), view: newView(), photo: { width: 1, height: 1 }, size: { width: 1, height: 1 }, pointers: new Map() };
  ed.beside = beside;
  beside.picture.addEventListener("load", () => fitBeside(beside));
  const watch = new ResizeObserver(() => fitBeside(beside));
  watch.observe(stage);
  ed.ears.push(() => watch.disconnect());
  listenBeside(beside);
}

function fitBeside(beside) {
  const { picture, stage } = beside;
  if (!picture.naturalWidth || !stage.clientWidth) return;
  beside.photo = { width: picture.naturalWidth, height: picture.naturalHeight };
  beside.size = { width: stage.clientWidth, height: stage.clientHeight };
  picture.style.width = `${picture.naturalWidth}px`;
  if (beside.view.fitted) fitView(beside.view, beside.photo, beside.size);
  layBeside(beside);
}

function layBeside(beside) {
  beside.picture.style.transform = pictureMatrix(beside.view, beside.photo, beside.size, beside.photo.width);
  beside.stage.dataset.fitted = String(beside.view.fitted);
}

function besidePlace(beside, event) {
  const box = beside.stage.getBoundingClientRect();
  return { x: event.clientX - box.left, y: event.clientY - box.top };
}

function zoomBeside(beside, factor, place) {
  zoomAt(beside.view, beside.photo, beside.size, factor, place);
  layBeside(beside);
}

function moveBeside(beside, event) {
  const last = beside.pointers.get(event.pointerId);
  if (!last) return;
  const before = beside.pointers.size === 2 ? fingers(beside) : null;
  const at = besidePlace(beside, event);
  beside.pointers.set(event.pointerId, at);
  if (!before) panBy(beside.view, beside.photo, beside.size, at.x - last.x, at.y - last.y);
  else {
    const now = fingers(beside);
    zoomAt(beside.view, beside.photo, beside.size, now.spread / before.spread, before.middle);
    panBy(beside.view, beside.photo, beside.size, now.middle.x - before.middle.x, now.middle.y - before.middle.y);
  }
  layBeside(beside);
}

function listenBeside(beside) {
  const { stage } = beside;
  const middle = () => ({ x: beside.size.width / 2, y: beside.size.height / 2 });
  stage.addEventListener("pointerdown", (event) => {
    beside.engaged = true;
    beside.pointers.set(event.pointerId, besidePlace(beside, event));
    if (event.pointerType === "mouse") stage.setPointerCapture(event.pointerId);
  });
  stage.addEventListener("pointermove", (event) => moveBeside(beside, event));
  for (const name of ["pointerup", "pointercancel"]) stage.addEventListener(name, (event) => beside.pointers.delete(event.pointerId));
  stage.addEventListener("dblclick", (event) => zoomBeside(beside, beside.view.fitted ? 2.5 : 1e-3, besidePlace(beside, event)));
  stage.addEventListener("wheel", (event) => {
    if (!beside.engaged && !event.ctrlKey) return;
    event.preventDefault();
    zoomBeside(beside, Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0018)), besidePlace(beside, event));
  }, { passive: false });
  stage.addEventListener("touchmove", (event) => {
    if (event.touches.length > 1 && event.cancelable) event.preventDefault();
  }, { passive: false });
  stage.addEventListener("keydown", (event) => {
    const way = ARROWS[event.key];
    if (way && !beside.view.fitted && !event.ctrlKey && !event.metaKey && !event.altKey) {
      panBy(beside.view, beside.photo, beside.size, -way[0] * PAN_STEP_PX, -way[1] * PAN_STEP_PX);
      layBeside(beside);
      event.preventDefault();
      event.stopPropagation();
      return;
    }
    const factor = { "+": 1.35, "=": 1.35, "-": 1 / 1.35, 0: 1e-3 }[event.key];
    if (!factor || event.ctrlKey || event.metaKey) return;
    zoomBeside(beside, factor, middle());
    event.preventDefault();
    event.stopPropagation();
  });
}
