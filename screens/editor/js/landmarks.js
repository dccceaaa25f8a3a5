// What each landmark is called on the picture, how it looks, and how to find it.
// Colour, shape and letters say the same thing three times. No colour stands for a judgement.

const GROUPS = {
  mouth: { name: N_("mouth"), colour: "#E69F00", shape: "circle" },
  face: { name: N_("face"), colour: "#56B4E9", shape: "triangle" },
  body: { name: N_("body"), colour: "#F0E442", shape: "square" },
  areola: { name: N_("areola"), colour: "#CC79A7", shape: "diamond" },
  breast: { name: N_("breast"), colour: "#35C3A2", shape: "hexagon" },
  scale: { name: N_("scale"), colour: "#FFFFFF", shape: "ruler" },
};

const LANDMARKS = {
  mouth_corner: {
    group: "mouth", short: "MC",
    where: N_("Where the two lips meet, on the side you can see."),
    slip: N_("Buried in the breast? Mark your best guess and set it to hidden."),
  },
  upper_lip_edge: {
    group: "mouth", short: "UL",
    where: N_("Middle of the upper lip's free edge; at the breast, where the two meet."),
    slip: N_("Easy to slip: the outer rim of the lip."),
  },
  lower_lip_edge: {
    group: "mouth", short: "LL",
    where: N_("Middle of the lower lip's free edge; at the breast, where the two meet."),
    slip: N_("Easy to slip: the outer rim of a turned-out lip."),
  },
  nose_tip: {
    group: "face", short: "N",
    where: N_("The most forward point of the nose."),
    slip: N_("Easy to slip: the nostril, a little below and behind."),
  },
  chin: {
    group: "face", short: "C",
    where: N_("The most forward point of the chin."),
    slip: N_("Easy to slip: the fold under the chin."),
  },
  ear: {
    group: "body", short: "E",
    where: N_("The small flap in front of the ear canal."),
    slip: N_("Easy to slip: the ear lobe, further down."),
  },
  shoulder: {
    group: "body", short: "S",
    where: N_("The bony top of the shoulder nearest to you."),
    slip: N_("Easy to slip: the sleeve seam, which slides with the cloth."),
  },
  hip: {
    group: "body", short: "H",
    where: N_("The bony side of the hip, where the thigh turns."),
    slip: N_("Easy to slip: the edge of the nappy."),
  },
  areola_above: {
    group: "areola", short: "AA",
    where: N_("The furthest edge of the areola still in sight above the upper lip."),
    slip: N_("Nothing in sight above? Put it on the lip's edge."),
  },
  areola_below: {
    group: "areola", short: "AB",
    where: N_("The furthest edge of the areola still in sight below the lower lip."),
    slip: N_("Nothing in sight below? Put it on the lip's edge."),
  },
  breast_at_nose: {
    group: "breast", short: "BN",
    where: N_("The point of the breast nearest to the nose tip."),
    slip: N_("Easy to slip: a shadow beside the skin's own edge."),
  },
  breast_at_chin: {
    group: "breast", short: "BC",
    where: N_("The point of the breast nearest to the chin."),
    slip: N_("Touching? Put it on the chin itself."),
  },
  scale_a: { group: "scale", short: "A", where: N_("One end of the length you know."), slip: N_("Both ends at the face's distance.") },
  scale_b: { group: "scale", short: "B", where: N_("The other end of that length."), slip: N_("Both ends at the face's distance.") },
};

const MEASURE_TITLES = {
  gape_angle: N_("Mouth gape"),
  alignment_angle: N_("Body line"),
  head_deviation: N_("Head"),
};

function styleOf(id) {
  return GROUPS[LANDMARKS[id].group];
}

function wordsForMeasure(name, measure, names) {
  if (measure.value === null) {
    if (measure.needs && measure.needs.length) return _("needs {points}", { points: measure.needs.map((id) => names[id]).join(", ") });
    return _(measure.reason);
  }
  const whole = Math.round(Math.abs(measure.value));
  if (name !== "head_deviation") return `${whole}°`;
  if (whole === 0) return _("0°, on the line");
  return measure.value > 0 ? _("{deg}° forward", { deg: whole }) : _("{deg}° back", { deg: whole });
}

/** What found a point, in words that mean something to whoever reads them. */
const MAKERS = {
  profile_net: N_("the side-view network"),
  mediapipe_face_mesh: N_("the face model"),
  mediapipe_pose: N_("the body model"),
};

function makerOf(by) {
  return MAKERS[by] ? _(MAKERS[by]) : by;
}

function statusOf(point) {
  if (!point) return _("not placed");
  if (point.by === "student") return point.v === 1 ? _("placed, hidden") : _("placed");
  const who = makerOf(point.by);
  return point.v === 1 ? _("hidden, proposed by {who}", { who }) : _("proposed by {who}", { who });
}

/** For the list, which has little room; whose proposal it is stands on the card once the point is chosen. */
function shortStatus(point) {
  if (!point || point.by === "student") return statusOf(point);
  return point.v === 1 ? _("hidden, proposed") : _("proposed");
}

/** A point as it is called on the photo: who placed it, whether it is hidden, and how unsure it is, in pixels of the photo. */
function spokenStatus(point, whose, sigma) {
  const own = whose === "student" ? _("placed by the student") : _("placed by you");
  const parts = [point.by === "student" ? own : _("proposed by {who}", { who: makerOf(point.by) })];
  if (point.v === 1) parts.push(_("hidden"));
  if (sigma) parts.push(_n("{n} pixel uncertain", "{n} pixels uncertain", Math.max(1, Math.round(sigma))));
  return parts.join(", ");
}
