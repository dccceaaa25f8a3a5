// What is covered and kept, its history, and what Python is told.
// doc = { areas: [area], crop: [x, y, w, h] in photo px | null }

const STEPS_MOST = 200;
const PAUSE_MS = 250;

function docOf(ed, data) {
  return { areas: data.areas.map((area) => ({ ...area, key: ed.nextKey++ })), crop: data.crop };
}

function copyOf(doc) {
  return JSON.parse(JSON.stringify(doc));
}

/** Call before a change. Changes of one kind within a second are one step. */
function rememberStep(ed, kind = "", before = null) {
  const now = performance.now();
  const same = kind && ed.lastStep && ed.lastStep.kind === kind && now - ed.lastStep.at < 1000;
  ed.lastStep = { kind, at: now };
  if (same) return;
  ed.past.push(before ?? copyOf(ed.doc));
  if (ed.past.length > STEPS_MOST) ed.past.shift();
  ed.future = [];
}

function stepBack(ed, from, to) {
  if (!from.length || ed.gesture) return;
  to.push(copyOf(ed.doc));
  ed.doc = from.pop();
  ed.lastStep = null;
  if (!areaOf(ed, ed.selected)) ed.selected = null;
  coverChanged(ed);
}

function areaOf(ed, key) {
  return ed.doc.areas.find((area) => area.key === key) ?? null;
}

function putArea(ed, key, change) {
  ed.doc.areas = ed.doc.areas.map((area) => (area.key === key ? tidied(ed.data, { ...area, ...change }) : area));
}

/** Count the edit, draw, tell Python now or after a pause. */
function coverChanged(ed, pause = 0) {
  ed.edit = Math.max(ed.edit + 1, Date.now());
  ed.unsent = true;
  clearTimeout(ed.sendTimer);
  if (pause) ed.sendTimer = setTimeout(() => tellPython(ed), pause);
  else tellPython(ed);
  drawAll(ed);
}

function tellPython(ed) {
  clearTimeout(ed.sendTimer);
  if (!ed.unsent) return;
  ed.unsent = false;
  const areas = ed.doc.areas.map(({ from, kind, shape, x, y, w, h, turn, open }) => ({ from, kind, shape, x, y, w, h, turn, open }));
  ed.component.setStateValue("edit", { edit: ed.edit, revision: ed.revision, areas, crop: ed.doc.crop });
}

/** What undo may bring back after Python changed the covers: no proposal of before, and nothing that refers to what was. */
function ownOnly(doc) {
  return { ...doc, areas: doc.areas.filter((area) => !area.open).map((area) => ({ ...area, from: null })) };
}

/** Python gave data. Its areas are taken only with a new revision, and in mid-drag not before the release. */
function takeData(ed, data) {
  const before = ed.data;
  ed.data = data;
  if (before && data.revision === ed.revision) return;
  if (ed.gesture) {
    ed.waiting = true;
    return;
  }
  const samePhoto = before && before.photo.url === data.photo.url;
  ed.past = samePhoto ? [...ed.past, copyOf(ed.doc)].map(ownOnly) : [];
  ed.future = [];
  clearTimeout(ed.sendTimer);
  ed.unsent = false;
  ed.doc = docOf(ed, data);
  ed.revision = data.revision;
  ed.edit = Math.max(ed.edit, data.edit);
  ed.selected = null;
}

function addArea(ed, area) {
  if (ed.doc.areas.length >= ed.data.most) {
    tell(ed, _("No more than {n} covers fit.", { n: ed.data.most }));
    return;
  }
  const fresh = tidied(ed.data, { from: null, kind: ed.kind, shape: ed.shape, turn: 0, why: "", open: false, ...area, key: ed.nextKey++ });
  rememberStep(ed);
  ed.doc.areas = [...ed.doc.areas, fresh];
  ed.selected = fresh.key;
  coverChanged(ed);
  tell(ed, _("{cover} added.", { cover: nameOf(ed, fresh) }));
}

function removeArea(ed, key) {
  const area = areaOf(ed, key);
  if (!area) return;
  const name = nameOf(ed, area);
  rememberStep(ed);
  ed.doc.areas = ed.doc.areas.filter((other) => other.key !== key);
  ed.selected = null;
  coverChanged(ed);
  tell(ed, area.open ? _("{cover}: left uncovered.", { cover: name }) : _("{cover} removed.", { cover: name }));
}

function acceptArea(ed, key) {
  const area = areaOf(ed, key);
  rememberStep(ed);
  putArea(ed, key, { open: false });
  coverChanged(ed);
  tell(ed, _("{cover}: covered.", { cover: nameOf(ed, areaOf(ed, key) ?? area) }));
}

/** By hand or key: an area that is moved is decided on. */
function changeArea(ed, key, change, kind, pause = PAUSE_MS) {
  rememberStep(ed, kind);
  putArea(ed, key, { ...change, open: false });
  coverChanged(ed, pause);
}

function setCrop(ed, crop, pause = 0, kind = "") {
  rememberStep(ed, kind);
  ed.doc.crop = crop;
  coverChanged(ed, pause);
}

/** As a person calls it: its number among the covers and what it hides. */
function nameOf(ed, area) {
  const kind = ed.data.kinds.find((one) => one.id === area.kind).within;
  const alike = ed.doc.areas.filter((one) => one.open === area.open);
  const number = alike.findIndex((one) => one.key === area.key) + 1;
  return area.open ? _("Proposal {n}, {kind}", { n: number, kind }) : _("Cover {n}, {kind}", { n: number, kind });
}
