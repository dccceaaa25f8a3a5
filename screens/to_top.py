"""Shows the top of the page when a person goes from one step to the next; Streamlit keeps the old scroll position."""

import streamlit as st

_JS = """
const shown = new WeakMap();
export default function ({ data, parentElement }) {
  if (shown.get(parentElement) === data.place) return;
  shown.set(parentElement, data.place);
  if (data.place !== window.__latchAndLinePlace) {
    window.__latchAndLinePlace = data.place;
    document.querySelector('[data-testid="stMain"]')?.scrollTo({ top: 0 });
  }
}
"""


def to_top(place: str) -> None:
    """Scroll to the top if `place` is another than at the last run; call it once a page."""
    st.components.v2.component("latch_and_line_to_top", js=_JS)(key="to-top", data={"place": place}, height="content")
