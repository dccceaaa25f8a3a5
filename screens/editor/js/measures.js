// The angles that move with the finger. vision.quantities.gape and vision.quantities.body compute the same with intervals, and one file of
// cases (tests/data/angle_cases.json) holds both to the same numbers.

const MOUTH = ["mouth_corner", "upper_lip_edge", "lower_lip_edge"];
const HALF_MOUTH_SHARE = [0.19, 0.03];
const HALF_MOUTH_OVER_LIP_DEPTH = [1, 0.5];
const BISECTOR_SIGMA_DEG = 15;
const UNKNOWN_YAW = { deg: 90, sigma: 15 };
const STUDENT_YAW_SIGMA_DEG = 8;
const YAW_RANGE = [55, 120];
const OUTSIDE_SIGMAS = 2;
const FORMULA_YAW = [40, 140];
const STEEPEST = 35;
const ELEVATION_MOST = 20;
const UNKNOWN_ELEVATION = [0, 10];
const ELEVATION_SIGMA_DEG = 5;
const IMPOSSIBLE_SIGMAS = 3;
const LEAST_DEG = -90;
const ON_SIGMAS = 0.1;
const TRUNK_TURNED = 2;
const MIN_FACE_TO_LINE_DEG = 10;

function unmeasured(reason, needs = []) {
  return { value: null, reason, needs };
}

function measured(value) {
  return Number.isFinite(value) ? { value, reason: null, needs: [] } : unmeasured(N_("two points lie on each other"));
}

function missing(points, ids) {
  return ids.filter((id) => !points[id]);
}

function viewRefusal(yaw, elevation) {
  const outside = yaw && Math.abs(yaw.deg - within(YAW_RANGE, yaw.deg)) > OUTSIDE_SIGMAS * (yaw.sigma ?? STUDENT_YAW_SIGMA_DEG);
  return outside || Math.abs(elevation ?? 0) > ELEVATION_MOST ? N_("take the photo from the side") : null;
}

/** [gape in degrees from -90 to 270, depth of the upper lip, of the lower lip]. */
function angleAndDepths(upper, lower) {
  const gape = turnDeg(upper, lower);
  return [gape < LEAST_DEG ? gape + 360 : gape, upper.x, lower.x];
}

function within(range, number) {
  return Math.min(Math.max(number, range[0]), range[1]);
}

function pairs(inputs, count) {
  return Array.from({ length: count }, (_, i) => ({ x: inputs[2 * i], y: inputs[2 * i + 1] }));
}

/** vision.quantities.gape_formula with ear and nose tip: yaw psi, looking down phi, half mouth w and half ear breadth k. */
function gapeWithFace(inputs) {
  const [corner, upper, lower, nose, ear] = pairs(inputs, 5);
  const [w, k, yawDeg, looksDownDeg] = inputs.slice(10);
  const psi = within(FORMULA_YAW, yawDeg) / DEG;
  const [sinPsi, cosPsi] = [Math.sin(psi), Math.cos(psi)];
  const sinPhi = Math.sin(within([-STEEPEST, STEEPEST], looksDownDeg) / DEG);
  const c = Math.sqrt(sinPsi ** 2 - sinPhi ** 2);
  const face = minus(nose, ear);
  const q = { x: sinPsi + (k * cosPsi * c) / sinPsi, y: (-k * sinPhi) / sinPsi };
  const halfMouth = (w * sizeOf(face)) / sizeOf(q);
  const flat = [upper, lower].map((lip) => {
    const { x, y } = inFrame(inFrame(minus(lip, corner), face), { x: q.x, y: -q.y });
    const v = (y * sinPsi + halfMouth * sinPhi) / c;
    const along = x - (v * cosPsi * sinPhi) / sinPsi - (halfMouth * cosPsi * c) / sinPsi;
    return { x: along / sinPsi, y: v };
  });
  return angleAndDepths(flat[0], flat[1]);
}

function gapeWithoutFace(inputs) {
  const [corner, upper, lower] = pairs(inputs, 3);
  const [r, tiltDeg, yawDeg] = inputs.slice(6);
  const rays = [minus(upper, corner), minus(lower, corner)];
  const [a, b] = rays.map((ray) => ({ x: ray.x / sizeOf(ray), y: ray.y / sizeOf(ray) }));
  const forward = turned({ x: a.x + b.x, y: a.y + b.y }, tiltDeg);
  const along = rays.map((ray) => inFrame(ray, forward));
  const psi = within(FORMULA_YAW, yawDeg) / DEG;
  const halfMouth = (r * (along[0].x + along[1].x)) / 2 / (Math.sin(psi) + r * Math.cos(psi));
  const flat = along.map((ray) => ({ x: (ray.x - halfMouth * Math.cos(psi)) / Math.sin(psi), y: ray.y }));
  return angleAndDepths(flat[0], flat[1]);
}

/** Whether the picture must be mirrored for these formulas; without ear or nose tip, by the lips themselves. */
function showsLeftSide({ mouth_corner: corner, upper_lip_edge: upper, lower_lip_edge: lower, nose_tip: nose, ear }) {
  if (!nose || !ear) return cross(minus(upper, corner), minus(lower, corner)) < 0;
  const middle = { x: (nose.x + ear.x) / 2, y: (nose.y + ear.y) / 2 };
  return cross(minus(nose, ear), minus(corner, middle)) < 0;
}

/** A detector's own reading counts while all three points of the mouth are its own. */
function readingCounts(points, gape) {
  return Boolean(gape) && MOUTH.every((id) => points[id].by === gape.by);
}

function gapeAngle(points, yaw, elevation, gape) {
  const needs = missing(points, MOUTH);
  if (needs.length) return unmeasured("needs", needs);
  const refusal = viewRefusal(yaw, elevation);
  if (refusal) return unmeasured(refusal);
  if (readingCounts(points, gape)) return measured(gape.deg);
  const hasFace = Boolean(points.nose_tip && points.ear);
  const apart = hasFace ? ON_SIGMAS : 2;
  if (MOUTH.slice(1).some((lip) => tooClose(points, "mouth_corner", lip, apart))) return unmeasured(N_("a lip lies too close to the mouth corner"));
  if (hasFace && tooClose(points, "nose_tip", "ear", ON_SIGMAS)) return unmeasured(N_("ear and nose tip lie on each other"));
  const head = yaw ? [within(YAW_RANGE, yaw.deg), yaw.sigma ?? STUDENT_YAW_SIGMA_DEG] : [UNKNOWN_YAW.deg, UNKNOWN_YAW.sigma];
  const height = elevation === null ? UNKNOWN_ELEVATION : [elevation, ELEVATION_SIGMA_DEG];
  const used = hasFace ? [...MOUTH, "nose_tip", "ear"] : MOUTH;
  const constants = hasFace
    ? [HALF_MOUTH_SHARE, EAR_BREADTH_SHARE, head, height]
    : [HALF_MOUTH_OVER_LIP_DEPTH, [0, BISECTOR_SIGMA_DEG], head];
  const up = showsLeftSide(points) ? -1 : 1;
  const values = [...used.flatMap((id) => [points[id].x, up * points[id].y]), ...constants.map((pair) => pair[0])];
  const sigmas = [...used.flatMap((id) => [points[id].sigma, points[id].sigma]), ...constants.map((pair) => pair[1])];
  const out = propagate(hasFace ? gapeWithFace : gapeWithoutFace, values, sigmas);
  for (const i of [1, 2]) {
    if (!(out.values[i] >= -IMPOSSIBLE_SIGMAS * out.sds[i])) return unmeasured(N_("a lip would lie behind the mouth corner"));
  }
  const beyond = Math.abs(out.values[0] - within([0, 180], out.values[0]));
  if (beyond > IMPOSSIBLE_SIGMAS * out.sds[0]) return unmeasured(N_("the lips would lie the wrong way round"));
  return measured(within([0, 180], out.values[0]));
}

function lineRefusal(points, bodyView) {
  const needs = missing(points, ["ear", "shoulder", "hip"]);
  if (needs.length) return unmeasured("needs", needs);
  if (bodyView === TRUNK_TURNED) return unmeasured(N_("the body is turned away from its side view"));
  if (tooClose(points, "ear", "shoulder", ON_SIGMAS)) return unmeasured(N_("ear and shoulder lie on each other"));
  if (tooClose(points, "shoulder", "hip", ON_SIGMAS)) return unmeasured(N_("shoulder and hip lie on each other"));
  return null;
}

function bendDeg(points) {
  return turnDeg(minus(points.shoulder, points.hip), minus(points.ear, points.shoulder));
}

function alignmentAngle(points, bodyView) {
  return lineRefusal(points, bodyView) ?? measured(180 - Math.abs(bendDeg(points)));
}

/** + where the ear has left the produced line hip to shoulder on the side to which the face looks. */
function headDeviation(points, bodyView) {
  const refusal = lineRefusal(points, bodyView);
  if (refusal) return refusal;
  if (!points.nose_tip) return unmeasured("needs", ["nose_tip"]);
  const face = minus(points.nose_tip, points.ear);
  const line = minus(points.shoulder, points.hip);
  const side = cross(line, face);
  if (side === 0 || Math.abs(side) < Math.sin(MIN_FACE_TO_LINE_DEG / DEG) * sizeOf(face) * sizeOf(line)) {
    return unmeasured(N_("the face looks along the body line"));
  }
  return measured(Math.sign(side) * bendDeg(points));
}

/** points: {id: {x, y, v, sigma?, by?}} in photo px; yaw: null or {deg, sigma?}; gape: null or a detector's {deg, by}. */
function liveMeasures({ points, yaw, elevation = null, bodyView = 0, mmPerPixel = null, gape = null }) {
  const filled = withSigmas(points, yaw, mmPerPixel);
  return {
    gape_angle: gapeAngle(filled, yaw, elevation, gape),
    alignment_angle: alignmentAngle(filled, bodyView),
    head_deviation: headDeviation(filled, bodyView),
  };
}
