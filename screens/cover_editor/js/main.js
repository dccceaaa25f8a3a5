// Opens a cover editor for each place on the page, keeps it over reruns, and draws.

const COVER_EDITORS = new WeakMap();

const COVER_LABELS = {
  ".photo": N_("Photo"),
  ".bar": N_("Picture tools"),
  ".stage": N_("Photo with its covers"),
  ".side": N_("Covers"),
};

function openCoverEditor(component, root) {
  const find = (selector) => root.querySelector(selector);
  return {
    root, component, shadow: component.parentElement, data: null, revision: null, edit: 0, unsent: false, waiting: false,
    doc: null, past: [], future: [], lastStep: null, selected: null, nextKey: 1, tool: "cover", kind: "face", shape: "ellipse",
    view: newView(), size: { width: 1, height: 1 }, baseWidth: 1, gesture: null, pointers: new Map(), engaged: false,
    buttons: new Map(), tools: {}, sideSign: null, ears: [],
    ui: {
      desk: find(".desk"), notice: find(".notice"), stage: find(".stage"), picture: find(".picture"), lines: find(".lines"),
      handles: find(".handles"), hint: find(".hint"), bar: find(".bar"), side: find(".side"), live: find(".live"),
    },
  };
}

function listenToCovers(ed) {
  listenToHands(ed);
  listenToCoverKeys(ed);
  const on = (target, name, act) => {
    target.addEventListener(name, act);
    ed.ears.push(() => target.removeEventListener(name, act));
  };
  on(document, "visibilitychange", () => tellPython(ed));
  on(window, "pagehide", () => tellPython(ed));
  const watch = new ResizeObserver(() => measureCoverStage(ed));
  watch.observe(ed.ui.stage);
  ed.ears.push(() => watch.disconnect());
}

function drawAll(ed) {
  drawStage(ed);
  drawCoverTools(ed);
  drawSide(ed);
  ed.ui.notice.textContent = ed.data.fault ?? "";
  ed.ui.notice.hidden = !ed.data.fault;
}

/** What is built once and has words in it, at first and after a change of language. */
function sayCoversAnew(ed) {
  ed.language = ed.data.language;
  ed.sideSign = null;
  ed.ui.bar.replaceChildren();
  ed.ui.live.textContent = "";
  sayLabels(ed.root, COVER_LABELS);
  ed.ui.picture.alt = _("photo that is being covered");
  buildCoverTools(ed);
}

export default function coverEditor(component) {
  const { data, parentElement } = component;
  const root = parentElement.querySelector(".editor");
  let ed = COVER_EDITORS.get(parentElement);
  const isNew = !ed || ed.root !== root;
  if (isNew) {
    ed = openCoverEditor(component, root);
    COVER_EDITORS.set(parentElement, ed);
  }
  ed.component = component;
  useWords(data.words);
  takeData(ed, data);
  if (ed.language !== data.language) sayCoversAnew(ed);
  if (isNew) listenToCovers(ed);
  showCoverPicture(ed);
  measureCoverStage(ed);
  drawAll(ed);
  return () => {
    for (const stop of ed.ears) stop();
    COVER_EDITORS.delete(parentElement);
  };
}
