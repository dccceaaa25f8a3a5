// Mouse, pen and finger on the stage.
// A short press is a tap: it places what is asked for, else it picks a point. A press on a point that moves drags it. A press
// on the photo that stays for a moment opens the loupe, and the release places. Two fingers zoom and move. A drag on the
// photo moves it once it is enlarged; while all of it is in sight, one finger scrolls the page instead.

const HOLD_MS = 230;
const REACH = 24;

/** True while a drag on the photo draws the box. */
function boxing(ed) {
  return ed.boxTool || (ed.data.askBox && (ed.data.mode === "look" || ed.data.mode === "box"));
}

function stageSize(ed) {
  return ed.size;
}

function placeOf(ed, event) {
  const box = ed.ui.stage.getBoundingClientRect();
  return { x: event.clientX - box.left, y: event.clientY - box.top };
}

function photoPlace(ed, at) {
  return toPhoto(ed.view, ed.data.photo, stageSize(ed), at);
}

/** The nearest thing that can be dragged within reach, or null. A point picked in the list lies above those that hide it. */
function hitAt(ed, at) {
  let best = null;
  for (const place of placesOf(ed)) {
    if (place.still) continue;
    const spot = toStage(ed.view, ed.data.photo, stageSize(ed), place);
    const middle = place.kind === "pin" ? { x: spot.x, y: spot.y - 18 } : spot;
    const apart = distance(middle, at);
    if (apart > REACH) continue;
    if (place.id === ed.raised) return { id: place.id, apart, x: place.x, y: place.y };
    if (!best || apart < best.apart) best = { id: place.id, apart, x: place.x, y: place.y };
  }
  return best;
}

/** What the next tap on the photo places: {id} of a landmark or a pin, or null. */
function toPlaceNow(ed) {
  if (boxing(ed)) return null;
  if (ed.data.mode === "points" && ed.armed) return { id: ed.armed };
  if (ed.data.mode === "pins" && ed.data.pinItem) return { id: `pin:${ed.data.pinItem.id}` };
  return null;
}

function placeHere(ed, place) {
  const asked = toPlaceNow(ed);
  if (!asked) return;
  if (asked.id.startsWith("pin:")) placePin(ed, place);
  else placePoint(ed, asked.id, place, ed.armHidden ? 1 : 2);
}

function gestureDown(ed, event) {
  if (event.pointerType === "mouse" && event.button > 1) return;
  const at = placeOf(ed, event);
  ed.pointers.set(event.pointerId, at);
  ed.engaged = true;
  if (ed.pointers.size === 2) return beginPinch(ed);
  if (ed.pointers.size > 2) return undefined;
  const touch = event.pointerType !== "mouse";
  const base = { pointer: event.pointerId, start: at, at, touch, slack: touch ? 9 : 4 };
  const hit = hitAt(ed, at);
  if (!hit || hit.id !== ed.raised) ed.raised = null;
  if (event.button === 1 || ed.spaceHeld) ed.gesture = { ...base, kind: "pan" };
  else if (boxing(ed) && !(hit && hit.id.startsWith("box:"))) ed.gesture = { ...base, kind: "box", from: settled(ed.data.photo, photoPlace(ed, at)) };
  else ed.gesture = { ...base, kind: "press", hit };
  if (event.button === 1) event.preventDefault();
  if (ed.gesture.kind !== "press" || hit) capture(ed, event.pointerId);
  if (ed.gesture.kind === "press" && !hit && toPlaceNow(ed)) ed.holdTimer = setTimeout(() => beginPlacing(ed), HOLD_MS);
  return undefined;
}

function capture(ed, pointer) {
  try {
    ed.ui.stage.setPointerCapture(pointer);
  } catch {
    // The pointer has gone; its end arrives as a cancel.
  }
}

function beginPlacing(ed) {
  const gesture = ed.gesture;
  if (!gesture || gesture.kind !== "press") return;
  capture(ed, gesture.pointer);
  ed.gesture = { ...gesture, kind: "placing", holdsPoint: true, place: settled(ed.data.photo, photoPlace(ed, gesture.at)) };
  moveTo(ed, gesture.at);
}

function gestureMove(ed, event) {
  const held = ed.pointers.get(event.pointerId);
  if (!held) return;
  const at = placeOf(ed, event);
  ed.pointers.set(event.pointerId, at);
  const gesture = ed.gesture;
  if (!gesture) return;
  if (gesture.kind === "pinch") return movePinch(ed);
  if (gesture.pointer !== event.pointerId) return;
  const moved = Math.hypot(at.x - gesture.start.x, at.y - gesture.start.y) > gesture.slack;
  if (gesture.kind === "press" && moved) {
    clearTimeout(ed.holdTimer);
    if (gesture.hit) beginDrag(ed);
    else if (!ed.view.fitted) {
      capture(ed, event.pointerId);
      ed.gesture = { ...gesture, kind: "pan" };
    } else if (!gesture.touch && toPlaceNow(ed)) beginPlacing(ed);
    else ed.gesture = { ...gesture, kind: "none" };
  }
  moveTo(ed, at);
}

function beginDrag(ed) {
  const { hit } = ed.gesture;
  ed.gesture = {
    ...ed.gesture, kind: "drag", id: hit.id, holdsPoint: true, before: copyDoc(ed.doc),
    grip: minus(photoPlace(ed, ed.gesture.start), hit),
    opposite: hit.id.startsWith("box:") ? boxCorners(ed)[(Number(hit.id.slice(4)) + 2) % 4] : null,
  };
  if (isLandmark(hit.id)) ed.selected = hit.id;
  ed.handles.get(hit.id)?.focus({ preventScroll: true });
  renderPanel(ed);
}

function moveTo(ed, at) {
  const gesture = ed.gesture;
  if (!gesture) return;
  const last = gesture.at;
  gesture.at = at;
  if (gesture.kind === "pan") {
    panBy(ed.view, ed.data.photo, stageSize(ed), at.x - last.x, at.y - last.y);
    renderStage(ed);
  } else if (gesture.kind === "drag") {
    putHeld(ed, settled(ed.data.photo, minus(photoPlace(ed, at), gesture.grip)));
  } else if (gesture.kind === "placing") {
    gesture.place = settled(ed.data.photo, photoPlace(ed, at));
    showLoupe(ed, gesture.place, gesture.touch);
    renderStage(ed);
  } else if (gesture.kind === "box") {
    gesture.box = boxBetween(ed, gesture.from, settled(ed.data.photo, photoPlace(ed, at)));
    renderStage(ed);
  }
}

function putHeld(ed, place) {
  const { id, touch } = ed.gesture;
  if (id.startsWith("box:")) {
    ed.doc.box = boxBetween(ed, place, ed.gesture.opposite);
  } else if (id.startsWith("pin:")) {
    ed.doc.pins[id.slice(4)] = { x: place.x / ed.data.photo.width, y: place.y / ed.data.photo.height };
  } else {
    ed.doc.points[id] = { ...ed.doc.points[id], ...place, by: "student", sigma: null };
  }
  showLoupe(ed, place, touch);
  renderStage(ed);
}

function isLandmark(id) {
  return Boolean(LANDMARKS[id]);
}

/** The four corners of the box in photo px, clockwise from the top left. */
function boxCorners(ed) {
  const { width, height } = ed.data.photo;
  const [x, y, w, h] = ed.doc.box;
  return [[x, y], [x + w, y], [x + w, y + h], [x, y + h]].map(([cx, cy]) => ({ x: cx * width, y: cy * height }));
}

function boxBetween(ed, a, b) {
  const { width, height } = ed.data.photo;
  return [Math.min(a.x, b.x) / width, Math.min(a.y, b.y) / height, Math.abs(a.x - b.x) / width, Math.abs(a.y - b.y) / height];
}

function gestureUp(ed, event) {
  if (!ed.pointers.delete(event.pointerId)) return;
  const gesture = ed.gesture;
  clearTimeout(ed.holdTimer);
  if (!gesture || (gesture.kind !== "pinch" && gesture.pointer !== event.pointerId)) return;
  if (gesture.kind === "pinch") {
    if (ed.pointers.size === 0) ed.gesture = null;
    return;
  }
  ed.gesture = null;
  hideLoupe(ed);
  if (gesture.kind === "press") tap(ed, gesture);
  else if (gesture.kind === "placing") endPlacing(ed, gesture);
  else if (gesture.kind === "drag") endDrag(ed, gesture);
  else if (gesture.kind === "box") endBox(ed, gesture);
  else render(ed);
}

function tap(ed, gesture) {
  const place = photoPlace(ed, gesture.at);
  const { width, height } = ed.data.photo;
  const inside = place.x >= 0 && place.y >= 0 && place.x <= width && place.y <= height;
  if (toPlaceNow(ed) && inside) return placeHere(ed, place);
  if (gesture.hit && isLandmark(gesture.hit.id)) {
    ed.selected = gesture.hit.id;
    ed.handles.get(gesture.hit.id)?.focus({ preventScroll: true });
  } else ed.selected = null;
  return render(ed);
}

function endPlacing(ed, gesture) {
  adoptWaiting(ed, null);
  placeHere(ed, gesture.place);
}

function endDrag(ed, gesture) {
  rememberDoc(ed, gesture.before);
  ed.lastStep = null;
  adoptWaiting(ed, gesture.id);
  changed(ed);
  if (isLandmark(gesture.id)) announceMoved(ed, gesture.id);
}

function endBox(ed, gesture) {
  ed.boxTool = false;
  if (!gesture.box || gesture.box[2] * ed.data.photo.width < 8 || gesture.box[3] * ed.data.photo.height < 8) return render(ed);
  remember(ed);
  ed.doc.box = gesture.box;
  announce(ed, _("Marked"));
  return changed(ed);
}

/** A second finger, a lost pointer: put the point back where it was. */
function gestureLost(ed) {
  const gesture = ed.gesture;
  clearTimeout(ed.holdTimer);
  hideLoupe(ed);
  ed.gesture = null;
  if (gesture && gesture.kind === "drag") ed.doc = gesture.before;
  adoptWaiting(ed, null);
  render(ed);
}

function beginPinch(ed) {
  gestureLost(ed);
  for (const pointer of ed.pointers.keys()) capture(ed, pointer);
  ed.gesture = { kind: "pinch", ...fingers(ed) };
}

function fingers(ed) {
  const [a, b] = [...ed.pointers.values()];
  return { middle: { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 }, spread: Math.max(Math.hypot(a.x - b.x, a.y - b.y), 1) };
}

function movePinch(ed) {
  if (ed.pointers.size < 2) return;
  const now = fingers(ed);
  const { middle, spread } = ed.gesture;
  zoomAt(ed.view, ed.data.photo, stageSize(ed), now.spread / spread, middle);
  panBy(ed.view, ed.data.photo, stageSize(ed), now.middle.x - middle.x, now.middle.y - middle.y);
  ed.gesture = { kind: "pinch", ...now };
  renderStage(ed);
}

/** The wheel belongs to the page until the photo has been pressed once; with Ctrl (as touchpads send a pinch) always to it. */
function wheel(ed, event) {
  if (!ed.engaged && !event.ctrlKey) {
    hint(ed, _("Click the photo once, then the wheel zooms"));
    return;
  }
  event.preventDefault();
  const factor = Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : event.ctrlKey ? 0.01 : 0.0018));
  zoomAt(ed.view, ed.data.photo, stageSize(ed), factor, placeOf(ed, event));
  renderStage(ed);
}

function listenToGestures(ed) {
  const { stage } = ed.ui;
  stage.addEventListener("pointerdown", (event) => gestureDown(ed, event));
  stage.addEventListener("pointermove", (event) => gestureMove(ed, event));
  stage.addEventListener("pointerup", (event) => gestureUp(ed, event));
  stage.addEventListener("pointercancel", (event) => {
    ed.pointers.delete(event.pointerId);
    gestureLost(ed);
  });
  stage.addEventListener("pointerleave", (event) => {
    if (event.pointerType === "mouse" && !ed.gesture) ed.engaged = false;
  });
  stage.addEventListener("wheel", (event) => wheel(ed, event), { passive: false });
  stage.addEventListener("contextmenu", (event) => event.preventDefault());
  stage.addEventListener("dragstart", (event) => event.preventDefault());
  // Once a finger holds a point, or two fingers are down, the browser must not scroll.
  const hold = (event) => {
    const ours = ed.gesture && ed.gesture.kind !== "press" && ed.gesture.kind !== "none";
    if (event.cancelable && (event.touches.length > 1 || ours)) event.preventDefault();
  };
  stage.addEventListener("touchstart", hold, { passive: false });
  stage.addEventListener("touchmove", hold, { passive: false });
}
