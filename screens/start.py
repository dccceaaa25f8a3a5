"""The first page: what this is, what to mind, and a photo to practise on."""

import streamlit as st

from records.attempt.attempts import AttemptRecord, Order, open_attempts, start_attempt
from records.attempt.handing_in import history
from records.classroom.assignments import for_me
from records.consent.withdrawal import remove_photo, withdraw
from records.photo.photos import PhotoRecord, list_photos
from screens import look, places
from screens.classes import example_offer, my_work
from screens.classes import pieces as class_look
from screens.classes.words import ORDERS
from screens.data import me, store
from screens.ledger.words import after_withdrawing, left_lines
from screens.uploads import adding

_COLUMNS = 3


def show() -> None:
    """Draw the page."""
    st.title("See the latch, see the line")
    if said := st.session_state.pop("said", None):
        st.success(said)
    _class_work()
    about, mind = st.columns([6, 5], gap="large")
    with about:
        look.lede(
            "Practise seeing, on photos, what deep attachment at the breast and a baby in one line look like. You score a "
            "short list of signs by eye, place points, read the angles with how sure they are, score once more, hand in, and "
            "then see how a reference key reads the same photo."
        )
    with mind:
        _content_notice()
    example_offer.offer()
    photos = tuple(
        sorted(list_photos(store(), me()), key=lambda photo: (photo.sample_id is None, photo.sample_id and photo.title))
    )
    st.header("Choose a photo")
    _order_choice()
    if photos:
        _cards(photos)
    else:
        st.info("There is no photo yet. Add one of your own below.")
    st.header("Add a photo of your own")
    adding.show()


def _class_work() -> None:
    """What the person's classes were given, before anything else."""
    still_open = [one for one in for_me(store(), me()) if one.assignment.closed_at is None and not one.left_out]
    if not still_open:
        return
    class_look.apply()
    st.header("Class work")
    for one in still_open:
        with st.container(border=True):
            my_work.summary(one)


def _content_notice() -> None:
    look.notice(
        "Before you begin",
        "The photos show babies at the breast, here dolls at a teaching model. If this touches something that you have "
        "lived, you may stop at any time and need give no reason: close the page, what you saved stays yours.",
    )
    with st.popover("Cautions that go with the subject"):
        st.markdown(
            "- A photo is one instant. It does not show pain, swallowing, breathing, weight or how a feed goes.\n"
            "- Pain that lasts beyond the first half-minute to minute, damaged nipples, few wet nappies, little weight gain, "
            "a sleepy or distressed baby: ask a lactation professional, a midwife or a paediatrician.\n"
            "- Before taking a baby off the breast, break the seal with a clean finger at the corner of the mouth.\n"
            "- Nose and face must stay free. Support head and neck. Do not fall asleep with a baby on a sofa or bed.\n"
            "- Never hold or repeat a pose for a photo. Your local guidance and licensed practice come first."
        )


def _order_choice() -> None:
    st.radio(
        "Order of work",
        [Order.SCORE_FIRST, Order.MEASURE_FIRST],
        format_func=ORDERS.__getitem__,
        horizontal=True,
        key="order",
        help="Numbers seen first steer the eye, so scoring by eye comes first unless your instructor says otherwise.",
    )


def _cards(photos: tuple[PhotoRecord, ...]) -> None:
    alone = [attempt for attempt in open_attempts(store(), me()) if attempt.place is None]
    running = {attempt.photo_id: attempt for attempt in reversed(alone)}
    done: dict[str, int] = {}
    for item in history(store(), me()):
        if item.photo_id is not None and item.place is None:
            done[item.photo_id] = done.get(item.photo_id, 0) + 1
    for at in range(0, len(photos), _COLUMNS):
        row = photos[at : at + _COLUMNS]
        for photo, column in zip(row, st.columns(_COLUMNS), strict=False):
            with column, st.container(border=True, height="stretch"):
                _card(photo, running.get(photo.id), done.get(photo.id, 0))


def _card(photo: PhotoRecord, attempt: AttemptRecord | None, times_done: int) -> None:
    tags = ["doll photo" if photo.kind == "doll" else "consented photo"]
    if photo.sample_id is None:
        tags.append("yours")
    if not photo.has_key:
        tags.append("no key yet")
    if times_done:
        tags.append(f"handed in {times_done} time{'s' if times_done > 1 else ''}")
    if photo.refusal is None:
        look.card_picture(f"/photos/{photo.id}/thumbnail.jpg", f"Photo: {photo.title}")
    look.card_text(photo.title, tags)
    if photo.refusal is not None:
        st.warning(photo.refusal)
    elif attempt is not None:
        if st.button("Go on where you stopped", key=f"resume-{photo.id}", type="primary", width="stretch"):
            places.go("practise", attempt=attempt.id)
    elif st.button("Practise on this photo", key=f"begin-{photo.id}", type="primary", width="stretch"):
        order = st.session_state.get("order", Order.SCORE_FIRST)
        places.go("practise", attempt=start_attempt(store(), me(), photo.id, order).id)
    if photo.sample_id is None:
        _removal(photo)


def _removal(photo: PhotoRecord) -> None:
    with st.popover("Remove", width="stretch"):
        st.write("Picture, points and everything read off it go at once. Your scores stay, without the picture.")
        if st.button("Remove this photo", key=f"remove-{photo.id}"):
            remove_photo(store(), me(), photo.id)
            st.rerun()
        if photo.kind != "doll":
            st.write("A withdrawn consent removes every photo that rests on it.")
            if st.button("The consent was withdrawn", key=f"withdraw-{photo.id}"):
                done = withdraw(store(), me(), photo.consent_id)
                holders = "; ".join(left_lines(done.left))
                told = f" Copies that left before, to be asked back: {holders}." if holders else ""
                st.session_state["said"] = after_withdrawing(done) + told
                st.rerun()
