// Beside the photo: what is proposed, what the next cover hides, the covers with their fields, and the part to keep.

const COVER_ICONS = {
  undo: "M9 7L4 12l5 5M4.5 12H15a5 5 0 0 1 0 10h-2",
  redo: "M15 7l5 5-5 5M19.5 12H9a5 5 0 0 0 0 10h2",
  plus: "M12 5v14M5 12h14",
  minus: "M5 12h14",
  fit: "M4 9V4h5M20 9V4h-5M4 15v5h5M20 15v5h-5",
};

function toolNode(ed, name, label, act) {
  const button = el("button", "tool");
  button.type = "button";
  button.append(svg("svg", { viewBox: "0 0 24 24", class: "icon", "aria-hidden": "true" }, [svg("path", { d: COVER_ICONS[name] })]));
  button.setAttribute("aria-label", label);
  button.title = label;
  button.addEventListener("click", act);
  ed.tools[name] = button;
  return button;
}

function groupOf(...children) {
  const node = el("div", "group");
  node.append(...children);
  return node;
}

function wordButton(label, act, pressed = null) {
  const button = el("button", "choice", label);
  button.type = "button";
  if (pressed !== null) button.setAttribute("aria-pressed", String(pressed));
  button.addEventListener("click", act);
  return button;
}

function buildCoverTools(ed) {
  const pick = (tool) => () => {
    ed.tool = tool;
    if (tool === "crop") ed.selected = null;
    drawAll(ed);
  };
  ed.tools.cover = wordButton(_("Cover"), pick("cover"), true);
  ed.tools.crop = wordButton(_("Crop"), pick("crop"), false);
  const switcher = el("div", "switch");
  switcher.append(ed.tools.cover, ed.tools.crop);
  ed.ui.level = el("output", "level", "100 %");
  ed.ui.bar.append(
    switcher,
    groupOf(
      toolNode(ed, "undo", _("Undo"), () => stepBack(ed, ed.past, ed.future)),
      toolNode(ed, "redo", _("Redo"), () => stepBack(ed, ed.future, ed.past)),
    ),
    groupOf(
      toolNode(ed, "minus", _("Zoom out"), () => zoomBy(ed, 1 / 1.5)),
      toolNode(ed, "fit", _("Whole photo in sight"), () => wholePhoto(ed)),
      toolNode(ed, "plus", _("Zoom in"), () => zoomBy(ed, 1.5)),
    ),
    ed.ui.level,
  );
}

function drawCoverTools(ed) {
  ed.tools.cover.setAttribute("aria-pressed", String(ed.tool === "cover"));
  ed.tools.crop.setAttribute("aria-pressed", String(ed.tool === "crop"));
  ed.tools.undo.setAttribute("aria-disabled", String(!ed.past.length));
  ed.tools.redo.setAttribute("aria-disabled", String(!ed.future.length));
}

function cardOf(title, ...children) {
  const card = el("section", "sidecard");
  card.append(el("h3", "", title), ...children);
  return card;
}

function proposalRow(ed, area) {
  const row = el("li", "offer");
  const act = (name, run) => {
    const button = wordButton(name, () => {
      run(ed, area.key);
      focusIn(ed, "offer");
    });
    button.setAttribute("aria-label", `${name}: ${nameOf(ed, area)}`);
    return button;
  };
  const decide = el("div", "decide");
  decide.append(act(_("Cover it"), acceptArea), act(_("Leave it open"), removeArea));
  row.append(el("strong", "", nameOf(ed, area)), el("p", "", area.why), decide);
  return row;
}

/** After a decision the next one is in reach of the same key. */
function focusIn(ed, part) {
  const next = ed.ui.side.querySelector(`.${part} button`) ?? ed.ui.stage;
  next.focus({ preventScroll: true });
}

function proposalsCard(ed) {
  const open = ed.doc.areas.filter((area) => area.open);
  if (!open.length) return [];
  const list = el("ul");
  list.append(...open.map((area) => proposalRow(ed, area)));
  const words = el("p", "", _("Found by the program, with a dashed line on the photo. Decide on each: it can be mistaken, and it misses faces."));
  return [cardOf(_n("One proposal", "{n} proposals", open.length), words, list)];
}

function pickers(ed) {
  const kinds = el("div", "chips");
  kinds.setAttribute("role", "group");
  kinds.setAttribute("aria-label", _("What the next cover hides"));
  kinds.append(...ed.data.kinds.map((kind) => wordButton(kind.name, () => pickKind(ed, kind), ed.kind === kind.id)));
  const shapes = el("div", "chips");
  shapes.setAttribute("role", "group");
  shapes.setAttribute("aria-label", _("Shape of the next cover"));
  const round = { ellipse: _("Round"), rectangle: _("Straight edges") };
  shapes.append(...Object.entries(round).map(([shape, name]) => wordButton(name, () => {
    ed.shape = shape;
    drawAll(ed);
  }, ed.shape === shape)));
  return [kinds, shapes];
}

function pickKind(ed, kind) {
  ed.kind = kind.id;
  ed.shape = kind.id === "face" ? "ellipse" : "rectangle";
  ed.tool = "cover";
  drawAll(ed);
}

function newCoverCard(ed) {
  const words = el("p", "", _("Choose what to hide, then drag across it on the photo. A flat colour takes its place for good. Do not cover the measured baby's face."));
  const byKey = wordButton(_("Add one in the middle"), () => {
    const middle = settled(ed.data.photo, onPhoto(ed, { x: ed.size.width / 2, y: ed.size.height / 2 }));
    const side = 90 / ed.view.scale;
    ed.tool = "cover";
    addArea(ed, { ...middle, w: side, h: ed.shape === "ellipse" ? side : side / 2 });
    ed.buttons.get(ed.selected)?.focus({ preventScroll: true });
  });
  return cardOf(_("Cover"), words, ...pickers(ed), byKey);
}

function numberField(label, name, value, low, high, set) {
  const line = el("label", "field");
  const input = el("input");
  Object.assign(input, { type: "number", min: low, max: high, step: 1, value: Math.round(value), name });
  input.addEventListener("input", () => {
    const typed = input.valueAsNumber;
    if (Number.isFinite(typed) && typed >= low && typed <= high) set(typed);
  });
  line.append(el("span", "", label), input);
  return line;
}

function kindField(ed, area) {
  const line = el("label", "field wide");
  const select = el("select");
  select.name = "kind";
  for (const kind of ed.data.kinds) {
    const option = el("option", "", kind.name);
    option.value = kind.id;
    option.selected = kind.id === area.kind;
    select.append(option);
  }
  select.addEventListener("change", () => changeArea(ed, area.key, { kind: select.value }, "", 0));
  line.append(el("span", "", _("Hides")), select);
  return line;
}

function areaFields(ed, area) {
  const { width, height } = ed.data.photo;
  const most = 2 * Math.max(width, height);
  const set = (name) => (value) => changeArea(ed, area.key, { [name]: value }, `${name}${area.key}`);
  const fields = el("div", "fields");
  fields.append(
    kindField(ed, area),
    numberField(_("Width"), "w", area.w, ed.data.smallest, most, set("w")),
    numberField(_("Height"), "h", area.h, ed.data.smallest, most, set("h")),
    numberField(_("Turn °"), "turn", area.turn, -180, 180, set("turn")),
  );
  return fields;
}

function coverRow(ed, area) {
  const chosen = area.key === ed.selected;
  const row = el("li", chosen ? "coverrow chosen" : "coverrow");
  row.dataset.key = String(area.key);
  const head = el("div", "rowhead");
  const name = wordButton(nameOf(ed, area), () => {
    ed.selected = chosen ? null : area.key;
    ed.tool = "cover";
    drawAll(ed);
  });
  name.setAttribute("aria-expanded", String(chosen));
  const remove = wordButton(_("Remove"), () => {
    removeArea(ed, area.key);
    focusIn(ed, "coverrow");
  });
  remove.setAttribute("aria-label", _("Remove {cover}", { cover: nameOf(ed, area) }));
  head.append(name, remove);
  row.append(head);
  if (chosen) row.append(areaFields(ed, area));
  return row;
}

function coversCard(ed) {
  const covers = ed.doc.areas.filter((area) => !area.open);
  if (!covers.length) return [];
  const list = el("ul");
  list.append(...covers.map((area) => coverRow(ed, area)));
  return [cardOf(_n("One cover", "{n} covers", covers.length), list)];
}

/** One side of the crop typed in, the others as they are; what would leave the photo is held at its edge. */
function typeCrop(ed, i, value) {
  const { width, height } = ed.data.photo;
  const crop = [...(ed.doc.crop ?? [0, 0, width, height])];
  const least = ed.data.smallestCrop;
  const most = [width - crop[2], height - crop[3], width - crop[0], height - crop[1]][i];
  crop[i] = between(Math.round(value), i < 2 ? 0 : least, most);
  setCrop(ed, crop, PAUSE_MS, `crop${i}`);
}

function cropCard(ed) {
  const { width, height } = ed.data.photo;
  const [x, y, w, h] = ed.doc.crop ?? [0, 0, width, height];
  const fields = el("div", "fields");
  const least = ed.data.smallestCrop;
  const set = (i) => (value) => typeCrop(ed, i, value);
  fields.append(
    numberField(_("From left"), "x", x, 0, width - least, set(0)), numberField(_("From top"), "y", y, 0, height - least, set(1)),
    numberField(_("Width"), "cw", w, least, width, set(2)), numberField(_("Height"), "ch", h, least, height, set(3)),
  );
  const all = ed.doc.crop ? [wordButton(_("Keep the whole photo"), () => setCrop(ed, null))] : [];
  const words = el("p", "", _("Drag across the part to keep. What lies outside is never stored."));
  return cardOf(_("Crop"), words, fields, ...all);
}

/** What the side shows besides numbers: only when this changes is it built anew, so that a field keeps its focus. */
function sideSign(ed) {
  const rows = ed.doc.areas.map((area) => [area.key, area.kind, area.open]);
  return JSON.stringify([rows, ed.selected, ed.tool, ed.kind, ed.shape, Boolean(ed.doc.crop), ed.data.kinds]);
}

function refreshNumbers(ed) {
  const area = areaOf(ed, ed.selected);
  const [x, y, cw, ch] = ed.doc.crop ?? [0, 0, ed.data.photo.width, ed.data.photo.height];
  const values = ed.tool === "crop" ? { x, y, cw, ch } : area ? { w: area.w, h: area.h, turn: area.turn } : {};
  for (const input of ed.ui.side.querySelectorAll("input")) {
    if (input !== ed.shadow.activeElement && input.name in values) input.value = Math.round(values[input.name]);
  }
}

function focusedPlace(ed) {
  const active = ed.shadow.activeElement;
  if (!active || !ed.ui.side.contains(active)) return null;
  return { label: active.getAttribute("aria-label") ?? active.textContent, name: active.name };
}

function drawSide(ed) {
  const sign = sideSign(ed);
  if (sign === ed.sideSign) {
    refreshNumbers(ed);
    return;
  }
  ed.sideSign = sign;
  const place = focusedPlace(ed);
  const middle = ed.tool === "crop" ? [cropCard(ed)] : [...proposalsCard(ed), newCoverCard(ed), ...coversCard(ed)];
  ed.ui.side.replaceChildren(...middle);
  if (!place) return;
  const same = [...ed.ui.side.querySelectorAll("button, input, select")].find((node) =>
    place.name ? node.name === place.name : (node.getAttribute("aria-label") ?? node.textContent) === place.label);
  same?.focus({ preventScroll: true });
}

/** To those who see and to those who listen. */
function tell(ed, text) {
  ed.ui.live.textContent = text;
  ed.ui.hint.textContent = text;
  ed.ui.hint.hidden = false;
  clearTimeout(ed.hintTimer);
  ed.hintTimer = setTimeout(() => {
    ed.ui.hint.hidden = true;
  }, 2200);
}
