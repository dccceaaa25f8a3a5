// The handles on the photo: buttons for the finger, the keyboard and screen readers, each with its shape and letters.

const SVG = "http://www.w3.org/2000/svg";

function svg(tag, attributes = {}, children = []) {
  const node = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  node.append(...children);
  return node;
}

function el(tag, className = "", text = null) {
  const node = document.createElement(tag);
  if (className) node.className = className;
  if (text !== null) node.textContent = text;
  return node;
}

const SHAPES = {
  circle: () => svg("circle", { r: 9 }),
  triangle: () => svg("path", { d: "M0-11 10 7H-10Z" }),
  square: () => svg("path", { d: "M-8.5-8.5H8.5V8.5H-8.5Z" }),
  diamond: () => svg("path", { d: "M0-11.5 11.5 0 0 11.5-11.5 0Z" }),
  hexagon: () => svg("path", { d: "M-5.5-9.5H5.5L11 0 5.5 9.5H-5.5L-11 0Z" }),
  cross: () => svg("path", { d: "M-10 0H-4M4 0H10M0-10V-4M0 4V10" }),
  ruler: () => svg("path", { d: "M-9-8V8M9-8V8M-9 0H-4M4 0H9" }),
  pin: () => svg("path", { d: "M0 0C-4-7-12-12-12-20A12 12 0 1 1 12-20C12-12 4-7 0 0Z" }),
  grip: () => svg("path", { d: "M-6-6H6V6H-6Z" }),
  tab: () => svg("path", { d: "M0 0-6-8H-13V-31H13V-8H6Z" }),
};

/** The outline of a landmark: a dark and a light halo, then its colour, and a dot that hides next to nothing. */
function marker(shape, colour, { hollow = true, dashed = false } = {}) {
  const dash = dashed ? { "stroke-dasharray": "3.4 2.6" } : {};
  const line = (stroke, width, more = {}) => {
    const node = SHAPES[shape]();
    for (const [name, value] of Object.entries({ stroke, "stroke-width": width, fill: "none", ...more })) node.setAttribute(name, value);
    return node;
  };
  const dot = [svg("circle", { r: 2.6, fill: "rgba(0,0,0,.75)" }), svg("circle", { r: 1.5, fill: "#fff" })];
  return svg("g", { "stroke-linejoin": "round", "stroke-linecap": "round" }, [
    line("rgba(16,24,30,.78)", 6.2),
    line("rgba(255,255,255,.92)", 4.2),
    line(colour, 2.6, { ...dash, fill: hollow ? "none" : colour }),
    ...(hollow ? dot : []),
  ]);
}

function badge(id) {
  const { shape, colour } = styleOf(id);
  const icon = svg("svg", { viewBox: "-14 -14 28 28", class: "badge", "aria-hidden": "true" });
  icon.append(marker(shape, colour));
  return icon;
}

/** What can be moved is a button; what can only be looked at is a picture with a name. */
function makeHandle(id, shape, colour, short, still) {
  const handle = el(still ? "span" : "button", "handle");
  if (still) handle.setAttribute("role", "img");
  else handle.type = "button";
  handle.dataset.id = id;
  const box = shape === "pin" || shape === "tab" ? "-22 -36 44 44" : "-22 -22 44 44";
  const icon = svg("svg", { viewBox: box, "aria-hidden": "true" });
  icon.append(marker(shape, colour, { hollow: !(shape === "pin" || shape === "tab") }));
  const tag = el("span", "tag", short);
  tag.setAttribute("aria-hidden", "true");
  handle.append(icon, tag);
  return handle;
}

/** Everything that has a place on this photo now: [{id, kind, x, y (photo px), shape, colour, short, label, still}]. */
function placesOf(ed) {
  const { data, doc } = ed;
  const places = data.mode === "pins" ? [] : landmarkPlaces(ed, doc.points, false);
  if (data.mode === "look" && data.reference) places.push(...landmarkPlaces(ed, docFrom({ ...data, points: data.reference }).points, true));
  if (doc.box && boxing(ed) && !(ed.gesture && ed.gesture.box)) places.push(...cornerPlaces(ed));
  const pins = { ...data.pins };
  for (const [id, spot] of Object.entries(doc.pins)) {
    const own = data.pinItem && data.pinItem.id === id ? data.pinItem : { short: "", label: id };
    pins[id] = { short: own.short, label: own.label, reference: false, ...data.pins[id], ...spot };
  }
  for (const [id, pin] of Object.entries(pins)) {
    if (!pin.reference && !doc.pins[id]) continue;
    const active = data.mode === "pins" && data.pinItem && data.pinItem.id === id;
    places.push({
      id: `pin:${id}`, kind: "pin", x: pin.x * data.photo.width, y: pin.y * data.photo.height, shape: pin.reference ? "tab" : "pin",
      colour: pin.reference ? "#F0E442" : "#56B4E9", short: pin.short, label: pin.label, active, still: !active,
    });
  }
  return places;
}

function cornerPlaces(ed) {
  const names = [_("Top left corner of the mark"), _("Top right corner of the mark"), _("Bottom right corner of the mark"), _("Bottom left corner of the mark")];
  return boxCorners(ed).map((corner, i) => ({
    id: `box:${i}`, kind: "corner", ...corner, shape: "grip", colour: "#FFFFFF", short: "", label: names[i],
  }));
}

function landmarkPlaces(ed, points, ofReference) {
  const order = [...new Set([...ed.data.ask.map((asked) => asked.id), ...Object.keys(points)])];
  return order.filter((id) => points[id]).map((id) => {
    const { shape, colour } = styleOf(id);
    return {
      id: ofReference ? `ref:${id}` : id, kind: "point", x: points[id].x, y: points[id].y,
      shape: ofReference ? "cross" : shape, colour: ofReference ? "#FFFFFF" : colour, short: ofReference ? "" : `${LANDMARKS[id].short}${points[id].by === "student" ? "" : "?"}`,
      label: _("{point}, {status}", { point: ed.data.names[id], status: ofReference ? _("reference") : spokenOf(ed, id) }),
      still: ed.data.mode === "look", hidden: points[id].v === 1, proposed: points[id].by !== "student",
      active: ed.selected === id,
    };
  });
}

/** In the blind round no number may steer the hand. */
function spokenOf(ed, id) {
  return spokenStatus(ed.doc.points[id], ed.data.whose, ed.data.blind ? null : ed.filled[id].sigma);
}

function drawHandles(ed) {
  const places = placesOf(ed);
  const stage = stageSize(ed);
  const wanted = new Set(places.map((place) => place.id));
  for (const [id, handle] of ed.handles) {
    if (!wanted.has(id)) {
      const focused = ed.shadow.activeElement === handle;
      handle.remove();
      ed.handles.delete(id);
      if (focused) ed.ui.stage.focus({ preventScroll: true });
    }
  }
  const spots = places.map((place) => toStage(ed.view, ed.data.photo, stage, place));
  const sizes = spots.map((spot, i) => crowdSize(spot, i, spots));
  const tags = spreadTags(places, spots, sizes, ed.pills);
  if (!(ed.gesture && ed.gesture.holdsPoint)) ed.ui.lines.append(...fanOut(places, spots, sizes, tags, stage));
  places.forEach((place, i) => drawHandle(ed, place, spots[i], tags[i], sizes[i]));
}

/** Markers shrink where they crowd, so that the photo under them stays in sight; their hit areas do not. */
function crowdSize(spot, i, spots) {
  const nearest = Math.min(Infinity, ...spots.filter((_, j) => j !== i).map((other) => distance(spot, other)));
  return Math.min(Math.max(nearest / 25, 0.5), 1);
}

/** The letters that are seen belong to the name, for whoever calls controls by what they read. */
function spokenName({ kind, short, label }) {
  if (!short) return label;
  return kind === "pin" ? `${short}. ${label}` : `${label}, ${short}`;
}

function drawHandle(ed, place, spot, tag, size) {
  const look = `${place.shape}${place.colour}${place.hidden}${place.short}`;
  let handle = ed.handles.get(place.id);
  if (handle && (handle.tagName === "SPAN") !== Boolean(place.still)) {
    if (ed.shadow.activeElement === handle) ed.ui.stage.focus({ preventScroll: true });
    handle.remove();
    handle = null;
  }
  if (handle && handle.dataset.look !== look) {
    const icon = handle.querySelector("svg");
    icon.replaceChildren(marker(place.shape, place.colour, { hollow: place.kind !== "pin", dashed: place.hidden }));
    handle.querySelector(".tag").textContent = place.short;
    handle.dataset.look = look;
  }
  if (!handle) {
    handle = makeHandle(place.id, place.shape, place.colour, place.short, place.still);
    handle.querySelector("svg").replaceChildren(marker(place.shape, place.colour, { hollow: place.kind !== "pin", dashed: place.hidden }));
    handle.dataset.look = look;
    ed.handles.set(place.id, handle);
    ed.ui.handles.append(handle);
  }
  handle.classList.toggle("pinned", place.kind === "pin");
  handle.classList.toggle("active", Boolean(place.active));
  handle.classList.toggle("proposed", Boolean(place.proposed));
  handle.classList.toggle("crowded", size <= CROWDED && place.kind === "point" && !tag.tied);
  handle.style.setProperty("--size", place.kind === "point" ? String(size) : "1");
  handle.classList.toggle("held", Boolean(ed.gesture && ed.gesture.id === place.id && ed.gesture.holdsPoint));
  handle.classList.toggle("still", Boolean(place.still));
  if (!place.still) handle.tabIndex = 0;
  handle.setAttribute("aria-label", spokenName(place));
  handle.style.transform = `translate(${spot.x}px, ${spot.y}px)`;
  handle.style.setProperty("--tag-x", `${tag.x}px`);
  handle.style.setProperty("--tag-y", `${tag.y}px`);
}

/** Letters beside their marker, pushed away from crowds. */
function spreadTags(places, spots, sizes, pills) {
  const tags = spots.map((spot, i) => {
    let away = { x: 0, y: 0 };
    for (const other of spots) {
      const gap = distance(spot, other);
      if (gap > 0.5 && gap < 140) away = { x: away.x + (spot.x - other.x) / gap ** 2.5, y: away.y + (spot.y - other.y) / gap ** 2.5 };
    }
    if (sizeOf(away) < 1e-6) away = { x: 1, y: -0.8 };
    const length = sizeOf(away);
    const out = 12 + 12 * sizes[i];
    return { x: (away.x / length) * out, y: (away.y / length) * out * 0.85 };
  });
  for (let round = 0; round < 12; round += 1) {
    for (let i = 0; i < tags.length; i += 1) {
      if (places[i].kind === "pin" || !places[i].short) continue;
      for (let j = 0; j < tags.length; j += 1) {
        if (i !== j) pushApart(spots, tags, sizes, i, j, Boolean(places[j].short) && places[j].kind !== "pin" && sizes[j] > 0.62);
      }
      pushFrom(spots[i], tags[i], { ...spots[i], gap: 13 + 12 * sizes[i] });
      for (const pill of pills) pushFrom(spots[i], tags[i], { x: pill.x, y: pill.y, gap: 24 + pill.wide / 4 });
    }
  }
  return tags;
}

function pushApart(spots, tags, sizes, i, j, otherHasTag) {
  const others = [{ x: spots[j].x, y: spots[j].y, gap: 10 + 11 * sizes[j] }];
  if (otherHasTag) others.push({ x: spots[j].x + tags[j].x, y: spots[j].y + tags[j].y, gap: 25 });
  for (const other of others) pushFrom(spots[i], tags[i], other);
}

function pushFrom(spot, tag, other) {
  const dx = spot.x + tag.x - other.x || 0.1;
  const dy = (spot.y + tag.y - other.y || 0.1) * 1.3;
  const apart = Math.hypot(dx, dy);
  if (apart >= other.gap) return;
  const push = (other.gap - apart) / 2 / apart;
  tag.x = Math.min(Math.max(tag.x + dx * push, -46), 46);
  tag.y = Math.min(Math.max(tag.y + dy * push, -40), 40);
}
