"""For the whole room: the class's spread on one photo, sign by sign. Sums only, and nothing for fewer than five."""

from html import escape

import streamlit as st

from rubric.answers import Answer
from rubric.reports.tables import item_words
from rubric.review.table import ANSWERS, BLANK, AnswerSpread, answer_spread
from rubric.words import ANSWER_WORDS
from screens import look, places
from screens.classes import pieces as class_look
from screens.data import checklist, me, store
from screens.language import _
from screens.review import before_after as review_before_after
from screens.review.work import ReviewedWork, reviewed, without_names
from screens.to_top import to_top

#: Shape and direction of the hatching tell the answers apart where colour does not.
_MARKS = {Answer.SEEN: ("●", "#1B6B72"), Answer.NOT_SEEN: ("○", "#A5552A"), Answer.CANT_TELL: ("?", "#6C6478")}

_PART = "color:#fff;padding:.35rem .2rem;text-align:center;white-space:nowrap;min-width:2.2rem"


def show() -> None:
    """Draw the photo that the address names, and the spread of the answers to it."""
    class_look.apply()
    asked = st.query_params.get("work")
    if not asked:
        places.go("classes")
    work = without_names(reviewed(store(), me(), asked or "", checklist()))
    photos = list(work.slots)
    if not photos:
        st.info(_("Nothing in this work has a key."))
        return
    photo = st.query_params.get("photo", photos[0])
    photo = photo if photo in photos else photos[0]
    to_top(f"projector {work.assignment.id} {photo}")
    _steps(work, photos, photo)
    left, right = st.columns([1, 1], gap="large")
    slot = work.slots[photo]
    with left:
        st.title(_("Photo {photo}").format(photo=photo))
        if slot.photo_id is None:
            look.quiet(_("The photo is no longer here."))
        else:
            look.full_picture(f"/photos/{slot.photo_id}/screen.jpg", work.photo_name(photo))
    with right:
        _signs(work, photo)
    with st.expander(_("Before and after")):
        review_before_after.show(work)
    if st.button(_("Back to the review")):
        places.go("review", work=work.assignment.id)


def _steps(work: ReviewedWork, photos: list[str], photo: str) -> None:
    at = photos.index(photo)
    with st.container(horizontal=True, horizontal_alignment="distribute"):
        if st.button(_("Photo before"), disabled=at == 0):
            places.go("projector", work=work.assignment.id, photo=photos[at - 1])
        st.toggle(_("Show the key"), key=f"projector-key-{photo}", help=_("Let the room argue first."))
        if st.button(_("Next photo"), disabled=at + 1 == len(photos)):
            places.go("projector", work=work.assignment.id, photo=photos[at + 1])


def _signs(work: ReviewedWork, photo: str) -> None:
    table = work.review.table
    with_key = bool(st.session_state.get(f"projector-key-{photo}"))
    place = table.key.photos.index(photo)
    asked = [item for at, item in enumerate(table.key.items) if table.key.answers[place, at] != BLANK]
    sign = st.query_params.get("sign", "")
    chosen = st.selectbox(
        _("Sign"), ["", *asked], index=asked.index(sign) + 1 if sign in asked else 0,
        format_func=lambda item: _(item_words(checklist(), item)) if item else _("All signs"), key=f"projector-sign-{photo}",
    )  # fmt: skip
    for item in [chosen] if chosen else asked:
        at = table.key.items.index(item)
        key = ANSWERS[int(table.key.answers[place, at])] if with_key else None
        parted = with_key and bool(table.key.disputed[place, at])
        _spread(_(item_words(checklist(), item)), answer_spread(table, photo, item), key, parted=parted)


def _spread(words: str, spread: AnswerSpread, key: Answer | None, *, parted: bool) -> None:
    look.item(words)
    if spread.counts is None:
        look.quiet(_("{n} answered; {reason}.").format(n=spread.n, reason=_(spread.reason or "")))
        return
    parts, told = [], []
    for answer, count in spread.counts.items():
        mark, colour = _MARKS[answer]
        told.append(f"{mark} {_(ANSWER_WORDS[answer])}: {count}")
        if count:
            parts.append(f'<span style="flex:{count};background:{colour};{_PART}">{mark} {count}</span>')
    said = escape(", ".join(told), quote=True)
    st.html(
        f'<div role="img" aria-label="{said}" style="display:flex;font-size:1.25rem;border-radius:.4rem;overflow:hidden">'
        f"{''.join(parts)}</div><p class='ll-help'>{said}</p>"
    )
    if key is not None:
        aside = " " + _("The experts part here, so both can be argued.") if parted else ""
        look.evidence(
            _("The key: {mark} {answer}.{aside}").format(mark=_MARKS[key][0], answer=_(ANSWER_WORDS[key]), aside=aside)
        )
