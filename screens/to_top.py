"""Shows the top of the page when a person goes from one step to the next; Streamlit keeps the old scroll position.

The heading takes the focus, so that a screen reader says where one is and Tab goes on from there. The first page that a
person opens is left alone: there the browser begins at the top by itself.
"""

import streamlit as st

_JS = """
const shown = new WeakMap();
export default function ({ data, parentElement }) {
  if (shown.get(parentElement) === data.place) return;
  shown.set(parentElement, data.place);
  const before = window.__latchAndLinePlace;
  if (data.place === before) return;
  window.__latchAndLinePlace = data.place;
  const main = document.querySelector('[data-testid="stMain"]');
  main?.scrollTo({ top: 0, behavior: "instant" });
  const heading = main?.querySelector("h1");
  if (before === undefined && document.activeElement === document.body) return;
  heading?.setAttribute("tabindex", "-1");
  heading?.focus({ preventScroll: true });
}
"""


def to_top(place: str) -> None:
    """Scroll to the top if `place` is another than at the last run; call it once a page."""
    st.components.v2.component("latch_and_line_to_top", js=_JS)(key="to-top", data={"place": place}, height="content")
