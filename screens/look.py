"""The look that all screens share, and the few pieces of page that Streamlit has no widget for.

Every text that comes from a person or a file is escaped here, in one place.
"""

from collections.abc import Iterable, Sequence
from html import escape
from pathlib import Path

import streamlit as st

from rubric.evidence import plain_name
from screens.frame import component as frame
from screens.language import _

ICON = str(Path(__file__).with_name("icon.svg"))
_CSS = Path(__file__).with_name("look.css")
_FRAME_CSS = Path(frame.__file__).with_name("frame.css")


def apply() -> None:
    """Add the style sheet; once a run, before anything is drawn."""
    st.html(_CSS)
    st.html(_FRAME_CSS)


def lede(text: str) -> None:
    """An opening paragraph."""
    st.html(f'<p class="ll-lede">{escape(text)}</p>')


def quiet(text: str) -> None:
    """A side remark."""
    st.html(f'<p class="ll-quiet">{escape(text)}</p>')


def said(text: str) -> None:
    """What an action led to; a screen reader says it when it is new."""
    st.html(f'<p class="ll-quiet ll-said">{escape(text)}</p>')


def to_the_photo(text: str) -> None:
    """A remark on what to do on the photo, with the way there for whoever has no mouse."""
    link = f'<a class="ll-to-photo" href="#content">{escape(_("Go to the photo"))}</a>'
    st.html(f'<p class="ll-quiet">{escape(text)} {link}</p>')


def listing(title: str, lines: Iterable[str]) -> None:
    """A short list under a line."""
    rows = "".join(f"<li>{escape(line)}</li>" for line in lines)
    st.html(f'<div class="ll-quiet"><p>{escape(title)}</p><ul>{rows}</ul></div>')


def notice(title: str, *sentences: str) -> None:
    """Something that must be read, without alarm."""
    st.html(f'<div class="ll-notice" role="note"><strong>{escape(title)}</strong>{escape(" ".join(sentences))}</div>')


def steps(names: Sequence[tuple[str, str]], now: int) -> None:
    """Where the person stands in a job of several steps: (name, what it is for), and the index of the present one."""
    rows = []
    for index, (name, purpose) in enumerate(names):
        state = "done" if index < now else "now" if index == now else ""
        here = ' aria-current="step"' if index == now else ""
        done = f'<span class="ll-heard">{escape(_("done"))}</span>' if state == "done" else ""
        words = f"<b>{index + 1}. {escape(name)}</b>{done} <span>{escape(purpose)}</span>"
        rows.append(f'<li class="{state}"{here}>{words}</li>')
    st.html(f'<ol class="ll-steps" aria-label="{escape(_("Steps"), quote=True)}">{"".join(rows)}</ol>')


def card_picture(url: str, alt: str) -> None:
    """A photo on a card, by the address of one of our own routes."""
    st.html(
        f'<img class="ll-card-picture" src="{escape(url, quote=True)}" alt="{escape(alt, quote=True)}" loading="lazy">'
    )


def card_text(title: str, tags: Iterable[str]) -> None:
    """Title and short facts under a card's photo."""
    marks = "".join(f'<span class="ll-tag">{escape(tag)}</span>' for tag in tags)
    st.html(f'<p class="ll-card-title">{escape(title)}</p>{marks}')


def item(text: str, hint: str = "") -> None:
    """The wording of a checklist item with how to look for it."""
    below = f'<p class="ll-help">{escape(hint)}</p>' if hint else ""
    st.html(f'<p class="ll-item">{escape(text)}</p>{below}')


def item_with_help(text: str, explain: str, guidance: str, cant_tell_when: str, caution: str) -> None:
    """An item's wording, its trade words explained, and how to look for it behind a line that opens."""
    first = f'<p class="ll-help">{escape(explain)}</p>' if explain else ""
    parts = [
        guidance,
        _("When you can't tell: {when}").format(when=cant_tell_when) if cant_tell_when else "",
        caution,
    ]
    inside = "".join(f"<p>{escape(part)}</p>" for part in parts if part)
    how = f'<details class="ll-how"><summary>{escape(_("How to look"))}</summary>{inside}</details>'
    st.html(f'<p class="ll-item">{escape(text)}</p>{first}{how}')


def evidence(text: str) -> None:
    """A measure shown beside an item: evidence, never the answer."""
    st.html(f'<p class="ll-evidence">{escape(text)}</p>')


def outcome(shape: str, words: str, both: str) -> None:
    """How an answer stands to the key: a shape, words, and both answers."""
    st.html(
        f'<p class="ll-outcome"><span class="ll-shape" aria-hidden="true">{escape(shape)}</span> {escape(words)}'
        f'<span class="ll-both">{escape(both)}</span></p>'
    )


def evidence_pair(name: str, text: str) -> None:
    """A measure of the student's beside the key's."""
    heading = _(plain_name(name))
    st.html(f'<p class="ll-evidence"><b>{escape(heading[:1].upper() + heading[1:])}.</b> {escape(text)}</p>')


def full_picture(url: str, alt: str) -> None:
    """A picture as wide as the page allows, by the address of one of our own routes."""
    st.html(f'<img class="ll-full-picture" src="{escape(url, quote=True)}" alt="{escape(alt, quote=True)}">')


def table(head: Sequence[str], rows: Iterable[Sequence[str]], label: str) -> None:
    """A plain table, first column as row headings; nothing in it can be edited."""
    top = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in head)
    body = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>{"".join(f"<td>{escape(cell)}</td>" for cell in row[1:])}</tr>'
        for row in rows
    )
    named = f'<table class="ll-measures" aria-label="{escape(label, quote=True)}">'
    st.html(f"{named}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>")


def download(url: str, text: str) -> None:
    """A link that saves what one of our own routes sends."""
    st.html(f'<a class="ll-download" href="{escape(url, quote=True)}" download>{escape(text)}</a>')


def way(path: str, text: str) -> None:
    """A link to a page of the door, in this tab."""
    st.html(f'<a class="ll-download" href="{escape(path, quote=True)}" target="_self">{escape(text)}</a>')


def footer() -> None:
    """The line that stands under every page."""
    text = _(
        "This program trains the eye on practice photos. It describes what is seen and measured; it diagnoses nothing and "
        "is no bedside tool: never re-pose, delay or disturb a feed for a photo. If you are worried about a real baby or "
        "mother, stop and get help now: a lactation professional, midwife or doctor, by your local guidance."
    )
    st.html(f'<footer class="ll-foot">{escape(text)}</footer>')
    frame.mount()
