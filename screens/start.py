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
from screens.language import N_, _, _n, told
from screens.ledger.words import after_withdrawing, left_lines
from screens.samples import shown_title
from screens.uploads import adding

_COLUMNS = 3


def show() -> None:
    """Draw the page."""
    st.title(_("See the latch, see the line"))
    if said := st.session_state.pop("said", None):
        st.success(said)
    _class_work()
    about, mind = st.columns([6, 5], gap="large")
    with about:
        look.lede(
            _(
                "Practise seeing, on photos, what deep attachment at the breast and a baby in one line look like. You "
                "score a short list of signs by eye, place points, read the angles with how sure they are, score once "
                "more, hand in, and then see the key: how those who teach with the photo read it."
            )
        )
    with mind:
        _content_notice()
    example_offer.offer()
    photos = tuple(
        sorted(list_photos(store(), me()), key=lambda photo: (photo.sample_id is None, photo.sample_id and photo.title))
    )
    st.header(_("Choose a photo"))
    _order_choice()
    if photos:
        _cards(photos)
    else:
        st.info(_("There is no photo yet. Add one of your own below."))
    st.header(_("Add a photo of your own"))
    adding.show()


def _class_work() -> None:
    """What the person's classes were given, before anything else."""
    still_open = [one for one in for_me(store(), me()) if one.assignment.closed_at is None and not one.left_out]
    if not still_open:
        return
    class_look.apply()
    st.header(_("Class work"))
    for one in still_open:
        with st.container(border=True):
            my_work.summary(one)


def _content_notice() -> None:
    look.notice(
        _("Before you begin"),
        _(
            "The photos show babies at the breast, here dolls at a teaching model. If this touches something that "
            "you have lived, you may stop at any time and need give no reason: close the page, what you saved stays "
            "yours."
        ),
    )
    with st.popover(_("Cautions that go with the subject")):
        st.markdown(
            "\n".join(f"- {_(caution)}" for caution in CAUTIONS),
        )


#: What goes with the subject, for whoever is near a real baby; each stands by itself.
CAUTIONS = (
    N_("A photo is one instant. It does not show pain, swallowing, breathing, weight or how a feed goes."),
    N_(
        "Pain that lasts beyond the first half-minute to minute, damaged nipples, few wet nappies, little weight gain, "
        "a sleepy or distressed baby: ask a lactation professional, a midwife or a paediatrician."
    ),
    N_("Before taking a baby off the breast, break the seal with a clean finger at the corner of the mouth."),
    N_("Nose and face must stay free. Support head and neck. Do not fall asleep with a baby on a sofa or bed."),
    N_("Never hold or repeat a pose for a photo. Your local guidance and licensed practice come first."),
)


def _order_choice() -> None:
    st.radio(
        _("Order of work"),
        [Order.SCORE_FIRST, Order.MEASURE_FIRST],
        format_func=lambda order: _(ORDERS[order]),
        horizontal=True,
        key="order",
        help=_(
            "Numbers seen first steer the eye, so scoring by eye comes first unless your instructor says otherwise."
        ),
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
    tags = [_("doll photo") if photo.kind == "doll" else _("consented photo")]
    if photo.sample_id is None:
        tags.append(_("yours"))
    if not photo.has_key:
        tags.append(_("no key yet"))
    if times_done:
        tags.append(_n("handed in {n} time", "handed in {n} times", times_done).format(n=times_done))
    if photo.refusal is None:
        look.card_picture(
            f"/photos/{photo.id}/thumbnail.jpg", _("Photo: {title}").format(title=shown_title(photo.title))
        )
    look.card_text(shown_title(photo.title), tags)
    if photo.refusal is not None:
        st.warning(told(photo.refusal))
    elif attempt is not None:
        if st.button(_("Go on where you stopped"), key=f"resume-{photo.id}", type="primary", width="stretch"):
            places.go("practise", attempt=attempt.id)
    elif st.button(_("Practise on this photo"), key=f"begin-{photo.id}", type="primary", width="stretch"):
        order = st.session_state.get("order", Order.SCORE_FIRST)
        places.go("practise", attempt=start_attempt(store(), me(), photo.id, order).id)
    if photo.sample_id is None:
        _removal(photo)


def _removal(photo: PhotoRecord) -> None:
    with st.popover(_("Remove"), width="stretch"):
        st.write(_("Picture, points and everything read off it go at once. Your scores stay, without the picture."))
        if st.button(_("Remove this photo"), key=f"remove-{photo.id}"):
            remove_photo(store(), me(), photo.id)
            st.rerun()
        if photo.kind != "doll":
            st.write(_("A withdrawn consent removes every photo that rests on it."))
            if st.button(_("The consent was withdrawn"), key=f"withdraw-{photo.id}"):
                done = withdraw(store(), me(), photo.consent_id)
                told = [after_withdrawing(done)]
                if holders := "; ".join(left_lines(done.left)):
                    told.append(_("Copies that left before, to be asked back: {holders}.").format(holders=holders))
                st.session_state["said"] = " ".join(told)
                st.rerun()
