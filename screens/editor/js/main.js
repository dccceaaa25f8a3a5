// Opens an editor for each place on the page, keeps it over reruns, and draws.

const EDITORS = new WeakMap();

const LABELS = {
  ".guide": N_("What to mark now"),
  ".photo": N_("Photo"),
  ".pane:not(.other) .stage": N_("Photo with its points"),
  ".other .stage": N_("Second photo, to look at"),
  ".bar": N_("Picture tools"),
  ".points": N_("Points"),
};

function open(component, root) {
  const find = (selector) => root.querySelector(selector);
  const ed = {
    root, component, shadow: component.parentElement, data: null, revision: null, edit: 0, unsent: false, waiting: null,
    pills: [], doc: null, past: [], future: [], lastStep: null, armed: null, armHidden: false, selected: null, skipped: new Set(), guided: true,
    view: newView(), size: { width: 1, height: 1 }, baseWidth: 1, gesture: null, pointers: new Map(), engaged: false, spaceHeld: false,
    boxTool: false, handles: new Map(), rows: new Map(), live: {}, ears: [],
    ui: {
      desk: find(".desk"), notice: find(".notice"), stage: find(".stage"), picture: find(".picture"), lines: find(".lines"),
      handles: find(".handles"), loupe: find(".loupe"), hint: find(".hint"), bar: find(".bar"), light: find(".light"),
      numbers: find(".numbers"), heads: find(".heads"), guide: find(".guide"), points: find(".points"), list: find(".list"),
      live: find(".live"), caption: find("figcaption"), other: find(".other"),
    },
  };
  return ed;
}

function listen(ed) {
  listenToGestures(ed);
  listenToKeys(ed);
  const on = (target, name, act) => {
    target.addEventListener(name, act);
    ed.ears.push(() => target.removeEventListener(name, act));
  };
  on(document, "visibilitychange", () => flush(ed));
  on(window, "pagehide", () => flush(ed));
  on(document, "ll-focus-lost", (event) => takeFocus(ed, event));
  const watch = new ResizeObserver(() => measureStage(ed));
  watch.observe(ed.ui.stage);
  ed.ears.push(() => watch.disconnect());
}

/** "Mark where" is gone once it is pressed; what it leads to is the photo. */
function takeFocus(ed, event) {
  if (ed.data.mode !== "pins" || !ed.data.pinItem) return;
  event.preventDefault();
  (ed.handles.get(`pin:${ed.data.pinItem.id}`) ?? ed.ui.stage).focus();
}

function measureStage(ed) {
  const { clientWidth: width, clientHeight: height } = ed.ui.stage;
  if (!width || !height || (width === ed.size.width && height === ed.size.height)) return;
  ed.size = { width, height };
  if (ed.view.fitted) fitView(ed.view, ed.data.photo, ed.size);
  renderStage(ed);
}

function showPicture(ed) {
  const { picture } = ed.ui;
  const { url, label, width } = ed.data.photo;
  if (picture.getAttribute("src") !== url) {
    picture.setAttribute("src", url);
    ed.view = newView();
    fitView(ed.view, ed.data.photo, ed.size);
  }
  picture.alt = ed.data.photo.alt || label || _("practice photo");
  ed.baseWidth = Math.min(width, 1600);
  picture.style.width = `${ed.baseWidth}px`;
  ed.ui.caption.textContent = label;
  ed.ui.caption.hidden = !label;
  ed.ui.desk.style.setProperty("--stage-height", `${ed.data.heightPx}px`);
  shapeStage(ed);
  showCompared(ed);
}

/** The stage takes the photo's shape, turned with the view, up to its greatest height. */
function shapeStage(ed) {
  const { width, height } = ed.data.photo;
  const lying = Math.abs(Math.sin(ed.view.turn / DEG)) > 0.7;
  const ratio = lying ? height / width : width / height;
  ed.ui.stage.style.aspectRatio = String(ratio);
  ed.ui.desk.style.setProperty("--ratio", String(ratio));
}

function showCompared(ed) {
  const { other } = ed.ui;
  const { compare } = ed.data;
  other.hidden = !compare;
  ed.ui.desk.classList.toggle("two", Boolean(compare));
  if (!compare) return;
  if (!ed.beside) openBeside(ed);
  const { picture, stage } = ed.beside;
  if (picture.getAttribute("src") !== compare.url) {
    ed.beside.view = newView();
    picture.setAttribute("src", compare.url);
  }
  stage.style.aspectRatio = ed.ui.stage.style.aspectRatio;
  picture.alt = compare.label || _("second photo");
  other.querySelector("figcaption").textContent = compare.label;
}

/** What moves with the finger: photo, handles, lines, numbers. */
function renderStage(ed) {
  ed.filled = withSigmas(ed.doc.points, ed.doc.yaw, ed.data.mmPerPixel);
  ed.live = liveMeasures({ points: ed.doc.points, yaw: ed.doc.yaw, elevation: ed.data.elevation, bodyView: ed.data.bodyView, mmPerPixel: ed.data.mmPerPixel, gape: ed.data.gape });
  ed.ui.picture.style.transform = pictureMatrix(ed.view, ed.data.photo, ed.size, ed.baseWidth);
  ed.ui.stage.dataset.fitted = String(ed.view.fitted);
  ed.ui.stage.classList.toggle("placing", Boolean(toPlaceNow(ed)) || boxing(ed));
  ed.ui.stage.classList.toggle("boxing", boxing(ed));
  drawLines(ed);
  drawHandles(ed);
  drawNumbers(ed);
  drawTools(ed);
}

function renderPanel(ed) {
  ed.ui.desk.classList.toggle("slim", ed.data.mode !== "points");
  drawList(ed);
  drawGuide(ed);
  drawHeads(ed);
  const { fault, blind } = ed.data;
  const again = _("Second round: place the same points again. Your first ones and the numbers stay out of sight, so that the difference shows your own spread.");
  ed.ui.notice.textContent = fault ?? (blind ? again : "");
  ed.ui.notice.hidden = !ed.ui.notice.textContent;
}

function render(ed) {
  renderStage(ed);
  renderPanel(ed);
}

/** Everything that is built once and has words in it, at first and after a change of language. */
function sayAnew(ed) {
  ed.language = ed.data.language;
  for (const part of [ed.ui.bar, ed.ui.light, ed.ui.heads]) part.replaceChildren();
  ed.ui.points.querySelector(".keys")?.remove();
  Object.assign(ed, { listed: null, guideKey: null, cards: null });
  ed.ui.live.textContent = "";
  sayLabels(ed.root, LABELS);
  buildTools(ed);
  buildKeys(ed);
}

export default function landmarkEditor(component) {
  const { data, parentElement } = component;
  const root = parentElement.querySelector(".editor");
  let ed = EDITORS.get(parentElement);
  const isNew = !ed || ed.root !== root;
  if (isNew) {
    ed = open(component, root);
    EDITORS.set(parentElement, ed);
  }
  ed.component = component;
  useWords(data.words);
  adopt(ed, data);
  if (ed.language !== data.language) sayAnew(ed);
  if (isNew) {
    buildLoupe(ed);
    listen(ed);
  }
  showPicture(ed);
  measureStage(ed);
  render(ed);
  return () => {
    for (const stop of ed.ears) stop();
    EDITORS.delete(parentElement);
  };
}

export { liveMeasures, newView, fitView, toStage, toPhoto, zoomAt };
