// The photo and what lies over it: covers as they will be, proposals dashed, the crop, and handles for hands.

const LEAST_ROOM_PX = 60;

function placed(ed, point) {
  return toStage(ed.view, ed.data.photo, ed.size, point);
}

function shapeNode(ed, area, more) {
  const scale = ed.view.scale;
  const middle = placed(ed, area);
  const turn = { transform: `rotate(${area.turn} ${middle.x} ${middle.y})` };
  if (area.shape === "ellipse") {
    return svg("ellipse", { cx: middle.x, cy: middle.y, rx: (area.w / 2) * scale, ry: (area.h / 2) * scale, ...turn, ...more });
  }
  return svg("rect", {
    x: middle.x - (area.w / 2) * scale, y: middle.y - (area.h / 2) * scale, width: area.w * scale, height: area.h * scale, ...turn, ...more,
  });
}

function areaNodes(ed, area) {
  const chosen = area.key === ed.selected;
  const margin = 2 * ed.data.margin * ed.view.scale;
  const fill = { fill: ed.data.colour, stroke: ed.data.colour, "stroke-width": margin, "stroke-linejoin": "round" };
  const nodes = [svg("g", { opacity: area.open ? 0.5 : chosen ? 0.72 : 1 }, [shapeNode(ed, area, fill)])];
  if (area.open || chosen) {
    nodes.push(shapeNode(ed, area, { fill: "none", stroke: "rgba(16,24,30,.8)", "stroke-width": 4 }));
    nodes.push(shapeNode(ed, area, { fill: "none", stroke: "#fff", "stroke-width": 2, ...(area.open ? { "stroke-dasharray": "7 5" } : {}) }));
  }
  return nodes;
}

function cropNodes(ed) {
  const crop = ed.gesture && ed.gesture.crop ? ed.gesture.crop : ed.doc.crop;
  if (!crop) return [];
  const [from, , to] = cropCorners(crop).map((corner) => placed(ed, corner));
  const { width, height } = ed.size;
  const hole = `M0 0H${width}V${height}H0ZM${from.x} ${from.y}V${to.y}H${to.x}V${from.y}Z`;
  const frame = { x: from.x, y: from.y, width: to.x - from.x, height: to.y - from.y, fill: "none" };
  return [
    svg("path", { d: hole, "fill-rule": "evenodd", fill: "rgba(20,28,34,.62)" }),
    svg("rect", { ...frame, stroke: "rgba(16,24,30,.8)", "stroke-width": 4 }),
    svg("rect", { ...frame, stroke: "#fff", "stroke-width": 2 }),
  ];
}

/** Where hands can take hold: [{what, x, y (stage px)}] for the chosen area, or for the crop. */
function gripsOf(ed) {
  if (ed.tool === "crop") {
    return ed.doc.crop ? cropCorners(ed.doc.crop).map((corner, i) => ({ what: `crop${i}`, ...placed(ed, corner) })) : [];
  }
  const area = areaOf(ed, ed.selected);
  if (!area) return [];
  // Around a cover that is small on the screen they stand off, so that fingers find its middle and each of them.
  const roomy = { ...area, w: Math.max(area.w, LEAST_ROOM_PX / ed.view.scale), h: Math.max(area.h, LEAST_ROOM_PX / ed.view.scale) };
  const grips = areaCorners(roomy).map((corner, i) => ({ what: `corner${i}`, ...placed(ed, corner) }));
  const top = fromOwn(area, 0, -roomy.h / 2 - 34 / ed.view.scale);
  return [...grips, { what: "turn", ...placed(ed, top) }];
}

function gripNodes(ed) {
  const dots = gripsOf(ed).map((grip) => svg(grip.what === "turn" ? "circle" : "rect", {
    ...(grip.what === "turn" ? { cx: grip.x, cy: grip.y, r: 8 } : { x: grip.x - 7, y: grip.y - 7, width: 14, height: 14, rx: 3 }),
    fill: "#fff", stroke: "rgba(16,24,30,.85)", "stroke-width": 2,
  }));
  const area = areaOf(ed, ed.selected);
  if (ed.tool === "crop" || !area) return dots;
  const [from, to] = [placed(ed, fromOwn(area, 0, -area.h / 2)), gripsOf(ed).at(-1)];
  return [svg("path", { d: `M${from.x} ${from.y}L${to.x} ${to.y}`, stroke: "#fff", "stroke-width": 2 }), ...dots];
}

/** One button an area, in its middle: how Tab and screen readers reach it. */
function drawButtons(ed) {
  const wanted = new Set(ed.doc.areas.map((area) => area.key));
  for (const [key, button] of ed.buttons) {
    if (wanted.has(key)) continue;
    button.remove();
    ed.buttons.delete(key);
  }
  for (const area of ed.doc.areas) {
    const button = ed.buttons.get(area.key) ?? newButton(ed, area.key);
    const at = placed(ed, area);
    button.style.transform = `translate(${at.x}px, ${at.y}px)`;
    button.textContent = numberOf(ed, area);
    button.setAttribute("aria-label", _("{cover}. Arrow keys move it, Delete removes it.", { cover: nameOf(ed, area) }));
    button.classList.toggle("chosen", area.key === ed.selected);
    button.classList.toggle("open", area.open);
  }
}

function numberOf(ed, area) {
  return area.open ? "?" : String(ed.doc.areas.filter((one) => !one.open).findIndex((one) => one.key === area.key) + 1);
}

function newButton(ed, key) {
  const button = el("button", "areabutton");
  button.type = "button";
  button.dataset.key = String(key);
  ed.buttons.set(key, button);
  ed.ui.handles.append(button);
  return button;
}

function drawStage(ed) {
  ed.ui.picture.style.transform = pictureMatrix(ed.view, ed.data.photo, ed.size, ed.baseWidth);
  ed.ui.stage.dataset.fitted = String(ed.view.fitted);
  const fresh = ed.gesture && ed.gesture.fresh ? areaNodes(ed, { ...ed.gesture.fresh, key: -1 }) : [];
  ed.ui.lines.replaceChildren(...ed.doc.areas.flatMap((area) => areaNodes(ed, area)), ...fresh, ...cropNodes(ed), ...gripNodes(ed));
  drawButtons(ed);
  ed.ui.level.textContent = `${Math.round((100 * ed.view.scale) / fitScale(ed.view, ed.data.photo, ed.size))} %`;
}

function measureCoverStage(ed) {
  const { clientWidth: width, clientHeight: height } = ed.ui.stage;
  if (!width || !height || (width === ed.size.width && height === ed.size.height)) return;
  ed.size = { width, height };
  if (ed.view.fitted) fitView(ed.view, ed.data.photo, ed.size);
  drawStage(ed);
}

function showCoverPicture(ed) {
  const { url, width, height } = ed.data.photo;
  const { picture, stage, desk } = ed.ui;
  if (picture.getAttribute("src") !== url) {
    picture.setAttribute("src", url);
    ed.view = newView();
    fitView(ed.view, ed.data.photo, ed.size);
  }
  ed.baseWidth = Math.min(width, 1600);
  picture.style.width = `${ed.baseWidth}px`;
  stage.style.aspectRatio = String(width / height);
  desk.style.setProperty("--ratio", String(width / height));
  desk.style.setProperty("--stage-height", `${ed.data.heightPx}px`);
}
