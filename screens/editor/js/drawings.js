// One drawn profile of a baby at the breast, used for every landmark with its own ring and its own part in view.
// Own drawing; units of its own, x right, y down, the face to the right.

const HEAD_LINE =
  "M94 204C60 180 46 140 55 100C66 54 112 26 158 30C198 34 223 60 226 90C227 99 224 106 225 111C229 116 240 121 243 129" +
  "C245 137 238 142 231 143C231 147 233 150 237 151L206 178L232 212C228 216 225 220 225 225C231 231 232 243 222 249" +
  "C206 257 186 251 170 246C156 242 148 246 142 256Z";
const BREAST_LINE = "M420 20C330 34 272 72 254 118C250 130 248 142 245 152C236 160 222 168 216 180C220 194 230 204 238 212C236 222 234 234 236 246C246 300 318 352 420 360Z";
const UPPER_LIP = "M206 178C212 165 226 154 237 151C247 149 252 156 246 161C236 166 216 168 206 178Z";
const LOWER_LIP = "M206 178C212 192 222 202 233 205C243 207 245 216 236 219C226 221 212 198 206 178Z";
const BODY_LINE_DRAWN =
  "M94 204C62 230 42 292 44 362C45 416 62 458 102 464C146 470 198 460 206 434C210 416 194 402 172 400C184 360 186 300 162 268" +
  "C154 258 148 256 142 250C124 240 106 224 94 204Z";
const EAR_LINE = "M139 112C126 96 104 104 106 128C108 148 120 166 132 161C141 156 136 146 140 139";

/** Where each landmark lies in the drawing, and the square of it that is shown: [left, top, side]. */
const SCENE = {
  mouth_corner: { at: [206, 178], view: [156, 124, 112] },
  upper_lip_edge: { at: [246, 158], view: [176, 108, 112] },
  lower_lip_edge: { at: [241, 212], view: [176, 152, 112] },
  nose_tip: { at: [244, 131], view: [150, 62, 140] },
  chin: { at: [230, 240], view: [150, 150, 140] },
  ear: { at: [141, 133], view: [50, 46, 176] },
  shoulder: { at: [106, 268], view: [4, 84, 300] },
  hip: { at: [86, 424], view: [-34, 176, 320] },
  areola_above: { at: [253, 120], view: [186, 74, 124] },
  areola_below: { at: [236, 228], view: [176, 160, 124] },
  breast_at_nose: { at: [252, 127], view: [178, 62, 124] },
  breast_at_chin: { at: [234, 238], view: [166, 166, 124] },
};

function landmarkDrawing(id, mirror) {
  const scene = SCENE[id];
  if (!scene) return rulerDrawing(id);
  const [left, top, side] = scene.view;
  const drawing = svg("svg", { viewBox: `${left} ${top} ${side} ${side}`, class: "drawing", role: "img", "aria-label": _("drawing of where to mark it") });
  const flip = mirror ? { transform: `translate(${2 * left + side} 0) scale(-1 1)` } : {};
  drawing.append(svg("g", flip, [...profileDrawing(), ...ringAt(scene.at, side / 112)]));
  return drawing;
}

function ringAt([x, y], unit) {
  return [
    svg("circle", { cx: x, cy: y, r: 12.5 * unit, class: "ringhalo", "stroke-width": 5.6 * unit }),
    svg("circle", { cx: x, cy: y, r: 12.5 * unit, class: "ring", "stroke-width": 2.6 * unit }),
    svg("circle", { cx: x, cy: y, r: 2.9 * unit, class: "ringhalo filled" }),
    svg("circle", { cx: x, cy: y, r: 1.8 * unit, class: "ringdot" }),
  ];
}

function profileDrawing() {
  const clip = `breast-${Math.random().toString(36).slice(2)}`;
  const arm = "M110 276C116 314 132 336 158 334C180 330 198 316 212 300";
  return [
    svg("clipPath", { id: clip }, [svg("path", { d: BREAST_LINE })]),
    svg("path", { d: BODY_LINE_DRAWN, class: "cloth line" }),
    svg("path", { d: "M58 392C84 374 128 374 170 400", class: "seam" }),
    svg("path", { d: HEAD_LINE, class: "babyskin line" }),
    svg("path", { d: "M244 149L203 178L240 216Z", class: "inside" }),
    svg("path", { d: BREAST_LINE, class: "breastskin line" }),
    svg("g", { "clip-path": `url(#${clip})` }, [svg("ellipse", { cx: 244, cy: 174, rx: 34, ry: 56, class: "areola" })]),
    svg("path", { d: BREAST_LINE, class: "line" }),
    svg("path", { d: "M206 178C214 170 222 164 216 180C212 186 210 184 206 178Z", class: "inside" }),
    svg("path", { d: UPPER_LIP, class: "lip line" }),
    svg("path", { d: LOWER_LIP, class: "lip line" }),
    svg("path", { d: "M184 110C190 117 201 118 208 112M186 114L182 118M193 117.5L191 122M201 117.5L202 122", class: "feature" }),
    svg("path", { d: "M184 92C191 86 202 86 208 90", class: "feature faint" }),
    svg("path", { d: "M186 160C178 168 178 188 188 200", class: "feature faint" }),
    svg("path", { d: "M235 136C231 135 230 139 233 141", class: "feature" }),
    svg("path", { d: `${EAR_LINE}C139 132 138 126 139 112`, class: "ear line" }),
    svg("path", { d: "M133 118C122 110 114 122 117 136M140 139C134 136 134 128 140 126", class: "feature" }),
    svg("path", { d: arm, class: "armline" }),
    svg("path", { d: arm, class: "arm" }),
    svg("circle", { cx: 216, cy: 297, r: 14, class: "babyskin line" }),
    svg("path", { d: "M86 250C96 266 118 286 134 280", class: "seam" }),
  ];
}

function rulerDrawing(id) {
  const drawing = svg("svg", { viewBox: "0 0 112 112", class: "drawing", role: "img", "aria-label": _("drawing of where to mark it") });
  const marks = Array.from({ length: 9 }, (_, i) => `M${16 + 10 * i} 46v${i % 4 ? 9 : 16}`).join("");
  drawing.append(
    svg("path", { d: "M8 46H104V78H8Z", class: "ruler line" }),
    svg("path", { d: marks, class: "feature" }),
    ...ringAt([id === "scale_a" ? 16 : 96, 46], 1),
  );
  return drawing;
}
