// Roles and names for the parts of Streamlit's page, and one Tab stop for whatever is moved sideways.

const MAIN = '[data-testid="stMain"]';

function give(node, attributes) {
  if (!node) return;
  for (const [name, value] of Object.entries(attributes)) {
    if (node.getAttribute(name) !== value) node.setAttribute(name, value);
  }
}

function eachOf(selector, act) {
  document.querySelectorAll(selector).forEach(act);
}

function nameLandmarks(words) {
  give(document.querySelector(MAIN), { role: "main", id: "content" });
  give(document.querySelector('[data-testid="stTopNavLink"]')?.closest(".rc-overflow"), { role: "navigation", "aria-label": words.pages });
  give(document.querySelector('[data-testid="stSidebarNav"]'), { role: "navigation", "aria-label": words.pages });
}

/** Names of pictures as letters ("expand_more") are no words. */
function nameControls(words) {
  eachOf('[data-testid="stIconMaterial"]', (icon) => give(icon, { "aria-hidden": "true" }));
  eachOf('[data-testid="stExpandSidebarButton"]', (button) => give(button, { "aria-label": words.openPages }));
  eachOf('[data-testid="stSidebarCollapseButton"] button', (button) => give(button, { "aria-label": words.closePages }));
  eachOf('[data-testid="stFileUploader"]', (part) => {
    const label = part.querySelector('[data-testid="stWidgetLabel"]')?.textContent.trim();
    if (label) give(part.querySelector('input[type="file"]'), { "aria-label": label });
  });
}

/** Streamlit ties the size of a heading to its level; where no level lies between, a small heading counts as the next one. */
function levelHeadings() {
  let bigger = false;
  eachOf(`${MAIN} :is(h2, h3)`, (heading) => {
    bigger ||= heading.tagName === "H2";
    if (bigger) heading.removeAttribute("aria-level");
    else give(heading, { "aria-level": "2" });
  });
}

/** A chart is one picture with a name, not a heap of loose numbers; its table stands beside it. */
function nameCharts() {
  eachOf('[data-testid="stVegaLiteChart"][aria-label]', (chart) => {
    give(chart, { role: "img" });
    give(chart.querySelector("svg"), { "aria-hidden": "true" });
  });
}

/** On a page of cards the main button of each says which card is meant, after the words that are seen; the others describe it. */
function nameCards() {
  eachOf('[data-testid="stColumn"]', (column) => {
    const titles = column.querySelectorAll(".ll-card-title");
    if (titles.length !== 1) return;
    const title = titles[0].textContent.trim();
    column.querySelectorAll('[data-testid="stBaseButton-primary"]').forEach((button) => {
      const words = button.querySelector('[data-testid="stMarkdownContainer"]')?.textContent.trim();
      if (words) give(button, { "aria-label": `${words}: ${title}` });
    });
    column.querySelectorAll('[data-testid="stBaseButton-secondary"]').forEach((button) => give(button, { "aria-description": title }));
  });
}

/** Charts and tables that are wider than the page are reached by Tab and moved by the arrow keys. */
function reachWideParts(words) {
  eachOf('[data-testid="stElementContainer"]', (box) => {
    const part = box.querySelector('table.ll-measures, [data-testid="stVegaLiteChart"]');
    if (!part || !["auto", "scroll"].includes(getComputedStyle(box).overflowX)) return;
    if (box.scrollWidth <= box.clientWidth + 1) {
      if (box.dataset.reached) ["tabindex", "role", "aria-label", "data-reached"].forEach((name) => box.removeAttribute(name));
      return;
    }
    const called = part.getAttribute("aria-label") ?? part.querySelector("[aria-label]")?.getAttribute("aria-label") ?? "";
    give(box, { tabindex: "0", role: "region", "aria-label": [called, words.moves].filter(Boolean).join(", "), "data-reached": "true" });
  });
}

/** A tab of the browser is told from the next one by its heading. */
function nameTab(words) {
  const heading = document.querySelector(`${MAIN} h1`)?.textContent.trim();
  const title = heading ? `${heading} – ${words.program}` : words.program;
  if (document.title !== title) document.title = title;
}

function offerSkipping(words) {
  let link = document.querySelector("a.ll-skip");
  if (!link) {
    link = document.createElement("a");
    link.className = "ll-skip";
    link.href = "#content";
    link.addEventListener("click", (event) => {
      event.preventDefault();
      focusHeading();
    });
    document.body.prepend(link);
  }
  if (link.textContent !== words.skip) link.textContent = words.skip;
}

/** One place that speaks: what a page says with class ll-said, when it is new. */
function speak(state) {
  let voice = document.querySelector("p.ll-voice");
  if (!voice) {
    voice = document.createElement("p");
    voice.className = "ll-voice";
    voice.setAttribute("role", "status");
    document.body.append(voice);
  }
  const said = [...document.querySelectorAll(`${MAIN} .ll-said`)].map((node) => node.textContent.trim()).join(" ");
  if (said === state.said) return;
  state.said = said;
  voice.textContent = said;
}

function dress(words, state) {
  nameLandmarks(words);
  nameControls(words);
  nameCards();
  levelHeadings();
  nameCharts();
  reachWideParts(words);
  nameTab(words);
  offerSkipping(words);
  speak(state);
}
