"""The pages by name, so that one screen can send the person to another without importing it."""

from collections.abc import Mapping
from typing import Any

import streamlit as st


def register(pages: Mapping[str, Any]) -> None:
    """Tell this session's pages; called at each run before a page is drawn."""
    st.session_state["_pages"] = dict(pages)


def go(name: str, **query: str) -> None:
    """Show another page at once, with these parts in its address."""
    st.switch_page(st.session_state["_pages"][name], query_params=query)
