// Looks after the page from its first run on; the words of a later run replace those of an earlier one.

const SETTLED_MS = 120;

function looksAfter(words) {
  const state = { words, said: "", last: null, timer: null };
  const settle = () => {
    dress(state.words, state);
    const app = document.querySelector('[data-testid="stApp"]');
    const runs = app && app.getAttribute("data-test-script-state") !== "notRunning";
    if (runs) later();
    else regain(state);
  };
  const later = () => {
    clearTimeout(state.timer);
    state.timer = setTimeout(settle, SETTLED_MS);
  };
  document.addEventListener("focusin", (event) => {
    state.last = remembered(event);
  });
  document.addEventListener("click", leadToPhoto);
  new MutationObserver(later).observe(document.body, {
    childList: true, subtree: true, attributes: true, attributeFilter: ["disabled", "data-stale", "aria-expanded"],
  });
  new ResizeObserver(later).observe(document.body);
  return state;
}

export default function frame({ data }) {
  window.__latchAndLineFrame ??= looksAfter(data);
  const state = window.__latchAndLineFrame;
  state.words = data;
  dress(data, state);
}
