// The areas: turned rectangles and ellipses in photo px, { key, from, kind, shape, x, y, w, h, turn (deg), why, open }.

const CORNERS = [[-1, -1], [1, -1], [1, 1], [-1, 1]];

function areaAxes(area) {
  return { along: turned({ x: 1, y: 0 }, area.turn), down: turned({ x: 0, y: 1 }, area.turn) };
}

/** A place of the area's own frame (px from its middle, before the turn) on the photo. */
function fromOwn(area, u, v) {
  const arm = turned({ x: u, y: v }, area.turn);
  return { x: area.x + arm.x, y: area.y + arm.y };
}

function toOwn(area, place) {
  return turned(minus(place, area), -area.turn);
}

function areaCorners(area) {
  return CORNERS.map(([u, v]) => fromOwn(area, (u * area.w) / 2, (v * area.h) / 2));
}

/** Whether a place lies in the area, with so many px to spare. */
function areaHolds(area, place, spare = 0) {
  const own = toOwn(area, place);
  const [a, b] = [area.w / 2 + spare, area.h / 2 + spare];
  if (area.shape === "ellipse") return (own.x / a) ** 2 + (own.y / b) ** 2 <= 1;
  return Math.abs(own.x) <= a && Math.abs(own.y) <= b;
}

const hundredth = (value) => Math.round(value * 100) / 100;
const between = (value, low, high) => Math.min(Math.max(value, low), high);

/** To a hundredth; the middle stays in the photo, a side neither vanishes nor grows beyond all use. */
function tidied(data, area) {
  const { width, height } = data.photo;
  const most = 2 * Math.max(width, height);
  let turn = ((((area.turn + 180) % 360) + 360) % 360) - 180;
  if (turn === -180) turn = 180;
  return {
    ...area,
    x: hundredth(between(area.x, 0, width)), y: hundredth(between(area.y, 0, height)),
    w: hundredth(between(area.w, data.smallest, most)), h: hundredth(between(area.h, data.smallest, most)),
    turn: hundredth(turn),
  };
}

/** The area between a fixed corner and the pointer, turned as before. */
function spannedFrom(area, fixed, place) {
  const arm = turned(minus(place, fixed), -area.turn);
  const middle = turned({ x: arm.x / 2, y: arm.y / 2 }, area.turn);
  return { ...area, x: fixed.x + middle.x, y: fixed.y + middle.y, w: Math.abs(arm.x), h: Math.abs(arm.y) };
}

/** A crop between two places, inside the photo, in whole pixels. */
function cropBetween(data, a, b) {
  const { width, height } = data.photo;
  const [x0, x1] = [Math.min(a.x, b.x), Math.max(a.x, b.x)].map((x) => Math.round(between(x, 0, width)));
  const [y0, y1] = [Math.min(a.y, b.y), Math.max(a.y, b.y)].map((y) => Math.round(between(y, 0, height)));
  return [x0, y0, x1 - x0, y1 - y0];
}

function cropCorners(crop) {
  const [x, y, w, h] = crop;
  return [{ x, y }, { x: x + w, y }, { x: x + w, y: y + h }, { x, y: y + h }];
}
