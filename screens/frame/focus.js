// A rerun may take away what had the focus. Then the focus would fall to the page's body, and the next Tab would begin at its
// top; here it goes to what took the place, or to what is left around it.

const REACHABLE = 'a[href], button:not(:disabled), input:not(:disabled), select, textarea, summary, [tabindex="0"]';

function focusHeading() {
  const heading = document.querySelector(`${MAIN} h1`) ?? document.querySelector(MAIN);
  if (!heading) return;
  if (!heading.hasAttribute("tabindex")) heading.setAttribute("tabindex", "-1");
  heading.focus({ preventScroll: false });
}

function wordsOf(node) {
  return (node.getAttribute("aria-label") || node.labels?.[0]?.textContent || node.textContent || "").trim();
}

/** What is remembered of whatever gets the focus: itself, what stands around it, and what it is called. */
function remembered(event) {
  const path = event.composedPath().filter((node) => node instanceof Element);
  const outer = event.target;
  const trail = [];
  for (let node = outer.closest(MAIN) && outer.parentElement; node && !node.matches(MAIN); node = node.parentElement) trail.push(node);
  return { node: path[0], outer, trail, tag: outer.tagName, words: wordsOf(outer) };
}

function isGone(last) {
  const inPlace = last.outer.isConnected && last.node.isConnected && last.outer.disabled !== true;
  return !inPlace || getComputedStyle(last.outer).visibility === "hidden";
}

function isNowhere() {
  const at = document.activeElement;
  return !at || at === document.body || at === document.documentElement;
}

function isSeen(node) {
  return node.getClientRects().length > 0 && getComputedStyle(node).visibility !== "hidden" && !node.closest('[data-stale="true"]');
}

/** The same control drawn anew, as near as possible; else what is left in the box that held it; else nothing. */
function successorOf(last) {
  const around = last.trail.filter((node) => node.isConnected);
  for (const box of around) {
    const twin = [...box.querySelectorAll(last.tag.toLowerCase())].find(
      (node) => last.words && wordsOf(node) === last.words && !node.disabled && isSeen(node));
    if (twin) return twin;
  }
  for (const box of around) {
    if (box.matches('[data-testid="stMainBlockContainer"], [data-testid="stMainBlockContainer"] > *')) break;
    const found = [...box.querySelectorAll(REACHABLE)].find(isSeen);
    if (found) return found;
  }
  return null;
}

/** An editor that waits for a place on its photo takes the focus; true where there is one. */
function offerToEditor() {
  return !document.dispatchEvent(new CustomEvent("ll-focus-lost", { cancelable: true }));
}

function leadToPhoto(event) {
  if (!event.target.closest("a.ll-to-photo")) return;
  event.preventDefault();
  offerToEditor();
}

function regain(state) {
  const { last } = state;
  if (!last || !isNowhere() || !isGone(last)) return;
  state.last = null;
  // An editor on the page may be what the vanished button led to.
  if (offerToEditor()) return;
  const next = successorOf(last);
  if (next) next.focus();
  else focusHeading();
}
