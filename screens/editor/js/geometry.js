// Plane geometry and the propagation of errors, as vision.geometry computes them.
// Frame: pixels of the upright photo, x right, y down; a positive turn is clockwise on the screen. Angles in degrees.

const DEG = 180 / Math.PI;
const STEP = 1e-3; // differences over this share of a standard deviation,
const FINEST_STEP = 1e-7; // but never finer than this share of the input

function minus(a, b) {
  return { x: a.x - b.x, y: a.y - b.y };
}

function dot(a, b) {
  return a.x * b.x + a.y * b.y;
}

function cross(a, b) {
  return a.x * b.y - a.y * b.x;
}

function sizeOf(a) {
  return Math.hypot(a.x, a.y);
}

function distance(a, b) {
  return sizeOf(minus(a, b));
}

/** Signed angle from a to b, in (-180, 180]. */
function turnDeg(a, b) {
  return Math.atan2(cross(a, b), dot(a, b)) * DEG;
}

/** Angle at `vertex` between the rays to a and b, 0 to 180. */
function angleAtDeg(vertex, a, b) {
  return Math.abs(turnDeg(minus(a, vertex), minus(b, vertex)));
}

/** A vector in the frame whose x axis is `axis`: {x: along it, y: across it}. */
function inFrame(vector, axis) {
  const length = sizeOf(axis);
  return { x: dot(axis, vector) / length, y: cross(axis, vector) / length };
}

/** Values of formula(inputs) and their standard deviations, inputs independent, slopes by central differences. */
function propagate(formula, values, sigmas) {
  const out = formula(values);
  const variances = out.map(() => 0);
  values.forEach((value, i) => {
    const width = Math.max(sigmas[i] * STEP, (1 + Math.abs(value)) * FINEST_STEP);
    const high = formula(values.map((v, j) => (j === i ? v + width : v)));
    const low = formula(values.map((v, j) => (j === i ? v - width : v)));
    out.forEach((_, k) => {
      variances[k] += (((high[k] - low[k]) / (2 * width)) * sigmas[i]) ** 2;
    });
  });
  return { values: out, sds: variances.map(Math.sqrt) };
}
