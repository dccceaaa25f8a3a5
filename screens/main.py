"""The script that Streamlit runs: the look, the pages, and one sentence where something of ours fails."""

import sys
from pathlib import Path

# Streamlit puts this file's own folder on the path, not the project's.
PROJECT = str(Path(__file__).resolve().parent.parent)
if PROJECT not in sys.path:
    sys.path.insert(0, PROJECT)

import streamlit as st  # noqa: E402

from records.errors import RecordsError  # noqa: E402
from screens import look, places  # noqa: E402
from screens.pages import PAGES  # noqa: E402


def main() -> None:
    """Draw the page that the address names."""
    st.set_page_config(page_title="Latch and Line", page_icon=look.ICON, layout="wide")
    look.apply()
    pages = {
        entry.name: st.Page(
            entry.show,
            title=entry.title,
            url_path=entry.name,
            default=entry.name == "start",
            visibility="visible" if entry.listed else "hidden",
        )
        for entry in PAGES
    }
    places.register(pages)
    page = st.navigation(list(pages.values()), position="top")
    try:
        page.run()
    except RecordsError as error:
        st.error(f"{error} Nothing that you had saved is lost.")
    look.footer()


main()
