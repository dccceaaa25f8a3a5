// What the person has placed, its history, and what Python is told.
// doc = { points: {id: {x, y, v, by, sigma}}, pins: {id: {x, y}}, box: [x, y, w, h] | null, yaw: {deg, by} | null }
// points in photo px; pins and box as shares of the photo.

const HISTORY_MOST = 200;
const KEYS_PAUSE_MS = 250;
const UNTIL_LEFT_MS = 600_000;

function docFrom(data) {
  const points = {};
  for (const [id, point] of Object.entries(data.points)) {
    points[id] = { ...point, x: point.x * data.photo.width, y: point.y * data.photo.height };
  }
  const pins = {};
  for (const [id, pin] of Object.entries(data.pins)) if (!pin.reference) pins[id] = { x: pin.x, y: pin.y };
  return { points, pins, box: data.box, yaw: data.yaw };
}

function copyDoc(doc) {
  return JSON.parse(JSON.stringify(doc));
}

/** Call before a change. Moves by key of the same point within a second are one step. */
function remember(ed, kind = "") {
  const now = performance.now();
  if (kind && ed.lastStep && ed.lastStep.kind === kind && now - ed.lastStep.at < 1000) {
    ed.lastStep.at = now;
    return;
  }
  ed.lastStep = { kind, at: now };
  rememberDoc(ed, copyDoc(ed.doc));
}

function rememberDoc(ed, before) {
  ed.past.push(before);
  if (ed.past.length > HISTORY_MOST) ed.past.shift();
  ed.future = [];
}

function stepThrough(ed, from, to) {
  if (!from.length || ed.gesture) return;
  to.push(copyDoc(ed.doc));
  ed.doc = from.pop();
  ed.lastStep = null;
  if (ed.data.mode === "points") ed.armed = ed.guided ? nextToPlace(ed, null) : null;
  changed(ed);
}

function undo(ed) {
  stepThrough(ed, ed.past, ed.future);
}

function redo(ed) {
  stepThrough(ed, ed.future, ed.past);
}

function sharesOf(ed) {
  const { width, height } = ed.data.photo;
  const points = {};
  for (const [id, point] of Object.entries(ed.doc.points)) {
    points[id] = { x: point.x / width, y: point.y / height, v: point.v, by: point.by };
  }
  const yaw = ed.doc.yaw && { deg: ed.doc.yaw.deg, by: ed.doc.yaw.by };
  return { points, pins: ed.doc.pins, box: ed.doc.box, yaw };
}

/** The document changed: count the edit, draw, tell Python now or after a pause. */
function changed(ed, pause = 0) {
  ed.edit = Math.max(ed.edit + 1, Date.now());
  ed.unsent = true;
  clearTimeout(ed.sendTimer);
  if (pause) ed.sendTimer = setTimeout(() => flush(ed), pause);
  else flush(ed);
  render(ed);
}

function flush(ed) {
  clearTimeout(ed.sendTimer);
  if (!ed.unsent) return;
  ed.unsent = false;
  ed.component.setStateValue("edit", { edit: ed.edit, revision: ed.revision, ...sharesOf(ed) });
}

/** Python gave data. Its points are taken only with a new revision, and in mid-drag not before the release. */
function adopt(ed, data) {
  const before = ed.data;
  ed.data = data;
  if (before && data.revision === ed.revision) {
    if (before.ask.map((asked) => asked.id).join() !== data.ask.map((asked) => asked.id).join()) askedAnew(ed);
    return;
  }
  if (ed.gesture && ed.gesture.holdsPoint) {
    ed.waiting = data;
    return;
  }
  const otherTask = before && (before.photo.url !== data.photo.url || before.blind !== data.blind || before.mode !== data.mode);
  if (otherTask) {
    ed.past = [];
    ed.future = [];
  } else if (before) {
    rememberDoc(ed, copyDoc(ed.doc));
  }
  clearTimeout(ed.sendTimer);
  ed.unsent = false;
  ed.doc = docFrom(data);
  ed.revision = data.revision;
  ed.edit = Math.max(ed.edit, data.edit);
  ed.skipped = new Set();
  ed.selected = null;
  ed.armed = nextToPlace(ed, null);
}

/** Other landmarks are asked for: keep the one in hand if it is still among them. */
function askedAnew(ed) {
  const still = ed.data.ask.some((asked) => asked.id === ed.armed);
  if (ed.guided && !still) ed.armed = nextToPlace(ed, null);
  else if (!still) ed.armed = null;
}

/** After a drag: take what Python sent meanwhile, with the point under the finger laid over it. */
function adoptWaiting(ed, id) {
  if (!ed.waiting) return;
  const data = ed.waiting;
  const held = ed.doc.points[id];
  ed.waiting = null;
  adopt(ed, data);
  if (held && data.mode === "points") ed.doc.points[id] = held;
}

/** The next landmark that is neither placed nor skipped, after `from` and round again. */
function nextToPlace(ed, from) {
  if (ed.data.mode !== "points") return null;
  const order = ed.data.ask.map((asked) => asked.id);
  const start = from === null ? 0 : order.indexOf(from) + 1;
  const round = [...order.slice(start), ...order.slice(0, start)];
  return round.find((id) => !ed.doc.points[id] && !ed.skipped.has(id)) ?? null;
}

function placePoint(ed, id, place, visibility = 2) {
  remember(ed);
  ed.doc.points[id] = { ...settled(ed.data.photo, place), v: visibility, by: "student", sigma: null };
  ed.armHidden = false;
  ed.armed = nextToPlace(ed, id);
  ed.selected = ed.armed ? id : null;
  changed(ed);
  announcePlaced(ed, id);
}

function placePin(ed, place, pause = 0) {
  const { width, height } = ed.data.photo;
  const item = ed.data.pinItem;
  const spot = settled(ed.data.photo, place);
  remember(ed);
  ed.doc.pins[item.id] = { x: spot.x / width, y: spot.y / height };
  changed(ed, pause);
  announce(ed, _("Pinned: {sign}", { sign: item.label }));
}

function removePoint(ed, id) {
  if (!ed.doc.points[id]) return;
  remember(ed);
  delete ed.doc.points[id];
  ed.armed = id;
  changed(ed);
  announce(ed, _("{point} removed", { point: ed.data.names[id] }));
}

function toggleHidden(ed, id) {
  const point = ed.doc.points[id];
  if (!point) {
    ed.armed = id;
    ed.armHidden = !(ed.armHidden && ed.armed === id);
    render(ed);
    return;
  }
  remember(ed);
  ed.doc.points[id] = { ...point, v: point.v === 1 ? 2 : 1 };
  changed(ed);
}

function keepProposal(ed, id) {
  remember(ed);
  ed.doc.points[id] = { ...ed.doc.points[id], by: "student", sigma: null };
  changed(ed);
}

/** Move by whole photo pixels, in the directions of the screen. */
function nudge(ed, id, dx, dy) {
  const step = turned({ x: dx, y: dy }, -ed.view.turn);
  remember(ed, `keys:${id}`);
  const point = ed.doc.points[id];
  ed.doc.points[id] = {
    ...point,
    ...settled(ed.data.photo, { x: point.x + step.x, y: point.y + step.y }),
    by: "student",
    sigma: null,
  };
  changed(ed, KEYS_PAUSE_MS);
}

/** A pin that keys move is told once the focus leaves it, or it would be taken as final after its first step. */
function nudgePin(ed, id, dx, dy) {
  const { width, height } = ed.data.photo;
  const step = turned({ x: dx, y: dy }, -ed.view.turn);
  const pin = ed.doc.pins[id];
  remember(ed, `keys:pin:${id}`);
  const spot = settled(ed.data.photo, { x: pin.x * width + step.x, y: pin.y * height + step.y });
  ed.doc.pins[id] = { x: spot.x / width, y: spot.y / height };
  changed(ed, UNTIL_LEFT_MS);
}

function nudgeCorner(ed, i, dx, dy) {
  const step = turned({ x: dx, y: dy }, -ed.view.turn);
  const corners = boxCorners(ed);
  remember(ed, `keys:box:${i}`);
  const moved = settled(ed.data.photo, { x: corners[i].x + step.x, y: corners[i].y + step.y });
  ed.doc.box = boxBetween(ed, moved, corners[(i + 2) % 4]);
  changed(ed, KEYS_PAUSE_MS);
}
