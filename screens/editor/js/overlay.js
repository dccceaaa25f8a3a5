// Lines over the photo: the gape's rays and arc, the body line, the head box; and the number at each.

const MOUTH_LINE = "#E69F00";
const BODY_LINE = "#F0E442";

function haloed(d, colour, { width = 2.4, dash = "" } = {}) {
  const more = dash ? { "stroke-dasharray": dash } : {};
  return [
    svg("path", { d, fill: "none", stroke: "rgba(16,24,30,.62)", "stroke-width": width + 2.6, "stroke-linecap": "round", ...more }),
    svg("path", { d, fill: "none", stroke: colour, "stroke-width": width, "stroke-linecap": "round", ...more }),
  ];
}

function numberAt(place, text, kind) {
  const wide = 16 + text.length * 9.2;
  const box = svg("rect", { x: -wide / 2, y: -13, width: wide, height: 26, rx: 13 });
  const words = svg("text", { "text-anchor": "middle", y: 5.2 });
  words.textContent = text;
  const group = svg("g", { class: `number ${kind}`, transform: `translate(${place.x.toFixed(1)} ${place.y.toFixed(1)})` }, [box, words]);
  group.place = { x: place.x, y: place.y, wide };
  return group;
}

function pathOf(...points) {
  return points.map((point, i) => `${i ? "L" : "M"}${point.x.toFixed(2)} ${point.y.toFixed(2)}`).join("");
}

function gapeLines(at, measure) {
  const corner = at.mouth_corner;
  const lips = [at.upper_lip_edge, at.lower_lip_edge];
  if (!corner || lips.some((lip) => !lip)) {
    return corner ? lips.filter(Boolean).flatMap((lip) => haloed(pathOf(corner, lip), MOUTH_LINE)) : [];
  }
  const drawn = haloed(pathOf(lips[0], corner, lips[1]), MOUTH_LINE);
  const arms = lips.map((lip) => minus(lip, corner));
  const lengths = arms.map((arm) => Math.hypot(arm.x, arm.y));
  if (Math.min(...lengths) < 4) return drawn;
  const r = Math.min(Math.max(0.6 * Math.min(...lengths), 12), 54);
  const ends = arms.map((arm, i) => ({ x: corner.x + (arm.x / lengths[i]) * r, y: corner.y + (arm.y / lengths[i]) * r }));
  const sweep = cross(arms[0], arms[1]) > 0 ? 1 : 0;
  drawn.push(...haloed(`M${ends[0].x} ${ends[0].y}A${r} ${r} 0 0 ${sweep} ${ends[1].x} ${ends[1].y}`, MOUTH_LINE, { width: 3 }));
  if (measure.value === null) return drawn;
  const half = Math.atan2(arms[0].y, arms[0].x) + ((sweep ? 1 : -1) * angleAtDeg(corner, ...lips)) / DEG / 2;
  const far = Math.max(r + 34, 0.45 * Math.max(...lengths) + 34);
  drawn.push(numberAt({ x: corner.x + Math.cos(half) * far, y: corner.y + Math.sin(half) * far }, `${Math.round(measure.value)}°`, "gape"));
  return drawn;
}

function bodyLines(at, measure) {
  const { ear, shoulder, hip } = at;
  const there = [ear, shoulder, hip].filter(Boolean);
  if (there.length < 2) return [];
  if (there.length < 3) return haloed(pathOf(...there), BODY_LINE);
  const up = minus(shoulder, hip);
  const length = Math.hypot(up.x, up.y);
  const reach = Math.hypot(ear.x - shoulder.x, ear.y - shoulder.y);
  if (length < 2 || reach < 2) return haloed(pathOf(...there), BODY_LINE);
  const straight = { x: shoulder.x + (up.x / length) * reach, y: shoulder.y + (up.y / length) * reach };
  const drawn = [
    ...haloed(pathOf(shoulder, straight), "#FFFFFF", { width: 1.6, dash: "2 7" }),
    ...haloed(pathOf(ear, shoulder, hip), BODY_LINE),
  ];
  if (measure.value === null) return drawn;
  const away = { x: -up.y / length, y: up.x / length };
  const noseSide = at.nose_tip ? dot(minus(at.nose_tip, ear), away) : dot(minus(ear, shoulder), away);
  const side = noseSide > 0 ? -1 : 1;
  drawn.push(numberAt({ x: shoulder.x + away.x * side * 46, y: shoulder.y + away.y * side * 46 }, `${Math.round(measure.value)}°`, "line"));
  return drawn;
}

function boxLines(ed, stage) {
  const box = ed.gesture && ed.gesture.box ? ed.gesture.box : ed.doc.box;
  if (!box) return [];
  const { width, height } = ed.data.photo;
  const [x, y, w, h] = box;
  const corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
  const at = corners.map(([cx, cy]) => toStage(ed.view, ed.data.photo, stage, { x: cx * width, y: cy * height }));
  const outline = haloed(`${pathOf(...at)}Z`, "#FFFFFF", { width: 1.8, dash: "7 6" });
  if (!boxing(ed)) return outline;
  const shade = `M0 0H${stage.width}V${stage.height}H0Z${pathOf(...at)}Z`;
  return [svg("path", { d: shade, fill: "rgba(16,24,30,.5)", "fill-rule": "evenodd" }), ...outline];
}

function drawLines(ed) {
  const stage = stageSize(ed);
  const at = {};
  for (const [id, point] of Object.entries(ed.doc.points)) at[id] = toStage(ed.view, ed.data.photo, stage, point);
  const lines = ed.ui.lines;
  lines.setAttribute("viewBox", `0 0 ${stage.width} ${stage.height}`);
  const drawn = boxLines(ed, stage);
  if (ed.data.mode !== "pins" && !ed.data.blind) drawn.push(...bodyLines(at, ed.live.alignment_angle), ...gapeLines(at, ed.live.gape_angle));
  if (ed.gesture && ed.gesture.kind === "placing") drawn.push(...ghostAt(toStage(ed.view, ed.data.photo, stage, ed.gesture.place)));
  if (ed.data.mode === "look" && ed.data.reference) drawn.unshift(...referenceLines(ed, stage, at));
  ed.pills = drawn.filter((node) => node.place).map((node) => node.place);
  lines.replaceChildren(...drawn);
}

/** The reference's own lines, thin and broken, and a thread from each own point to its reference. */
function referenceLines(ed, stage, own) {
  const theirs = {};
  for (const [id, point] of Object.entries(docFrom({ ...ed.data, points: ed.data.reference }).points)) {
    theirs[id] = toStage(ed.view, ed.data.photo, stage, point);
  }
  const broken = (...ids) => (ids.every((id) => theirs[id]) ? haloed(pathOf(...ids.map((id) => theirs[id])), "#FFFFFF", { width: 1.6, dash: "5 6" }) : []);
  const threads = Object.keys(theirs).filter((id) => own[id]).flatMap((id) => haloed(pathOf(own[id], theirs[id]), "#FFFFFF", { width: 1 }));
  return [...broken("ear", "shoulder", "hip"), ...broken("upper_lip_edge", "mouth_corner", "lower_lip_edge"), ...threads];
}

function ghostAt(at) {
  const arms = `M${at.x - 16} ${at.y}h11m10 0h11M${at.x} ${at.y - 16}v11m0 10v11`;
  return haloed(arms, "#FFFFFF", { width: 2 });
}
