// A round magnifier beside the finger, with the photo under the point and a crosshair; it flips away from the edges.

const LOUPE = 148;

function showLoupe(ed, point, touch) {
  const { loupe } = ed.ui;
  const stage = stageSize(ed);
  const at = toStage(ed.view, ed.data.photo, stage, point);
  const scale = ed.view.scale * (ed.view.scale < 1 ? 3 : 2);
  const lens = { ...ed.view, scale, panX: 0, panY: 0 };
  const size = { width: LOUPE, height: LOUPE };
  const here = toStage(lens, ed.data.photo, size, point);
  lens.panX = LOUPE / 2 - here.x;
  lens.panY = LOUPE / 2 - here.y;
  const picture = loupe.querySelector("img");
  if (picture.getAttribute("src") !== ed.data.photo.url) picture.setAttribute("src", ed.data.photo.url);
  picture.style.width = `${ed.baseWidth}px`;
  picture.style.transform = pictureMatrix(lens, ed.data.photo, size, ed.baseWidth);
  picture.style.filter = ed.ui.picture.style.filter;
  const place = loupePlace(at, stage, touch);
  loupe.style.transform = `translate(${place.x - LOUPE / 2}px, ${place.y - LOUPE / 2}px)`;
  loupe.hidden = false;
}

/** Above the finger; beside it where there is no room above. */
function loupePlace(at, stage, touch) {
  const half = LOUPE / 2 + 6;
  const away = touch ? 118 : 104;
  if (at.y - away >= half) return { x: Math.min(Math.max(at.x, half), stage.width - half), y: at.y - away };
  const side = at.x > stage.width / 2 ? -1 : 1;
  return { x: at.x + side * (away + 16), y: Math.max(at.y, half) };
}

function hideLoupe(ed) {
  clearTimeout(ed.loupeTimer);
  ed.ui.loupe.hidden = true;
}

/** While keys move a point the loupe stays for a moment. */
function glanceLoupe(ed, point) {
  showLoupe(ed, point, false);
  clearTimeout(ed.loupeTimer);
  ed.loupeTimer = setTimeout(() => hideLoupe(ed), 1100);
}

function buildLoupe(ed) {
  const cross = "M-26 0H-7M7 0H26M0-26V-7M0 7V26";
  ed.ui.loupe.querySelector("svg").append(
    svg("path", { d: cross, stroke: "rgba(16,24,30,.8)", "stroke-width": 3.6, fill: "none" }),
    svg("path", { d: cross, stroke: "#fff", "stroke-width": 1.4, fill: "none" }),
    svg("circle", { r: 2.4, fill: "rgba(16,24,30,.8)" }),
    svg("circle", { r: 1.2, fill: "#fff" }),
  );
}
