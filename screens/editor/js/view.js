// Where the photo lies on the stage: fit, zoom, pan and turn. The photo's own pixels never change.
// view = { scale: CSS px per photo px, panX, panY: CSS px, turn: degrees clockwise, fitted: bool }

const ZOOM_MOST = 16; // CSS px per photo px at most, or 12 times the fit if that is more
const FIT_MARGIN = 10;

function newView() {
  return { scale: 1, panX: 0, panY: 0, turn: 0, fitted: true };
}

function turned(vector, deg) {
  const c = Math.cos(deg / DEG);
  const s = Math.sin(deg / DEG);
  return { x: c * vector.x - s * vector.y, y: s * vector.x + c * vector.y };
}

function fitScale(view, photo, stage) {
  const c = Math.abs(Math.cos(view.turn / DEG));
  const s = Math.abs(Math.sin(view.turn / DEG));
  const wide = photo.width * c + photo.height * s;
  const high = photo.width * s + photo.height * c;
  return Math.min((stage.width - 2 * FIT_MARGIN) / wide, (stage.height - 2 * FIT_MARGIN) / high);
}

function fitView(view, photo, stage) {
  view.scale = Math.max(fitScale(view, photo, stage), 1e-4);
  view.panX = 0;
  view.panY = 0;
  view.fitted = true;
}

/** Photo pixels to CSS pixels of the stage. */
function toStage(view, photo, stage, point) {
  const arm = turned({ x: point.x - photo.width / 2, y: point.y - photo.height / 2 }, view.turn);
  return { x: stage.width / 2 + view.panX + view.scale * arm.x, y: stage.height / 2 + view.panY + view.scale * arm.y };
}

/** CSS pixels of the stage to photo pixels. */
function toPhoto(view, photo, stage, place) {
  const arm = {
    x: (place.x - stage.width / 2 - view.panX) / view.scale,
    y: (place.y - stage.height / 2 - view.panY) / view.scale,
  };
  const flat = turned(arm, -view.turn);
  return { x: flat.x + photo.width / 2, y: flat.y + photo.height / 2 };
}

/** Inside the photo, to a hundredth of a pixel (as Python keeps it). */
function settled(photo, point) {
  const keep = (value, most) => Math.round(Math.min(Math.max(value, 0), most) * 100) / 100;
  return { x: keep(point.x, photo.width), y: keep(point.y, photo.height) };
}

/** Zoom by a factor so that the photo stays under `place` (CSS px of the stage). */
function zoomAt(view, photo, stage, factor, place) {
  const fit = fitScale(view, photo, stage);
  const scale = Math.min(Math.max(view.scale * factor, fit), Math.max(ZOOM_MOST, 12 * fit));
  const real = scale / view.scale;
  view.panX = (view.panX + stage.width / 2 - place.x) * real + place.x - stage.width / 2;
  view.panY = (view.panY + stage.height / 2 - place.y) * real + place.y - stage.height / 2;
  view.scale = scale;
  if (scale <= fit * 1.001) fitView(view, photo, stage);
  else view.fitted = false;
  keepInSight(view, photo, stage);
}

function panBy(view, photo, stage, dx, dy) {
  if (view.fitted) return;
  view.panX += dx;
  view.panY += dy;
  keepInSight(view, photo, stage);
}

/** The photo's middle may leave the stage, a strip of the photo may not. */
function keepInSight(view, photo, stage) {
  const c = Math.abs(Math.cos(view.turn / DEG));
  const s = Math.abs(Math.sin(view.turn / DEG));
  const wide = (view.scale * (photo.width * c + photo.height * s)) / 2;
  const high = (view.scale * (photo.width * s + photo.height * c)) / 2;
  view.panX = Math.min(Math.max(view.panX, -wide), wide);
  view.panY = Math.min(Math.max(view.panY, -high), high);
}

/** A CSS matrix that lays a picture of `base` CSS px width (unscaled, its corner at 0, 0) where the view says. */
function pictureMatrix(view, photo, stage, base) {
  const scale = (view.scale * photo.width) / base;
  const corner = toStage(view, photo, stage, { x: 0, y: 0 });
  const right = turned({ x: scale, y: 0 }, view.turn);
  const down = turned({ x: 0, y: scale }, view.turn);
  return `matrix(${right.x},${right.y},${down.x},${down.y},${corner.x},${corner.y})`;
}
