// One drawn profile of a baby at the breast, used for every landmark with its own ring and its own part in view.

const SCENE = {
  mouth_corner: { at: [208, 176], view: [160, 110, 116, 116] },
};

function landmarkDrawing(id, mirror) {
  const { at, view } = SCENE[id] ?? SCENE.mouth_corner;
  const drawing = svg("svg", { viewBox: view.join(" "), class: "drawing", role: "img", "aria-label": "where to mark it" });
  const unit = view[2] / 116;
  drawing.append(svg("g", mirror ? { transform: `translate(${2 * view[0] + view[2]} 0) scale(-1 1)` } : {}, [...profile(), ...ringAt(at, unit)]));
  return drawing;
}

function ringAt([x, y], unit) {
  return [
    svg("circle", { cx: x, cy: y, r: 10 * unit, class: "ring", "stroke-width": 3 * unit }),
    svg("circle", { cx: x, cy: y, r: 2.2 * unit, class: "ringdot" }),
  ];
}

function profile() {
  return [svg("circle", { cx: 160, cy: 120, r: 90, class: "skin" })];
}
