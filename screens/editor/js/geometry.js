// Angles computed in the browser while a point moves. vision.measures computes the same with intervals; one file of
// cases (tests/data/angle_cases.json) holds both to the same numbers.
// Frame: pixels of the upright photo, x right, y down. Angles in degrees.

const DEG = 180 / Math.PI;
const EAR_OVER_DEPTH = 0.8; // k: half the ear breadth over the depth from nose to ear
const HALF_MOUTH = 0.19; // w: half the mouth's width over the face size
const YAW_LOW = 55;
const YAW_HIGH = 120;
const ELEVATION_MOST = 20;
const TRUNK_TURNED = 2;

function minus(a, b) {
  return { x: a.x - b.x, y: a.y - b.y };
}

function dot(a, b) {
  return a.x * b.x + a.y * b.y;
}

function cross(a, b) {
  return a.x * b.y - a.y * b.x;
}

/** Angle at `vertex` between the rays to a and b, 0 to 180; null where a ray has no length. */
function angleAtDeg(vertex, a, b) {
  const u = minus(a, vertex);
  const v = minus(b, vertex);
  if (Math.hypot(u.x, u.y) === 0 || Math.hypot(v.x, v.y) === 0) return null;
  return Math.atan2(Math.abs(cross(u, v)), dot(u, v)) * DEG;
}

function missing(points, ids) {
  return ids.filter((id) => !points[id]);
}

function measured(value) {
  return value === null ? { value: null, reason: "two points lie on each other" } : { value, reason: null };
}

function unmeasured(reason, needs = []) {
  return { value: null, reason, needs };
}

/** F, the size of the face in pixels, from the distance nose to ear and the head's yaw. */
function faceSize(points, yawDeg) {
  const n = Math.hypot(points.nose_tip.x - points.ear.x, points.nose_tip.y - points.ear.y);
  const psi = yawDeg / DEG;
  return n / (Math.sin(psi) + EAR_OVER_DEPTH * Math.cos(psi));
}

/** A lip edge seen from the corner, turned into the sagittal plane: depth along ear to nose, and height across it. */
function sagittal(points, lip, yawDeg) {
  const psi = yawDeg / DEG;
  const axis = minus(points.nose_tip, points.ear);
  const n = Math.hypot(axis.x, axis.y);
  const arm = minus(lip, points.mouth_corner);
  const along = dot(arm, axis) / n;
  const across = cross(axis, arm) / n;
  const half = HALF_MOUTH * faceSize(points, yawDeg);
  return { x: (along - half * Math.cos(psi)) / Math.sin(psi), y: across };
}

function gapeAngle(points, yaw, elevation) {
  const needs = missing(points, ["mouth_corner", "upper_lip_edge", "lower_lip_edge"]);
  if (needs.length) return unmeasured("needs", needs);
  const flat = angleAtDeg(points.mouth_corner, points.upper_lip_edge, points.lower_lip_edge);
  if (yaw === null) return measured(flat);
  if (yaw.deg < YAW_LOW || yaw.deg > YAW_HIGH || Math.abs(elevation ?? 0) > ELEVATION_MOST) {
    return unmeasured("take the photo from the side");
  }
  const more = missing(points, ["nose_tip", "ear"]);
  if (more.length) return yaw.deg === 90 ? measured(flat) : unmeasured("needs", more);
  const upper = sagittal(points, points.upper_lip_edge, yaw.deg);
  const lower = sagittal(points, points.lower_lip_edge, yaw.deg);
  if (upper.x <= 0 || lower.x <= 0) return unmeasured("the lips lie too near the corner in this view");
  return measured(angleAtDeg({ x: 0, y: 0 }, upper, lower));
}

function alignmentAngle(points, bodyView) {
  const needs = missing(points, ["ear", "shoulder", "hip"]);
  if (needs.length) return unmeasured("needs", needs);
  if (bodyView === TRUNK_TURNED) return unmeasured("the body is turned away from its side view");
  return measured(angleAtDeg(points.shoulder, points.ear, points.hip));
}

/** + where the ear lies off the produced line hip to shoulder on the side to which the nose points. */
function headDeviation(points, bodyView) {
  const alignment = alignmentAngle(points, bodyView);
  if (alignment.value === null) return alignment;
  if (!points.nose_tip) return unmeasured("needs", ["nose_tip"]);
  const line = minus(points.shoulder, points.hip);
  const side = cross(line, minus(points.ear, points.shoulder));
  const nose = cross(line, minus(points.nose_tip, points.ear));
  return measured((side * nose >= 0 ? 1 : -1) * (180 - alignment.value));
}

/** The three measures that move with the finger. `yaw` is null or {deg}. */
function liveMeasures({ points, yaw, elevation = null, bodyView = 0 }) {
  return {
    gape_angle: gapeAngle(points, yaw, elevation),
    alignment_angle: alignmentAngle(points, bodyView),
    head_deviation: headDeviation(points, bodyView),
  };
}
