// Points that crowd: their letters stand in a ring around the crowd, each tied to its point by a thin line.

const CROWDED = 0.62;
const CLOSE_PX = 30;
const RING_GAP_PX = 30;
const TAG_ROOM_PX = 25;
/** On a phone a ring of letters would cover what is to be seen; there the letters of a chosen point stand alone. */
const LEAST_STAGE_PX = 480;

/** Groups of indices of points that lie close together, two or more in each, of which one at least is crowded. */
function crowdsOf(places, spots, sizes) {
  const left = places.map((_place, i) => i).filter((i) => places[i].kind === "point" && places[i].short);
  const crowds = [];
  while (left.length) {
    const crowd = [left.pop()];
    for (let at = 0; at < crowd.length; at += 1) {
      for (let k = left.length - 1; k >= 0; k -= 1) {
        if (distance(spots[crowd[at]], spots[left[k]]) < CLOSE_PX) crowd.push(...left.splice(k, 1));
      }
    }
    if (crowd.length > 1 && crowd.some((i) => sizes[i] <= CROWDED)) crowds.push(crowd);
  }
  return crowds;
}

/** For one crowd: {index: offset of its letters from its point}, in the order in which the points lie around their middle. */
function fanOf(crowd, spots, stage) {
  const mean = (axis) => crowd.reduce((sum, i) => sum + spots[i][axis], 0) / crowd.length;
  const middle = { x: mean("x"), y: mean("y") };
  const reach = Math.max(...crowd.map((i) => distance(spots[i], middle)));
  const radius = Math.max(reach + RING_GAP_PX, (crowd.length * TAG_ROOM_PX) / (2 * Math.PI));
  const angleOf = (i) => Math.atan2(spots[i].y - middle.y, spots[i].x - middle.x);
  const order = [...crowd].sort((a, b) => angleOf(a) - angleOf(b));
  const angles = order.map(angleOf);
  const least = Math.min(TAG_ROOM_PX / radius, (2 * Math.PI) / order.length);
  for (let round = 0; round < 40; round += 1) spaceOut(angles, least);
  const keep = (value, most) => Math.min(Math.max(value, 12), most - 12);
  return Object.fromEntries(order.map((i, k) => [i, {
    x: keep(middle.x + radius * Math.cos(angles[k]), stage.width) - spots[i].x,
    y: keep(middle.y + radius * Math.sin(angles[k]), stage.height) - spots[i].y,
  }]));
}

function spaceOut(angles, least) {
  for (let k = 0; k < angles.length; k += 1) {
    const next = (k + 1) % angles.length;
    const gap = angles[next] + (next ? 0 : 2 * Math.PI) - angles[k];
    if (gap >= least || angles.length < 2) continue;
    angles[k] -= (least - gap) / 2;
    angles[next] += (least - gap) / 2;
  }
}

/** Puts the letters of crowded points into their ring; returns the lines that tie them. */
function fanOut(places, spots, sizes, tags, stage) {
  const ties = [];
  if (stage.width < LEAST_STAGE_PX) return ties;
  for (const crowd of crowdsOf(places, spots, sizes)) {
    for (const [i, tag] of Object.entries(fanOf(crowd, spots, stage))) {
      tags[i] = { ...tag, tied: true };
      const end = { x: spots[i].x + tag.x, y: spots[i].y + tag.y };
      ties.push(...haloed(pathOf(spots[i], end), "#FFFFFF", { width: 1.1 }));
    }
  }
  return ties;
}
