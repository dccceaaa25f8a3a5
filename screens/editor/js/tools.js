// The bar under the photo: history, zoom, turn, light, the head box. All of them change the view only, but the box and the history.

function toolButton(ed, name, label, act, more = {}) {
  const button = el("button", "tool");
  button.type = "button";
  button.append(icon(name));
  button.setAttribute("aria-label", label);
  button.title = more.title ?? label;
  button.addEventListener("click", act);
  ed.tools[name] = button;
  return button;
}

function buildTools(ed) {
  ed.tools = {};
  const group = (...buttons) => {
    const node = el("div", "group");
    node.append(...buttons);
    return node;
  };
  const level = el("output", "level", "100 %");
  level.title = _("CSS pixels per photo pixel");
  ed.ui.level = level;
  const history = group(
    toolButton(ed, "undo", _("Undo"), () => undo(ed), { title: _("Undo (Ctrl+Z)") }),
    toolButton(ed, "redo", _("Redo"), () => redo(ed), { title: _("Redo (Ctrl+Shift+Z)") }),
  );
  ed.ui.history = history;
  ed.ui.bar.append(
    history,
    group(
      toolButton(ed, "minus", _("Zoom out"), () => zoomStep(ed, 1 / 1.5), { title: _("Zoom out (−)") }),
      toolButton(ed, "fit", _("Whole photo"), () => fitNow(ed), { title: _("Whole photo (0)") }),
      toolButton(ed, "plus", _("Zoom in"), () => zoomStep(ed, 1.5), { title: _("Zoom in (+)") }),
    ),
    group(
      toolButton(ed, "turn", _("Turn the view by 90 degrees"), () => setTurn(ed, Math.round(ed.view.turn / 90) * 90 + 90)),
      toolButton(ed, "light", _("Brightness, contrast and fine turn"), () => toggleLight(ed)),
      toolButton(ed, "box", ed.data.boxLabel, () => {
        ed.boxTool = !ed.boxTool;
        render(ed);
      }),
    ),
    level,
  );
  buildLight(ed);
}

function setTurn(ed, deg) {
  ed.view.turn = ((((deg + 180) % 360) + 360) % 360) - 180;
  shapeStage(ed);
  fitView(ed.view, ed.data.photo, stageSize(ed));
  render(ed);
}

function toggleLight(ed) {
  ed.ui.light.hidden = !ed.ui.light.hidden;
  ed.tools.light.setAttribute("aria-expanded", String(!ed.ui.light.hidden));
}

function slider(ed, label, low, high, step, start, act) {
  const line = el("label", "slider");
  const input = el("input");
  Object.assign(input, { type: "range", min: low, max: high, step, value: start });
  input.addEventListener("input", () => act(Number(input.value)));
  line.append(el("span", "", label), input);
  return [line, input];
}

function buildLight(ed) {
  const light = { brightness: 1, contrast: 1 };
  const apply = () => {
    ed.ui.picture.style.filter = `brightness(${light.brightness}) contrast(${light.contrast})`;
  };
  const [bright, brightInput] = slider(ed, _("Brightness"), 0.4, 2.2, 0.05, 1, (value) => {
    light.brightness = value;
    apply();
  });
  const [contrast, contrastInput] = slider(ed, _("Contrast"), 0.5, 2.2, 0.05, 1, (value) => {
    light.contrast = value;
    apply();
  });
  const [turn, turnInput] = slider(ed, _("Turn"), -180, 180, 1, 0, (value) => setTurn(ed, value));
  ed.ui.turnInput = turnInput;
  const reset = el("button", "choice", _("As it was"));
  reset.type = "button";
  reset.addEventListener("click", () => {
    Object.assign(light, { brightness: 1, contrast: 1 });
    brightInput.value = 1;
    contrastInput.value = 1;
    apply();
    setTurn(ed, 0);
  });
  ed.ui.light.append(bright, contrast, turn, reset, el("p", "", _("Only the view changes, never the photo or the points.")));
}

function drawTools(ed) {
  const editable = ed.data.mode !== "look" || boxing(ed);
  ed.ui.history.hidden = !editable;
  setAble(ed.tools.undo, ed.past.length > 0);
  setAble(ed.tools.redo, ed.future.length > 0);
  ed.tools.box.hidden = !ed.data.askBox || ed.data.mode !== "points";
  ed.tools.box.setAttribute("aria-pressed", String(ed.boxTool));
  ed.ui.level.textContent = `${Math.round(ed.view.scale * 100)} %`;
  setAble(ed.tools.minus, !ed.view.fitted);
  setAble(ed.tools.fit, !ed.view.fitted);
  ed.ui.turnInput.value = ed.view.turn;
}

function hint(ed, text) {
  ed.ui.hint.textContent = text;
  ed.ui.hint.hidden = false;
  clearTimeout(ed.hintTimer);
  ed.hintTimer = setTimeout(() => {
    ed.ui.hint.hidden = true;
  }, 1800);
}
