"""One sign of a key: the answer, what is also accepted, why, where on the photo, and what would settle it."""

from collections.abc import Sequence

import streamlit as st

from rubric.answers import Answer, Settles
from rubric.items import Item
from rubric.scoring import MAX_WHY_CHARACTERS
from screens import look
from screens.editor import EditorValue, Pin, PinItem, landmark_editor
from screens.language import N_, _
from screens.sets.key_desk import KeyDesk, change_answer, keep_answer
from screens.words import ANSWERS, SETTLES
from vision.landmarks import LandmarkSet

_BLANK = N_("Not in the key")


def sign(work: KeyDesk, item: Item, number: int) -> None:
    """Draw one sign; its changes are saved at once."""
    given = work.answers.get(item.id)
    options: list[Answer | None] = [*ANSWERS, None]
    key = _key(work, item, "answer")

    def answered() -> None:
        keep_answer(work, item.id, st.session_state[key])
        work.pin_item = None

    with st.container(border=True, gap="small"):
        title = f"{number}. {_(item.text)}"
        look.item_with_help(title, _(item.explain), _(item.guidance), _(item.cant_tell_when), _(item.caution))
        st.radio(
            title,
            options,
            index=options.index(given.answer) if given else len(options) - 1,
            format_func=lambda one: _(_BLANK) if one is None else ANSWERS[one],
            key=key,
            on_change=answered,
            horizontal=True,
            label_visibility="collapsed",
            disabled=not work.writable,
        )
        if given is not None:
            _rest(work, item, number, given.answer)


def _rest(work: KeyDesk, item: Item, number: int, answer: Answer) -> None:
    given = work.answers[item.id]
    also, why, settles = (_key(work, item, part) for part in ("also", "why", "settles"))
    others = [one for one in ANSWERS if one != answer]
    st.pills(
        _("Also accepted"),
        others,
        selection_mode="multi",
        default=sorted(given.accepted & set(others)),
        format_func=ANSWERS.__getitem__,
        key=f"{also}-{answer}",
        on_change=lambda: change_answer(work, item.id, accepted=frozenset(st.session_state[f"{also}-{answer}"])),
        disabled=not work.writable,
    )
    st.text_area(
        _("Why: what in the photo shows it"),
        value=given.why,
        max_chars=MAX_WHY_CHARACTERS,
        height=80,
        key=why,
        on_change=lambda: change_answer(work, item.id, why=st.session_state[why].strip()),
        disabled=not work.writable,
    )
    if answer == Answer.CANT_TELL:
        choices: list[Settles] = list(SETTLES)
        st.selectbox(
            _("What would settle it"),
            choices,
            index=choices.index(given.settles) if given.settles else None,
            format_func=SETTLES.__getitem__,
            placeholder=_("Choose"),
            key=settles,
            on_change=lambda: change_answer(work, item.id, settles=st.session_state[settles]),
            disabled=not work.writable,
        )
    elif work.writable:
        _where(work, item, number)


def _where(work: KeyDesk, item: Item, number: int) -> None:
    spot = work.answers[item.id].spot
    if work.pin_item == item.id:
        look.quiet(_("Click on the photo where it shows: mark {number}.").format(number=number))
        return
    row = st.container(horizontal=True)
    row.button(
        _("Move the mark") if spot else _("Mark where"),
        key=_key(work, item, "mark"),
        on_click=lambda: setattr(work, "pin_item", item.id),
    )
    if spot:
        row.button(_("Remove the mark"), key=_key(work, item, "unmark"), on_click=_unmark, args=(work, item))


def _unmark(work: KeyDesk, item: Item) -> None:
    change_answer(work, item.id, spot=None)
    work.editor_revision += 1


def photo_with_spots(work: KeyDesk, items: Sequence[Item]) -> None:
    """The photo with a mark for each sign that has a place on it."""
    numbers = {item.id: str(number) for number, item in enumerate(items, start=1)}
    names = {item.id: _(item.text) for item in items}
    pins = {
        item_id: Pin(spot=given.spot, short=numbers[item_id], label=names[item_id])
        for item_id, given in work.answers.items()
        if given.spot is not None and item_id in numbers
    }
    active = work.pin_item if work.pin_item in numbers else None

    def pinned(value: EditorValue) -> None:
        for item_id, spot in value.pins.items():
            before = work.answers.get(item_id)
            if before is not None and before.answer != Answer.CANT_TELL and before.spot != spot:
                change_answer(work, item_id, spot=spot)
                work.pin_item = None

    landmark_editor(
        key=f"key-pins-{work.photo.id}-{work.kind}-{work.generation}",
        photo_url=f"/set-photos/{work.photo.id}/screen.jpg",
        width=work.photo.width,
        height=work.photo.height,
        landmarks=LandmarkSet(),
        revision=work.editor_revision,
        mode="pins" if work.writable else "look",
        ask=(),
        ask_yaw=False,
        pins=pins,
        pin_item=PinItem(id=active, label=names[active], short=numbers[active]) if active else None,
        height_px=520,
        on_edit=pinned,
    )


def _key(work: KeyDesk, item: Item, part: str) -> str:
    return f"{part}-{work.kind}-{work.photo.id}-{item.id}-{work.generation}"
