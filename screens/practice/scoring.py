"""Scoring the checklist: phase and view first, then only the signs that apply, each with where it is seen."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import groupby
from typing import Any

import streamlit as st

from records.attempt.attempts import Order, Round
from rubric.answers import Answer, AnswerSheet, Settles
from rubric.evidence import EvidenceValue, evidence_for
from rubric.items import Item
from screens import look
from screens.data import checklist
from screens.editor import EditorValue, Pin, PinItem, landmark_editor
from screens.faults import show_fault
from screens.language import _
from screens.practice.measuring import evidence_values
from screens.practice.working import Working, answer, change_answer, keep_sheet
from screens.samples import photo_words
from screens.words import ANSWERS, PHASES, SETTLES, VIEWS
from vision.landmarks import LandmarkSet


def show(work: Working, round: Round) -> None:
    """Draw the panel; its changes rerun only itself."""
    if round == 2:
        look.quiet(
            _("Your first answers are kept. Look again, now with the measures beside the signs that they bear on.")
        )
    elif work.first_look_closed:
        look.quiet(
            _(
                "Your first look is closed, because it is the one made before measuring. Change your mind in the step "
                "“Score again”."
            )
        )
    _panel(work, round)


@st.fragment
def _panel(work: Working, round: Round) -> None:
    measured = round == 2 or work.order == Order.MEASURE_FIRST
    values = evidence_values(work.points[1]) if measured else None
    photo, signs = st.columns([6, 5], gap="large")
    with signs:
        show_fault(work)
        _phase_and_view(work, round)
    sheet = work.sheets[round]
    items = checklist().items_for(sheet.phase, sheet.view) if sheet.phase and sheet.view else ()
    with photo, st.container(key="photo-side"):
        _photo(work, round, items)
    with signs:
        if not items:
            look.quiet(
                _(
                    "Say first when the photo was taken and from where; then the signs that such a photo can show appear "
                    "here."
                )
            )
            return
        _progress(sheet, items)
        number = 0
        for group, members in groupby(items, key=lambda item: item.group):
            st.subheader(_(group))
            for item in members:
                number += 1
                _item(work, round, item, number, values)
        _ask()


def _progress(sheet: AnswerSheet, items: tuple[Item, ...]) -> None:
    done = sum(item.id in sheet.answers for item in items)
    st.progress(done / len(items), text=_("{n} of {total} signs answered").format(n=done, total=len(items)))


def _key(work: Working, round: Round, name: str) -> str:
    return f"{name}-{work.attempt_id}-{round}-{work.generation}"


def _phase_and_view(work: Working, round: Round) -> None:
    _say(
        work,
        round,
        "phase",
        _("When was it taken?"),
        PHASES,
        _("The latch is the moment in which the baby takes the breast."),
    )
    _say(
        work,
        round,
        "view",
        _("From where?"),
        VIEWS,
        _("Side means square to the baby's own side, not beside the adult."),
    )


def _say(work: Working, round: Round, part: str, question: str, words: Mapping[Any, str], explained: str) -> None:
    """Ask for one part of the sheet, phase or view."""
    key, options = _key(work, round, part), list(words)
    said = getattr(work.sheets[round], part)

    def changed() -> None:
        changes: dict[str, Any] = {part: st.session_state[key]}
        keep_sheet(work, round, replace(work.sheets[round], **changes))

    st.radio(
        question,
        options,
        index=options.index(said) if said else None,
        format_func=words.__getitem__,
        key=key,
        on_change=changed,
        disabled=work.closed(round),
        help=explained,
    )


def _item(work: Working, round: Round, item: Item, number: int, values: Mapping[str, EvidenceValue] | None) -> None:
    sheet = work.sheets[round]
    given = sheet.answers.get(item.id)
    options = list(ANSWERS)

    def changed() -> None:
        chosen = st.session_state[_key(work, round, item.id)]
        keep_sheet(work, round, answer(work.sheets[round], item.id, chosen))
        work.pin_item = item.id if chosen in (Answer.SEEN, Answer.NOT_SEEN) else None

    with st.container(border=True, gap="small"):
        title = f"{number}. {_(item.text)}"
        look.item_with_help(title, _(item.explain), _(item.guidance), _(item.cant_tell_when), _(item.caution))
        if values is not None:
            for line in evidence_for(item, values, checklist()):
                look.evidence(_(line.text))
        st.radio(
            title,
            options,
            index=options.index(given.answer) if given else None,
            format_func=ANSWERS.__getitem__,
            key=_key(work, round, item.id),
            on_change=changed,
            horizontal=True,
            label_visibility="collapsed",
            disabled=work.closed(round),
        )
        if work.closed(round):
            return
        if given is not None and given.answer == Answer.CANT_TELL:
            _settles(work, round, item)
        elif given is not None:
            _where(work, round, item, number)


def _where(work: Working, round: Round, item: Item, number: int) -> None:
    given = work.sheets[round].answers[item.id]
    if work.pin_item == item.id and given.spot is None:
        look.to_the_photo(
            _("Click on the photo where you looked: mark {number}. Or go on without.").format(number=number)
        )
        return
    row = st.container(horizontal=True)
    label = _("Move the mark") if given.spot else _("Mark where")
    if row.button(label, key=_key(work, round, f"mark-{item.id}"), help=_("Then click on the photo.")):
        work.pin_item = item.id
        st.rerun(scope="fragment")
    if given.spot and row.button(_("Remove the mark"), key=_key(work, round, f"unmark-{item.id}")):
        keep_sheet(work, round, change_answer(work.sheets[round], item.id, spot=None))
        work.editor_revision += 1
        st.rerun(scope="fragment")


def _settles(work: Working, round: Round, item: Item) -> None:
    given = work.sheets[round].answers[item.id]
    options: list[Settles] = list(SETTLES)
    key = _key(work, round, f"settles-{item.id}")

    def changed() -> None:
        keep_sheet(work, round, change_answer(work.sheets[round], item.id, settles=st.session_state[key]))

    st.selectbox(
        _("What would settle it?"),
        options,
        index=options.index(given.settles) if given.settles else None,
        format_func=SETTLES.__getitem__,
        key=key,
        on_change=changed,
        placeholder=_("Choose, if you like"),
    )


def _photo(work: Working, round: Round, items: tuple[Item, ...]) -> None:
    numbers = {item.id: str(at) for at, item in enumerate(items, start=1)}
    texts = {item.id: _(item.text) for item in items}
    sheet = work.sheets[round]
    pins = {
        name: Pin(spot=given.spot, short=numbers[name], label=texts[name])
        for name, given in sheet.answers.items()
        if given.spot is not None and name in numbers
    }
    active = work.pin_item if work.pin_item in numbers else None

    def pinned(value: EditorValue) -> None:
        kept = work.sheets[round]
        for name, spot in value.pins.items():
            before = kept.answers.get(name)
            if before is not None and before.answer != Answer.CANT_TELL:
                kept = change_answer(kept, name, spot=spot)
        if kept != work.sheets[round]:
            keep_sheet(work, round, kept)
            work.pin_item = None

    landmark_editor(
        key=_key(work, round, "pins"),
        photo_url=f"/photos/{work.photo.id}/screen.jpg",
        photo_alt=photo_words(work.title, work.place.slot if work.place else None),
        width=work.photo.width,
        height=work.photo.height,
        landmarks=LandmarkSet(),
        revision=work.editor_revision,
        mode="look" if work.closed(round) else "pins",
        ask=(),
        ask_yaw=False,
        pins=pins,
        pin_item=PinItem(id=active, label=texts[active], short=numbers[active]) if active else None,
        height_px=560,
        on_edit=pinned,
    )


def _ask() -> None:
    with st.expander(_("What no photo can show: ask about it")):
        for item in checklist().ask_items():
            look.item(_(item.text), " ".join(_(part) for part in (item.guidance, item.caution) if part))
