// What each landmark is called on the picture, how it looks, and how to find it.
// Colour, shape and letters say the same thing three times. No colour stands for a judgement.

const GROUPS = {
  mouth: { name: "mouth", colour: "#E69F00", shape: "circle" },
  face: { name: "face", colour: "#56B4E9", shape: "triangle" },
  body: { name: "body", colour: "#F0E442", shape: "square" },
  areola: { name: "areola", colour: "#CC79A7", shape: "diamond" },
  breast: { name: "breast", colour: "#35C3A2", shape: "hexagon" },
  scale: { name: "scale", colour: "#FFFFFF", shape: "cross" },
};

const LANDMARKS = {
  mouth_corner: {
    group: "mouth", short: "MC",
    where: "Where the two lips meet, on the side you can see.",
    slip: "Buried in the breast? Mark your best guess and set it to hidden.",
  },
  upper_lip_edge: {
    group: "mouth", short: "UL",
    where: "Middle of the upper lip's free edge; at the breast, where the two meet.",
    slip: "Easy to slip: the outer rim of the lip.",
  },
  lower_lip_edge: {
    group: "mouth", short: "LL",
    where: "Middle of the lower lip's free edge; at the breast, where the two meet.",
    slip: "Easy to slip: the outer rim of a turned-out lip.",
  },
  nose_tip: {
    group: "face", short: "N",
    where: "The most forward point of the nose.",
    slip: "Easy to slip: the nostril, a little below and behind.",
  },
  chin: {
    group: "face", short: "C",
    where: "The most forward point of the chin.",
    slip: "Easy to slip: the fold under the chin.",
  },
  ear: {
    group: "body", short: "E",
    where: "The small flap in front of the ear canal.",
    slip: "Easy to slip: the ear lobe, further down.",
  },
  shoulder: {
    group: "body", short: "S",
    where: "The bony top of the shoulder nearest to you.",
    slip: "Easy to slip: the sleeve seam, which slides with the cloth.",
  },
  hip: {
    group: "body", short: "H",
    where: "The bony side of the hip, where the thigh turns.",
    slip: "Easy to slip: the edge of the nappy.",
  },
  areola_above: {
    group: "areola", short: "AA",
    where: "The furthest edge of the areola still in sight above the upper lip.",
    slip: "Nothing in sight above? Put it on the lip's edge.",
  },
  areola_below: {
    group: "areola", short: "AB",
    where: "The furthest edge of the areola still in sight below the lower lip.",
    slip: "Nothing in sight below? Put it on the lip's edge.",
  },
  breast_at_nose: {
    group: "breast", short: "BN",
    where: "The point of the breast nearest to the nose tip.",
    slip: "Easy to slip: a shadow beside the skin's own edge.",
  },
  breast_at_chin: {
    group: "breast", short: "BC",
    where: "The point of the breast nearest to the chin.",
    slip: "Touching? Put it on the chin itself.",
  },
  scale_a: { group: "scale", short: "A", where: "One end of the length you know.", slip: "Both ends at the face's distance." },
  scale_b: { group: "scale", short: "B", where: "The other end of that length.", slip: "Both ends at the face's distance." },
};

const MEASURE_TITLES = {
  gape_angle: "Mouth gape",
  alignment_angle: "Body line",
  head_deviation: "Head",
};

function styleOf(id) {
  return GROUPS[LANDMARKS[id].group];
}

function wordsForMeasure(name, measure, names) {
  if (measure.value === null) {
    if (measure.needs && measure.needs.length) return `needs ${measure.needs.map((id) => names[id]).join(", ")}`;
    return measure.reason;
  }
  const whole = Math.round(Math.abs(measure.value));
  if (name !== "head_deviation") return `${whole}°`;
  if (whole === 0) return "0°, on the line";
  return `${whole}° ${measure.value > 0 ? "forward" : "back"}`;
}

function statusOf(point) {
  if (!point) return "not placed";
  const word = point.v === 1 ? "placed, hidden" : "placed";
  return point.by === "student" ? word : `${point.v === 1 ? "hidden, " : ""}proposed by ${point.by}`;
}
