// The card that says what to mark now, with a drawing of where.

function guideKey(ed) {
  const { mode, pinItem, blind } = ed.data;
  return [mode, heldLandmark(ed), ed.armed, ed.armHidden, ed.selected, pinItem && pinItem.id, pinItem && pinItem.label, blind, boxing(ed), Boolean(ed.doc.box), ed.data.boxLabel,
    Object.keys(ed.doc.points).length, Boolean(ed.doc.yaw), Boolean(ed.data.reference), mirroredHead(ed)].join("|");
}

function heldLandmark(ed) {
  const id = ed.gesture && ed.gesture.kind === "drag" ? ed.gesture.id : null;
  return id && isLandmark(id) ? id : null;
}

/** True where the baby in the photo faces left, as far as the points tell; the drawings then face left too. */
function mirroredHead(ed) {
  const { nose_tip: nose, ear, mouth_corner: corner } = ed.doc.points;
  const front = nose || corner;
  if (!front || !ear) return false;
  const way = turned({ x: front.x - ear.x, y: front.y - ear.y }, ed.view.turn);
  return way.x < 0;
}

function drawGuide(ed) {
  const key = guideKey(ed);
  if (ed.guideKey === key) return;
  ed.guideKey = key;
  const { guide } = ed.ui;
  guide.classList.remove("plain");
  if (boxing(ed)) return boxGuide(ed, guide);
  if (ed.data.mode === "pins") return pinGuide(ed, guide);
  if (ed.data.mode === "look") return legendGuide(ed, guide);
  const id = heldLandmark(ed) ?? ed.armed ?? ed.selected;
  if (id) return landmarkGuide(ed, guide, id);
  const left = ed.data.ask.filter((asked) => !ed.doc.points[asked.id]).length;
  if (left) return plainGuide(guide, _n("{n} not placed", "{n} not placed", left), _("Choose place beside a point, then tap the photo."));
  const drag = _("Drag any of them, or pick one and move it with the arrow keys.");
  const heads = _("Then say below which way the head faces: that narrows the range of the gape.");
  return plainGuide(guide, _("All points are placed"), ed.data.askYaw && !ed.doc.yaw ? `${drag} ${heads}` : drag);
}

/** Small letters, but the next thing below the page's own heading. */
function headingOf(text) {
  const heading = el("h3", "", text);
  heading.setAttribute("aria-level", "2");
  return heading;
}

function plainGuide(guide, title, text) {
  guide.classList.add("plain");
  const words = el("div", "say");
  words.append(headingOf(title), el("p", "", text));
  guide.replaceChildren(words);
}

function landmarkGuide(ed, guide, id) {
  const words = el("div", "say");
  const asked = ed.armed === id && !heldLandmark(ed);
  const title = headingOf("");
  title.append(badge(id), el("span", "", ed.data.names[id]));
  words.append(el("p", "step", asked ? stepWords(ed, id) : statusOf(ed.doc.points[id])), title);
  words.append(el("p", "", _(LANDMARKS[id].where)), el("p", "slip", _(LANDMARKS[id].slip)));
  guide.replaceChildren(landmarkDrawing(id, mirroredHead(ed)), words);
  if (asked) guide.append(guideButtons(ed, id));
}

function stepWords(ed, id) {
  const order = ed.data.ask.map((item) => item.id);
  if (ed.doc.points[id]) return _("Tap its new place");
  const place = { n: order.indexOf(id) + 1, total: order.length };
  return ed.armHidden ? _("Your best guess · {n} of {total}", place) : _("Tap the photo · {n} of {total}", place);
}

function guideButtons(ed, id) {
  const buttons = el("div", "choices");
  const guess = el("button", "choice", _("It is hidden"));
  guess.type = "button";
  guess.setAttribute("aria-pressed", String(ed.armHidden));
  guess.title = _("You can tell where it must be, but something lies in front: place your best guess");
  guess.addEventListener("click", () => {
    ed.armHidden = !ed.armHidden;
    render(ed);
  });
  const skip = el("button", "choice", _("Leave out"));
  skip.type = "button";
  skip.title = _("It cannot be placed in this photo");
  skip.addEventListener("click", () => {
    ed.skipped.add(id);
    ed.armHidden = false;
    ed.armed = nextToPlace(ed, id);
    render(ed);
  });
  buttons.append(guess, skip);
  return buttons;
}

function boxGuide(ed, guide) {
  plainGuide(guide, ed.data.boxLabel, ed.doc.box ? _("Drag a corner to adjust it, or draw again.") : _("Press at one corner and draw to the other."));
  if (!ed.doc.box) return;
  const again = el("button", "choice", _("Remove the mark"));
  again.type = "button";
  again.addEventListener("click", () => {
    remember(ed);
    ed.doc.box = null;
    changed(ed);
  });
  guide.append(again);
}

function pinGuide(ed, guide) {
  const item = ed.data.pinItem;
  if (!item) return plainGuide(guide, _("Where do you see it?"), _("Answer an item first; then tap the photo where it shows."));
  return plainGuide(guide, item.label, _("Tap the photo where you see it, or where you miss it. Drag the pin to move it."));
}

function legendGuide(ed, guide) {
  const words = el("div", "say");
  const own = ed.data.whose !== "student";
  const yoursToo = own ? _("Your points and the reference") : _("The student's points and the reference");
  words.append(headingOf(ed.data.reference ? yoursToo : _("What the marks mean")));
  const legend = el("ul", "legend");
  const entry = (shape, colour, text) => {
    const item = el("li");
    const picture = svg("svg", { viewBox: "-14 -14 28 28", class: "badge", "aria-hidden": "true" });
    const flat = shape === "pin" || shape === "tab";
    if (flat) picture.setAttribute("viewBox", "-18 -36 36 40");
    picture.append(marker(shape, colour, { hollow: !flat }));
    item.append(picture, el("span", "", text));
    legend.append(item);
  };
  if (Object.keys(ed.doc.points).length) entry("circle", GROUPS.mouth.colour, own ? _("yours: outlines with letters") : _("the student's: outlines with letters"));
  if (ed.data.reference) entry("cross", "#FFFFFF", _("reference: open crosses"));
  if (Object.keys(ed.doc.pins).length) entry("pin", "#56B4E9", own ? _("your pins: round") : _("the student's pins: round"));
  if (Object.values(ed.data.pins).some((pin) => pin.reference)) entry("tab", "#F0E442", _("reference pins: square"));
  words.append(legend);
  guide.classList.add("plain");
  guide.replaceChildren(words);
}

function buildKeys(ed) {
  const keys = el("details", "keys");
  keys.append(el("summary", "", _("Fingers and keys")));
  const list = el("ul");
  for (const line of [
    _("Tap the photo to place; hold a moment for the magnifier and place where you let go."),
    _("Two fingers zoom. Once enlarged, drag the photo to move it. The wheel zooms after a click on the photo."),
    _("Tab goes from point to point; arrows move one pixel, with Shift ten; Delete removes."),
    _("By keys alone: Enter on the photo, or on the cross beside a point, places it in the middle of what is in sight."),
    _("On the photo itself the arrows move it once it is enlarged."),
    _("Points that hide each other: choose one in the list and it lies above the others."),
    _("Ctrl+Z undoes, Ctrl+Shift+Z does it again; + and − zoom, 0 shows the whole photo; Escape stops placing."),
  ]) list.append(el("li", "", line));
  keys.append(list);
  ed.ui.points.append(keys);
}
