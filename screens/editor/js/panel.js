// Beside and below the photo: the list of points, the numbers, and what a screen reader is told.

const ICONS = {
  place: "M12 3v5M12 16v5M3 12h5M16 12h5M12 12h.01",
  hidden: "M4 4l16 16M10 6.3A9 9 0 0 1 21 12a15 15 0 0 1-2.3 3M6.5 7.6A14 14 0 0 0 3 12c2 4 5.5 6 9 6 1.3 0 2.6-.3 3.8-.8",
  remove: "M6 6l12 12M18 6L6 18",
  keep: "M5 12.5l4.5 4.5L19 7.5",
  undo: "M9 7L4 12l5 5M4.5 12H15a5 5 0 0 1 0 10h-2",
  redo: "M15 7l5 5-5 5M19.5 12H9a5 5 0 0 0 0 10h2",
  plus: "M12 5v14M5 12h14",
  minus: "M5 12h14",
  fit: "M4 9V4h5M20 9V4h-5M4 15v5h5M20 15v5h-5",
  turn: "M20 11A8 8 0 1 0 18 17M20 4v7h-7",
  light: "M12 4V2M12 22v-2M4 12H2M22 12h-2M6 6 4.6 4.6M19.4 19.4 18 18M6 18l-1.4 1.4M19.4 4.6 18 6M12 8a4 4 0 1 0 0 8 4 4 0 0 0 0-8",
  box: "M4 8V4h4M16 4h4v4M20 16v4h-4M8 20H4v-4M9 12a3 3 0 1 0 6 0 3 3 0 1 0-6 0",
};

function icon(name) {
  return svg("svg", { viewBox: "0 0 24 24", class: "icon", "aria-hidden": "true" }, [svg("path", { d: ICONS[name] })]);
}

/** Unable buttons stay in reach of Tab: a disabled one would drop the focus, and the keys with it. */
function setAble(button, able) {
  button.setAttribute("aria-disabled", String(!able));
}

function action(name, label, act) {
  const button = el("button", `act ${name}`);
  button.type = "button";
  button.append(icon(name));
  button.setAttribute("aria-label", label);
  button.title = label;
  button.addEventListener("click", act);
  return button;
}

function buildRow(ed, id) {
  const name = ed.data.names[id];
  const row = el("li", "row");
  const words = el("div", "words");
  words.append(el("span", "name", name), el("span", "status"));
  const actions = el("div", "acts");
  actions.append(
    action("keep", _("keep {point} where it is proposed", { point: name }), () => keepProposal(ed, id)),
    action("place", _("place {point}", { point: name }), (event) => armFromList(ed, id, event.detail === 0)),
    action("hidden", _("{point} is hidden in this photo", { point: name }), () => toggleHidden(ed, id)),
    action("remove", _("remove {point}", { point: name }), () => removePoint(ed, id)),
  );
  row.append(badge(id), words, actions);
  row.addEventListener("click", (event) => {
    if (event.target.closest("button")) return;
    if (ed.doc.points[id]) {
      ed.selected = id;
      ed.raised = id;
    } else armFromList(ed, id, false);
    render(ed);
  });
  return row;
}

/** By mouse or finger: the next tap places it. By key: it appears in the middle of what is in sight, ready for the arrows. */
function armFromList(ed, id, byKey) {
  ed.guided = true;
  ed.skipped.delete(id);
  if (byKey) {
    const middle = photoPlace(ed, { x: stageSize(ed).width / 2, y: stageSize(ed).height / 2 });
    placePoint(ed, id, middle, ed.armHidden && ed.armed === id ? 1 : 2);
    ed.handles.get(id)?.focus({ preventScroll: true });
    return;
  }
  ed.armed = id;
  ed.armHidden = false;
  ed.selected = null;
  ed.ui.stage.focus({ preventScroll: true });
  render(ed);
  if (ed.ui.desk.clientWidth < 700) ed.ui.stage.scrollIntoView({ block: "nearest" });
}

function drawList(ed) {
  const wanted = ed.data.mode === "points" ? ed.data.ask.map((asked) => asked.id).join() : "";
  ed.ui.points.hidden = !wanted;
  if (ed.listed !== wanted) {
    ed.rows = new Map(wanted ? wanted.split(",").map((id) => [id, buildRow(ed, id)]) : []);
    ed.ui.list.replaceChildren(...ed.rows.values());
    ed.listed = wanted;
  }
  const placed = [...ed.rows.keys()].filter((id) => ed.doc.points[id]).length;
  ed.ui.points.querySelector("h3").textContent = _("Points · {n} of {total} placed", { n: placed, total: ed.rows.size });
  for (const [id, row] of ed.rows) drawRow(ed, id, row);
}

function drawRow(ed, id, row) {
  const point = ed.doc.points[id];
  row.classList.toggle("armed", ed.armed === id);
  row.classList.toggle("selected", ed.selected === id);
  row.classList.toggle("empty", !point);
  const asked = ed.armed === id ? (ed.armHidden ? _("tap your best guess") : _("tap the photo")) : "";
  row.querySelector(".status").textContent = asked || (ed.skipped.has(id) && !point ? _("left out") : shortStatus(point));
  const state = (name, on, able) => {
    const button = row.querySelector(`.act.${name}`);
    if (on !== null) button.setAttribute("aria-pressed", String(on));
    setAble(button, able);
  };
  row.querySelector(".act.keep").hidden = !point || point.by === "student";
  state("place", ed.armed === id, true);
  state("hidden", point ? point.v === 1 : ed.armed === id && ed.armHidden, true);
  state("remove", null, Boolean(point));
}

function upToDate(ed) {
  return ed.edit === ed.data.edit && !ed.unsent && !(ed.gesture && ed.gesture.holdsPoint);
}

function drawNumbers(ed) {
  const { numbers } = ed.ui;
  const known = Object.keys(ed.data.readout);
  numbers.hidden = ed.data.mode === "pins" || ed.data.blind || (ed.data.mode === "look" && !known.length);
  if (numbers.hidden) return;
  if (!ed.cards) {
    ed.cards = new Map(Object.keys(MEASURE_TITLES).map((name) => [name, buildCard(name)]));
    ed.rest = el("ul", "rest");
    numbers.replaceChildren(...ed.cards.values(), ed.rest);
  }
  const fresh = upToDate(ed);
  for (const [name, card] of ed.cards) drawCard(ed, name, card, fresh);
  const others = known.filter((name) => !ed.cards.has(name));
  ed.rest.hidden = !others.length;
  ed.rest.classList.toggle("stale", !fresh);
  ed.rest.replaceChildren(...others.map((name) => el("li", "", ed.data.readout[name])));
}

function buildCard(name) {
  const card = el("div", "card");
  card.dataset.measure = name;
  card.append(el("span", "title", _(MEASURE_TITLES[name])), el("span", "value"), el("span", "more"));
  return card;
}

function drawCard(ed, name, card, fresh) {
  const live = ed.live[name];
  const told = ed.data.readout[name];
  const words = wordsForMeasure(name, live, ed.data.names);
  const text = fresh && told !== undefined ? told : words;
  const isNumber = /^[-−+]?\d/.test(text);
  // After a line break Python says what the number is called; that stands small below it.
  const [number, called = ""] = text.split("\n");
  const [value, more] = isNumber ? [number, called] : [live.value === null ? "–" : words, text];
  card.querySelector(".value").textContent = value;
  card.querySelector(".more").textContent = fresh || told === undefined || live.value === null ? more : _("working out ±");
  card.classList.toggle("stale", !fresh && told !== undefined);
  card.classList.toggle("none", value === "–");
  card.dataset.live = live.value === null ? "" : String(live.value);
}

/** The same words a second time are news only if they differ from what stands there. */
function announce(ed, text) {
  clearTimeout(ed.sayTimer);
  ed.ui.live.textContent = ed.ui.live.textContent === text ? `${text}\u00a0` : text;
}

const QUIET_MS = 900;

/** While keys move a point nothing is said; once they rest, where it led to. */
function announceAtRest(ed, say) {
  clearTimeout(ed.sayTimer);
  ed.sayTimer = setTimeout(say, QUIET_MS);
}

function announcePlaced(ed, id) {
  const point = ed.data.names[id];
  announce(ed, ed.armed ? _("{point} placed. Next: {next}.", { point, next: ed.data.names[ed.armed] }) : _("{point} placed.", { point }));
}

/** At a release or when the keys rest: that it moved, and only the measures that it moves. */
function announceMoved(ed, id) {
  if (!ed.doc.points[id]) return;
  const said = [_("{point} moved.", { point: ed.data.names[id] })];
  if (!ed.data.blind) said.push(...measuresOf(ed, id));
  announce(ed, said.join(" "));
}

function measuresOf(ed, id) {
  const said = [];
  if (LANDMARKS[id].group === "mouth" && ed.live.gape_angle.value !== null) said.push(_("Mouth gape {deg} degrees.", { deg: Math.round(ed.live.gape_angle.value) }));
  if (LANDMARKS[id].group === "body" && ed.live.alignment_angle.value !== null) said.push(_("Body line {deg} degrees.", { deg: Math.round(ed.live.alignment_angle.value) }));
  return said;
}
