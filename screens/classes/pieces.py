"""The few pieces of class pages for which Streamlit has no widget; every text of a person is escaped here."""

from collections.abc import Iterable, Sequence
from html import escape
from pathlib import Path

import streamlit as st

from screens.language import _

_CSS = Path(__file__).with_name("pieces.css")


def apply() -> None:
    """Add the style sheet of class pages; once a run."""
    st.html(_CSS)


def comment(head: str, text: str) -> None:
    """What an instructor wrote."""
    st.html(f'<div class="ll-comment" role="note"><b>{escape(head)}</b><p>{escape(text)}</p></div>')


def grid(head: Sequence[str], rows: Iterable[tuple[str, Sequence[tuple[str, str, bool]]]], label: str) -> None:
    """A table of shapes: for each row its name and (shape, what it means, late) by column; scrolls by itself when wide."""
    top = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in head)
    body = "".join(
        f'<tr><th scope="row">{escape(name)}</th>{"".join(_cell(*cell) for cell in cells)}</tr>' for name, cells in rows
    )
    named = f'<table class="ll-grid" aria-label="{escape(label, quote=True)}">'
    st.html(
        f'<div class="ll-grid-box" tabindex="0">{named}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table></div>'
    )


def _cell(shape: str, words: str, late: bool) -> str:
    said = _("{words}, late").format(words=words) if late else words
    mark = '<span class="late" aria-hidden="true">late</span>' if late else ""
    return (
        f'<td title="{escape(said, quote=True)}"><span role="img" aria-label="{escape(said, quote=True)}">'
        f"{escape(shape)}</span>{mark}</td>"
    )


def legend(entries: Iterable[tuple[str, str]]) -> None:
    """What the shapes mean."""
    inside = "".join(f"<span>{escape(shape)} {escape(words)}</span>" for shape, words in entries)
    st.html(f'<p class="ll-legend">{inside}</p>')


def code(text: str, *, small: bool = False) -> None:
    """Something to read out or to write on the board."""
    st.html(f'<output class="ll-code{" ll-code-small" if small else ""}">{escape(text)}</output>')
