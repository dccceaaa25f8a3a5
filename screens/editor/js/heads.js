// Heads drawn from balls, turned by the yaw: the strip that asks which way the head faces.
// Head frame: x to the baby's side, y up, z forward; unit: half the head's height.

const YAWS = [0, 30, 60, 75, 90, 105, 120];

const BALLS = [
  { at: [0, 0.16, -0.14], r: [0.8, 0.84, 0.98] }, // skull
  { at: [0, -0.34, 0.26], r: [0.66, 0.6, 0.6] }, // face
  { at: [0, -0.7, 0.48], r: [0.26, 0.2, 0.26] }, // chin
  { at: [0, -0.2, 0.84], r: [0.13, 0.12, 0.17] }, // nose
  { at: [0, -0.5, 0.76], r: [0.17, 0.1, 0.13] }, // lips
  { at: [0.42, -0.42, 0.44], r: [0.3, 0.3, 0.3] }, // cheeks
  { at: [-0.42, -0.42, 0.44], r: [0.3, 0.3, 0.3] },
];

function headPlace(point, psi, mirror) {
  const x = point[0] * Math.cos(psi) + point[2] * Math.sin(psi);
  const depth = point[2] * Math.cos(psi) - point[0] * Math.sin(psi);
  return { x: (mirror ? -1 : 1) * x * 40, y: -point[1] * 40, depth };
}

function headDrawing(yaw, mirror) {
  const psi = yaw / DEG;
  const drawing = svg("svg", { viewBox: "-50 -46 100 100", class: "head", "aria-hidden": "true" });
  const neck = svg("path", { d: "M-16 24C-16 44-22 50-30 54H30C22 50 16 44 16 24Z", class: "skin" });
  const balls = BALLS.map((ball) => {
    const at = headPlace(ball.at, psi, mirror);
    const rx = 40 * Math.hypot(ball.r[0] * Math.cos(psi), ball.r[2] * Math.sin(psi));
    return svg("ellipse", { cx: at.x, cy: at.y, rx, ry: ball.r[1] * 40 });
  });
  const outline = svg("g", { class: "outline" }, [neck.cloneNode(), ...balls.map((ball) => ball.cloneNode())]);
  drawing.append(outline, svg("g", { class: "skin" }, [neck, ...balls]), ...headFeatures(psi, mirror));
  return drawing;
}

function headFeatures(psi, mirror) {
  const drawn = [];
  const facing = (normal) => normal[2] * Math.cos(psi) - normal[0] * Math.sin(psi);
  const flat = (point, normal, rx, ry, className) => {
    const seen = facing(normal);
    if (seen < 0.12) return;
    const at = headPlace(point, psi, mirror);
    drawn.push(svg("ellipse", { cx: at.x, cy: at.y, rx: Math.max(rx * seen, 0.8), ry, class: className }));
  };
  for (const side of [1, -1]) {
    flat([0.34 * side, 0.02, 0.72], [0.5 * side, 0, 0.86], 4.6, 3.4, "eye");
    const ear = headPlace([0.8 * side, -0.12, -0.1], psi, mirror);
    const turnedTo = facing([side, 0, -0.12]);
    if (turnedTo > 0.06) {
      drawn.push(svg("ellipse", { cx: ear.x, cy: ear.y, rx: 3 + 5 * turnedTo, ry: 10, class: "ear" }));
    }
  }
  flat([0, -0.52, 0.82], [0, 0, 1], 7, 2.6, "mouth");
  if (facing([0, 0, 1]) > 0.5) flat([0, -0.24, 1], [0, 0, 1], 4, 2.2, "tip");
  return drawn;
}

function buildHeads(ed) {
  const { heads } = ed.ui;
  const name = `head-${ed.data.key}`;
  heads.append(el("legend", "", _("Which way does the head face?")));
  const strip = el("div", "strip");
  const choices = [...YAWS.map((yaw) => [String(yaw), yawWords(yaw)]), ["", _("not sure")]];
  for (const [value, words] of choices) {
    const label = el("label", "headchoice");
    const input = el("input");
    Object.assign(input, { type: "radio", name, value });
    input.setAttribute("aria-label", value === "" ? words : _("{way}, {deg} degrees", { way: words, deg: value }));
    input.addEventListener("change", () => {
      remember(ed);
      ed.doc.yaw = value === "" ? null : { deg: Number(value), by: "student" };
      changed(ed);
    });
    label.append(input, el("span", "face"), el("span", "degrees", words));
    strip.append(label);
  }
  heads.append(strip, el("p", "proposal"));
}

function yawWords(yaw) {
  if (yaw === 0) return _("front");
  if (yaw === 90) return _("side");
  return `${yaw}°`;
}

function drawHeads(ed) {
  const { heads } = ed.ui;
  heads.hidden = !ed.data.askYaw || ed.data.mode !== "points";
  if (heads.hidden) return;
  if (!heads.firstChild) buildHeads(ed);
  const mirror = mirroredHead(ed);
  const yaw = ed.doc.yaw;
  for (const label of heads.querySelectorAll(".headchoice")) {
    const input = label.querySelector("input");
    const face = label.querySelector(".face");
    const look = `${input.value}${mirror}`;
    if (face.dataset.look !== look) {
      face.dataset.look = look;
      face.replaceChildren(input.value === "" ? svg("svg", { viewBox: "-50 -46 100 100", class: "head unsure", "aria-hidden": "true" }, unsureDrawing()) : headDrawing(Number(input.value), mirror));
    }
    input.checked = input.value === "" ? !yaw : Boolean(yaw) && Number(input.value) === yaw.deg;
  }
  const proposed = yaw && yaw.by !== "student" ? _("{deg}°, proposed by {who}. Choose a head to overrule it.", { deg: Math.round(yaw.deg), who: makerOf(yaw.by) }) : "";
  heads.querySelector(".proposal").textContent = proposed;
  heads.querySelector(".proposal").hidden = !proposed;
}

function unsureDrawing() {
  return [svg("circle", { r: 30, class: "unsurering" }), svg("path", { d: "M-9-8c0-14 20-13 20-1 0 9-11 8-11 18M0 18h.01", class: "unsuremark" })];
}
