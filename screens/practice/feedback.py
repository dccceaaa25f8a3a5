"""After handing in: the student's answers, points and measures beside the reference key, sign by sign, at the spot."""

import streamlit as st

from records.attempt.handing_in import HandedIn, handed_in, history
from records.classroom.reviews import Comment, comments_on
from records.errors import ConsentRefused, NotFound, RecordsError
from records.key.keys import key_for, key_waits, set_key
from records.photo.photos import PhotoRecord
from rubric.answers import KeyAnswer, ReferenceKey
from screens import look, places
from screens.classes import pieces as class_look
from screens.classes.feedback import next_in_class
from screens.classes.words import moment
from screens.data import checklist, me, store
from screens.language import _, _n, said, told
from screens.practice import beside_key
from screens.practice.mind import show_changes
from screens.samples import shown_title
from screens.to_top import to_top
from screens.words import ANSWERS
from vision.landmarks import LandmarkSet


def show() -> None:
    """Draw the feedback on the attempt that the address names, else on the latest."""
    class_look.apply()
    attempt_id = st.query_params.get("attempt")
    if not attempt_id:
        done = history(store(), me())
        if not done:
            _nothing_yet()
            return
        attempt_id = done[-1].attempt_id
    to_top(attempt_id)
    mine = handed_in(store(), me(), attempt_id)
    st.title(_title(mine))
    look.quiet(_("Handed in {moment}.").format(moment=moment(mine.handed_in_at)))
    if mine.place is not None:
        next_in_class(mine.place)
    comments = comments_on(store(), me(), attempt_id)
    if mine.photo_id is None:
        look.notice(
            _("The picture is gone"), _("Its consent ended or it was removed. Your scores stay, without the picture.")
        )
        _general(comments, everything=True)
        beside_key.answers_only(mine)
        return
    waits = key_waits(store(), me(), attempt_id)
    if waits is not None:
        _before_the_key(mine, waits, comments)
        return
    _with_or_without_key(mine, comments)


def _title(mine: HandedIn) -> str:
    if mine.place is not None:
        return _("Feedback: photo {slot} of {n_slots}").format(slot=mine.place.slot, n_slots=mine.place.n_slots)
    return _("Feedback: {photo}").format(
        photo=shown_title(mine.photo_title) if mine.photo_title else _("a photo that is no longer here")
    )


def _nothing_yet() -> None:
    st.title(_("Feedback"))
    look.lede(
        _("Nothing is handed in yet. Practise on a photo first; when you hand in, you see here how the key reads it.")
    )
    if st.button(_("Choose a photo"), type="primary"):
        places.go("start")


def _before_the_key(mine: HandedIn, waits: str, comments: tuple[Comment, ...]) -> None:
    look.lede(_("Your work is handed in. {waits}").format(waits=told(waits)))
    _general(comments, everything=True)
    _own_work(mine, beside_key.photo_of(mine))


def _general(comments: tuple[Comment, ...], *, everything: bool = False) -> None:
    """Comments that stand by no sign, or all of them where no signs are shown."""
    shown = [one for one in comments if everything or one.item_id is None]
    if shown:
        st.subheader(_("From your instructor"))
        beside_key.show_comments(shown, name_signs=True)


def _with_or_without_key(mine: HandedIn, comments: tuple[Comment, ...]) -> None:
    photo = beside_key.photo_of(mine)
    try:
        key = key_for(store(), me(), mine.attempt_id)
    except NotFound:
        _without_key(mine, photo, comments)
        return
    result = beside_key.compared(mine, key, photo)
    look.lede(
        _n(
            "You and the key both answered {n} sign, and see {n_same} of them the same. What helps is the reading below, "
            "sign by sign; the count is no mark.",
            "You and the key both answered {n} signs, and see {n_same} of them the same. What helps is the reading below, "
            "sign by sign; the count is no mark.",
            result.n_compared,
        ).format(n=result.n_compared, n_same=result.n_same)
    )
    for note in result.notes:
        look.quiet(_(note))
    read = {entry.item.id for entry in result.items}
    _general(tuple(one for one in comments if one.item_id not in read))
    beside_key.side_by_side(mine, key, photo, result, beside_key.MAKER, comments=comments)
    _ask()
    _again(mine)


def _ask() -> None:
    st.subheader(_("What this photo cannot show"))
    for item in checklist().ask_items():
        look.item(_(item.text), _(item.caution))


def _own_work(mine: HandedIn, photo: PhotoRecord | None) -> None:
    if photo is not None and mine.landmarks.get(1, LandmarkSet()).points:
        look.full_picture(f"/overlays/{mine.attempt_id}/overlay.jpg", _("Your points and measures over the photo"))
        look.download(
            f"/overlays/{mine.attempt_id}/overlay.jpg?download", _("Save the photo with your points and measures")
        )
    beside_key.answers_only(mine)
    if 1 in mine.sheets and 2 in mine.sheets:
        st.subheader(_("Where you changed your mind"))
        show_changes(mine.sheets[1], mine.sheets[2])


def _without_key(mine: HandedIn, photo: PhotoRecord | None, comments: tuple[Comment, ...]) -> None:
    look.lede(_("There is no key for this photo yet, so there is nothing to compare with. Here is what you handed in."))
    _general(comments, everything=True)
    _own_work(mine, photo)
    if mine.place is None and photo is not None and photo.sample_id is None:
        _make_key(mine, photo)
    _again(mine)


def _make_key(mine: HandedIn, photo: PhotoRecord) -> None:
    sheet = mine.final_sheet
    if sheet.phase is None or sheet.view is None:
        return
    st.subheader(_("Make this the key"))
    look.quiet(
        _(
            "If you teach with this photo, your answers and points can become its key. Say for each sign what in the "
            "photo shows it."
        )
    )
    with st.form(f"key-{mine.attempt_id}"):
        words = {item.id: _(item.text) for item in checklist().items}
        reasons = {
            name: st.text_input(
                _("{sign} {answer}, because").format(sign=words.get(name, name), answer=ANSWERS[given.answer]),
                max_chars=300,
            )
            for name, given in sheet.answers.items()
        }
        if st.form_submit_button(_("Keep as the key"), type="primary"):
            answers = {
                name: KeyAnswer(answer=given.answer, why=reasons[name].strip(), spot=given.spot, settles=given.settles)
                for name, given in sheet.answers.items()
            }
            key = ReferenceKey(phase=sheet.phase, view=sheet.view, answers=answers)
            try:
                set_key(store(), me(), photo.id, key, mine.landmarks.get(1, LandmarkSet()))
            except (RecordsError, ConsentRefused) as error:
                st.error(said(error))
                return
            st.rerun()


def _again(mine: HandedIn) -> None:
    row = st.container(horizontal=True)
    if mine.place is None and row.button(_("Choose another photo"), type="primary"):
        places.go("start")
    if mine.place is not None and row.button(_("All photos of this work")):
        places.go("my-work", work=mine.place.assignment_id)
    if row.button(_("See my progress")):
        places.go("progress")
