// Mouse, pen and finger. A drag on the photo draws a cover, or the crop; a drag on the chosen cover moves it, on its corners
// sizes it, on its knob turns it. A tap chooses. Two fingers zoom and move the photo; so do the wheel and the middle button.

const REACH_PX = 22;
const LEAST_DRAG_PX = 8;
const SNAP_DEG = 3;

function stagePlace(ed, event) {
  const box = ed.ui.stage.getBoundingClientRect();
  return { x: event.clientX - box.left, y: event.clientY - box.top };
}

function onPhoto(ed, at) {
  return toPhoto(ed.view, ed.data.photo, ed.size, at);
}

function gripAt(ed, at) {
  const near = gripsOf(ed).map((grip) => ({ ...grip, apart: distance(grip, at) })).filter((grip) => grip.apart <= REACH_PX);
  return near.sort((a, b) => a.apart - b.apart)[0] ?? null;
}

/** The chosen area before the others, then the one drawn last. */
function areaAt(ed, at) {
  const place = onPhoto(ed, at);
  const spare = Math.max(ed.data.margin, 12 / ed.view.scale);
  const held = ed.doc.areas.filter((area) => areaHolds(area, place, spare));
  return held.find((area) => area.key === ed.selected) ?? held.at(-1) ?? null;
}

function handDown(ed, event) {
  if (event.pointerType === "mouse" && event.button > 1) return;
  const at = stagePlace(ed, event);
  ed.pointers.set(event.pointerId, at);
  ed.engaged = true;
  try {
    ed.ui.stage.setPointerCapture(event.pointerId);
  } catch {
    // The pointer has gone; its end arrives as a cancel.
  }
  if (ed.pointers.size === 2) return startPinch(ed);
  if (ed.pointers.size > 2) return undefined;
  const base = { pointer: event.pointerId, start: at, at, before: copyOf(ed.doc), moved: false };
  if (event.button === 1) {
    event.preventDefault();
    ed.gesture = { ...base, kind: "pan" };
    return undefined;
  }
  const grip = gripAt(ed, at);
  const area = ed.tool === "crop" || grip ? null : areaAt(ed, at);
  if (grip && grip.what.startsWith("crop")) ed.gesture = { ...base, kind: "crop", fixed: cropCorners(ed.doc.crop)[(Number(grip.what.at(-1)) + 2) % 4] };
  else if (grip) ed.gesture = gripGesture(ed, base, grip.what);
  else if (area) ed.gesture = { ...base, kind: "move", key: area.key, hold: minus(onPhoto(ed, at), area) };
  else ed.gesture = { ...base, kind: ed.tool === "crop" ? "crop" : "draw", fixed: settled(ed.data.photo, onPhoto(ed, at)) };
  return undefined;
}

function gripGesture(ed, base, what) {
  const area = areaOf(ed, ed.selected);
  if (what === "turn") return { ...base, kind: "turn", key: area.key };
  const corner = Number(what.at(-1));
  const corners = areaCorners(area);
  return { ...base, kind: "size", key: area.key, fixed: corners[(corner + 2) % 4], hold: minus(onPhoto(ed, base.at), corners[corner]) };
}

function handMove(ed, event) {
  if (!ed.pointers.has(event.pointerId)) return;
  const at = stagePlace(ed, event);
  ed.pointers.set(event.pointerId, at);
  const gesture = ed.gesture;
  if (!gesture) return;
  if (gesture.kind === "pinch") {
    pinchOn(ed);
    return;
  }
  if (gesture.pointer !== event.pointerId) return;
  gesture.moved = gesture.moved || distance(at, gesture.start) > (event.pointerType === "mouse" ? 3 : 8);
  if (gesture.moved) followHand(ed, gesture, at, event.shiftKey);
  gesture.at = at;
}

function followHand(ed, gesture, at, steps) {
  const place = onPhoto(ed, at);
  if (gesture.kind === "pan") panBy(ed.view, ed.data.photo, ed.size, at.x - gesture.at.x, at.y - gesture.at.y);
  else if (gesture.kind === "draw") gesture.fresh = drawnBetween(ed, gesture.fixed, settled(ed.data.photo, place));
  else if (gesture.kind === "crop") gesture.crop = cropBetween(ed.data, gesture.fixed, place);
  else if (gesture.kind === "move") {
    ed.selected = gesture.key;
    putArea(ed, gesture.key, { ...minus(place, gesture.hold), open: false });
  } else if (gesture.kind === "size") {
    putArea(ed, gesture.key, { ...spannedFrom(areaOf(ed, gesture.key), gesture.fixed, minus(place, gesture.hold)), open: false });
  } else if (gesture.kind === "turn") {
    const arm = minus(place, areaOf(ed, gesture.key));
    const free = Math.atan2(arm.y, arm.x) * DEG + 90;
    const near = Math.round(free / 90) * 90;
    putArea(ed, gesture.key, { turn: steps ? Math.round(free / 15) * 15 : Math.abs(free - near) < SNAP_DEG ? near : free, open: false });
  }
  drawStage(ed);
}

function drawnBetween(ed, a, b) {
  return {
    kind: ed.kind, shape: ed.shape, x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, w: Math.abs(a.x - b.x), h: Math.abs(a.y - b.y), turn: 0, open: false,
  };
}

function handUp(ed, event) {
  if (!ed.pointers.delete(event.pointerId)) return;
  const gesture = ed.gesture;
  if (!gesture || (gesture.kind !== "pinch" && gesture.pointer !== event.pointerId)) return;
  if (gesture.kind === "pinch" && ed.pointers.size) return;
  ed.gesture = null;
  if (!gesture.moved) tapped(ed, gesture);
  else if (gesture.kind === "draw") endDraw(ed, gesture);
  else if (gesture.kind === "crop") endCrop(ed, gesture);
  else if (gesture.key !== undefined) {
    rememberStep(ed, "", gesture.before);
    ed.buttons.get(gesture.key)?.focus({ preventScroll: true });
    coverChanged(ed);
  } else drawStage(ed);
  takeWaiting(ed);
}

function tapped(ed, gesture) {
  if (gesture.kind === "pinch" || gesture.kind === "crop" || gesture.kind === "pan") return;
  if (gesture.kind === "draw") ed.selected = null;
  if (gesture.kind === "move") {
    ed.selected = gesture.key;
    ed.buttons.get(gesture.key)?.focus({ preventScroll: true });
  }
  drawAll(ed);
}

function endDraw(ed, gesture) {
  const { fresh } = gesture;
  if (!fresh || Math.min(fresh.w, fresh.h) * ed.view.scale < LEAST_DRAG_PX) {
    tell(ed, _("Too small for a cover: drag across what must not be shown."));
    drawStage(ed);
    return;
  }
  addArea(ed, fresh);
  ed.buttons.get(ed.selected)?.focus({ preventScroll: true });
}

function endCrop(ed, gesture) {
  const [, , w, h] = gesture.crop;
  if (w < ed.data.smallestCrop || h < ed.data.smallestCrop) {
    tell(ed, _("The part to keep must be at least {n} pixels wide and high.", { n: ed.data.smallestCrop }));
    drawStage(ed);
    return;
  }
  setCrop(ed, gesture.crop);
  tell(ed, _("Kept: {width} by {height} pixels.", { width: w, height: h }));
}

function takeWaiting(ed) {
  if (!ed.waiting || ed.gesture) return;
  ed.waiting = false;
  takeData(ed, ed.data);
  drawAll(ed);
}

/** A second finger, a lost pointer: all is as it was before. */
function handLost(ed) {
  const gesture = ed.gesture;
  ed.gesture = null;
  if (gesture && gesture.key !== undefined) ed.doc = gesture.before;
  takeWaiting(ed);
  drawAll(ed);
}

function twoFingers(ed) {
  const [a, b] = [...ed.pointers.values()];
  return { middle: { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 }, spread: Math.max(distance(a, b), 1) };
}

function startPinch(ed) {
  handLost(ed);
  ed.gesture = { kind: "pinch", ...twoFingers(ed) };
}

function pinchOn(ed) {
  if (ed.pointers.size < 2) return;
  const now = twoFingers(ed);
  const { middle, spread } = ed.gesture;
  zoomAt(ed.view, ed.data.photo, ed.size, now.spread / spread, middle);
  panBy(ed.view, ed.data.photo, ed.size, now.middle.x - middle.x, now.middle.y - middle.y);
  ed.gesture = { kind: "pinch", ...now };
  drawStage(ed);
}

/** The wheel belongs to the page until the photo has been pressed once; with Ctrl (as touchpads send a pinch) always to it. */
function wheelOn(ed, event) {
  if (!ed.engaged && !event.ctrlKey) return;
  event.preventDefault();
  zoomAt(ed.view, ed.data.photo, ed.size, Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : event.ctrlKey ? 0.01 : 0.0018)), stagePlace(ed, event));
  drawStage(ed);
}

function listenToHands(ed) {
  const { stage } = ed.ui;
  stage.addEventListener("pointerdown", (event) => handDown(ed, event));
  stage.addEventListener("pointermove", (event) => handMove(ed, event));
  stage.addEventListener("pointerup", (event) => handUp(ed, event));
  stage.addEventListener("pointercancel", (event) => {
    ed.pointers.delete(event.pointerId);
    handLost(ed);
  });
  stage.addEventListener("pointerleave", (event) => {
    if (event.pointerType === "mouse" && !ed.gesture) ed.engaged = false;
  });
  stage.addEventListener("wheel", (event) => wheelOn(ed, event), { passive: false });
  stage.addEventListener("contextmenu", (event) => event.preventDefault());
  stage.addEventListener("dragstart", (event) => event.preventDefault());
}
