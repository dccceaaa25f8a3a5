// The angles that move with the finger. vision.gape and vision.body compute the same with intervals, and one file of
// cases (tests/data/angle_cases.json) holds both to the same numbers.

const MOUTH = ["mouth_corner", "upper_lip_edge", "lower_lip_edge"];
const HALF_MOUTH_SHARE = [0.19, 0.03];
const HALF_MOUTH_OVER_LIP_DEPTH = [1, 0.5];
const BISECTOR_SIGMA_DEG = 15;
const UNKNOWN_YAW = { deg: 90, sigma: 15 };
const STUDENT_YAW_SIGMA_DEG = 8;
const YAW_RANGE = [55, 120];
const ELEVATION_MOST = 20;
const TRUNK_TURNED = 2;
const MIN_FACE_TO_LINE_DEG = 10;

function unmeasured(reason, needs = []) {
  return { value: null, reason, needs };
}

function measured(value) {
  return Number.isFinite(value) ? { value, reason: null, needs: [] } : unmeasured("two points lie on each other");
}

function missing(points, ids) {
  return ids.filter((id) => !points[id]);
}

function viewRefusal(yaw, elevation) {
  const outside = yaw && (yaw.deg < YAW_RANGE[0] || yaw.deg > YAW_RANGE[1]);
  return outside || Math.abs(elevation ?? 0) > ELEVATION_MOST ? "take the photo from the side" : null;
}

/** [signed gape in degrees, depth of the upper lip, of the lower lip], from rays in the frame of the face. */
function angleAndDepths(upper, lower, halfMouth, yawDeg) {
  const psi = yawDeg / DEG;
  const flat = [upper, lower].map((ray) => ({ x: (ray.x - halfMouth * Math.cos(psi)) / Math.sin(psi), y: ray.y }));
  return [turnDeg(flat[0], flat[1]), flat[0].x, flat[1].x];
}

function pairs(inputs, count) {
  return Array.from({ length: count }, (_, i) => ({ x: inputs[2 * i], y: inputs[2 * i + 1] }));
}

function gapeWithFace(inputs) {
  const [corner, upper, lower, nose, ear] = pairs(inputs, 5);
  const [w, k, yawDeg] = inputs.slice(10);
  const face = minus(nose, ear);
  const size = sizeOf(face) / (Math.sin(yawDeg / DEG) + k * Math.cos(yawDeg / DEG));
  return angleAndDepths(inFrame(minus(upper, corner), face), inFrame(minus(lower, corner), face), w * size, yawDeg);
}

function gapeWithoutFace(inputs) {
  const [corner, upper, lower] = pairs(inputs, 3);
  const [r, tiltDeg, yawDeg] = inputs.slice(6);
  const rays = [minus(upper, corner), minus(lower, corner)];
  const [a, b] = rays.map((ray) => ({ x: ray.x / sizeOf(ray), y: ray.y / sizeOf(ray) }));
  const forward = turned({ x: a.x + b.x, y: a.y + b.y }, tiltDeg);
  const along = rays.map((ray) => inFrame(ray, forward));
  const psi = yawDeg / DEG;
  const depth = (along[0].x + along[1].x) / 2 / (Math.sin(psi) + r * Math.cos(psi));
  return angleAndDepths(along[0], along[1], r * depth, yawDeg);
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
  const head = yaw ? [yaw.deg, yaw.sigma ?? STUDENT_YAW_SIGMA_DEG] : [UNKNOWN_YAW.deg, UNKNOWN_YAW.sigma];
  let used = MOUTH;
  let constants = [HALF_MOUTH_OVER_LIP_DEPTH, [0, BISECTOR_SIGMA_DEG], head];
  let formula = gapeWithoutFace;
  if (points.nose_tip && points.ear) {
    if (tooClose(points, "nose_tip", "ear")) return unmeasured("ear and nose tip lie too close together");
    used = [...used, "nose_tip", "ear"];
    constants = [HALF_MOUTH_SHARE, EAR_BREADTH_SHARE, head];
    formula = gapeWithFace;
  } else if (used.slice(1).some((lip) => tooClose(points, "mouth_corner", lip))) {
    return unmeasured("a lip lies too close to the mouth corner");
  }
  const values = [...used.flatMap((id) => [points[id].x, points[id].y]), ...constants.map((pair) => pair[0])];
  const sigmas = [...used.flatMap((id) => [points[id].sigma, points[id].sigma]), ...constants.map((pair) => pair[1])];
  const out = propagate(formula, values, sigmas);
  for (const i of [1, 2]) {
    if (!(out.values[i] > 2 * out.sds[i])) return unmeasured("a lip lies too little in front of the mouth corner");
  }
  return measured(Math.abs(out.values[0]));
}

function lineRefusal(points, bodyView) {
  const needs = missing(points, ["ear", "shoulder", "hip"]);
  if (needs.length) return unmeasured("needs", needs);
  if (bodyView === TRUNK_TURNED) return unmeasured("the body is turned away from its side view");
  if (tooClose(points, "ear", "shoulder")) return unmeasured("ear and shoulder lie too close together");
  if (tooClose(points, "shoulder", "hip")) return unmeasured("shoulder and hip lie too close together");
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
    return unmeasured("the face looks along the body line");
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
