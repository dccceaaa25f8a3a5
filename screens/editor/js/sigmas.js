// How far a point may be off where nobody has said it: vision.quantities.default_sigmas in JavaScript.
// The browser needs it only to know when a value must not be shown; the intervals come from Python.

const EAR_BREADTH_SHARE = [0.8, 0.15];
const CLICK_SIGMA_SHARE = 0.018;
const COCO_SIGMA = { ear: 0.035, shoulder: 0.079, hip: 0.107 };
const HIDDEN_FACTOR = 2;
const YAW_SPREAD_DEG = 15;
const LARGEST_SIZE = 1e9;
const FACE_MM = 75;
const FACES_PER_MOUTH_ARM = 4;
const TRUNK_FACES = 2.4;
const SQRT_AREA_FACES = 3.6;

function spanOf(points, first, second) {
  return points[first] && points[second] ? distance(points[first], points[second]) : 0;
}

function likelyYaw(yaw) {
  if (!yaw) return 90;
  const share = YAW_SPREAD_DEG ** 2 / (YAW_SPREAD_DEG ** 2 + (yaw.sigma ?? STUDENT_YAW_SIGMA_DEG) ** 2);
  return Math.min(Math.max(90 + share * (yaw.deg - 90), 55), 120);
}

function typicalFace(points, yaw, mmPerPixel) {
  const psi = likelyYaw(yaw) / DEG;
  const arms = ["upper_lip_edge", "lower_lip_edge"].map((lip) => spanOf(points, "mouth_corner", lip));
  const placed = Object.keys(points).filter((id) => !id.startsWith("scale_"));
  const spread = (axis) => {
    const all = placed.length ? placed.map((id) => points[id][axis]) : [0];
    return Math.max(...all) - Math.min(...all);
  };
  const sizes = [
    spanOf(points, "nose_tip", "ear") / (Math.sin(psi) + EAR_BREADTH_SHARE[0] * Math.cos(psi)),
    FACES_PER_MOUTH_ARM * Math.max(...arms),
    spanOf(points, "shoulder", "hip") / TRUNK_FACES,
    mmPerPixel ? FACE_MM / mmPerPixel : 0,
    Math.hypot(spread("x"), spread("y")),
  ];
  return sizes.find((size) => size > 0 && size < LARGEST_SIZE) ?? null;
}

/** The points with a sigma each; 1 px stands in where not even a default can be found. */
function withSigmas(points, yaw, mmPerPixel) {
  const face = typicalFace(points, yaw, mmPerPixel);
  const filled = {};
  for (const [id, point] of Object.entries(points)) {
    const share = COCO_SIGMA[id] ? (COCO_SIGMA[id] * SQRT_AREA_FACES) / Math.SQRT2 : CLICK_SIGMA_SHARE;
    const guessed = face === null ? 1 : share * face * (point.v === 1 ? HIDDEN_FACTOR : 1);
    filled[id] = { ...point, sigma: point.sigma ?? guessed };
  }
  return filled;
}

function tooClose(points, first, second, sigmas = 2) {
  const [a, b] = [points[first], points[second]];
  return distance(a, b) <= sigmas * Math.hypot(a.sigma, b.sigma);
}
