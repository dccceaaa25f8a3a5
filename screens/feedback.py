"""After handing in: the student's answers, points and measures beside the reference key, sign by sign, at the spot."""

from math import hypot

import streamlit as st

from records.errors import ConsentRefused, NotFound, RecordsError
from records.handing_in import HandedIn, handed_in, history
from records.keys import KeyRecord, key_for, set_key
from records.photos import PhotoRecord, get_photo
from rubric.answers import KeyAnswer, ReferenceKey
from rubric.feedback import Feedback, ItemFeedback, Outcome, compare_with_key
from rubric.measure_feedback import compare_measures, compare_points
from screens import look, places
from screens.data import checklist, me, store
from screens.editor import Pin, landmark_editor
from screens.measuring import evidence_values, from_json
from screens.mind import show_changes
from screens.to_top import to_top
from screens.words import ANSWERS
from vision.compare import point_differences
from vision.landmarks import LANDMARK_NAMES, LandmarkSet
from vision.measures import Measure, face_size, with_default_sigmas

_OUTCOME_WORDS = {
    Outcome.SAME: ("●", "Same as the key"),
    Outcome.ACCEPTED: ("◐", "Also accepted by the key"),
    Outcome.DIFFERS: ("◇", "Differs from the key"),
    Outcome.OVER_CLAIMED: ("△", "You said more than the key finds in the photo"),
    Outcome.UNDER_CLAIMED: ("▽", "The key can tell"),
    Outcome.BLANK: ("–", "You left it blank"),
    Outcome.NOT_IN_KEY: ("·", "The key says nothing"),
}


def show() -> None:
    """Draw the feedback on the attempt that the address names, else on the latest."""
    attempt_id = st.query_params.get("attempt")
    if not attempt_id:
        done = history(store(), me())
        if not done:
            _nothing_yet()
            return
        attempt_id = done[-1].attempt_id
    to_top(attempt_id)
    mine = handed_in(store(), me(), attempt_id)
    st.title(f"Feedback: {mine.photo_title or 'a photo that is no longer here'}")
    look.quiet(f"Handed in on {mine.handed_in_at:%d %B %Y at %H:%M} UTC.")
    if mine.photo_id is None:
        look.notice(
            "The picture is gone", "Its consent ended or it was removed. Your scores stay, without the picture."
        )
        _sheet_only(mine)
        return
    try:
        key = key_for(store(), me(), attempt_id)
    except NotFound:
        _without_key(mine)
        return
    _with_key(mine, key)


def _nothing_yet() -> None:
    st.title("Feedback")
    look.lede(
        "Nothing is handed in yet. Practise on a photo first; when you hand in, you see here how the key reads it."
    )
    if st.button("Choose a photo", type="primary"):
        places.go("start")


def _photo_of(mine: HandedIn) -> PhotoRecord | None:
    try:
        photo = get_photo(store(), me(), mine.photo_id or "")
    except RecordsError:
        return None
    return photo if photo.refusal is None else None


def _with_key(mine: HandedIn, key: KeyRecord) -> None:
    photo = _photo_of(mine)
    size = (photo.width, photo.height) if photo else None
    result = compare_with_key(checklist(), mine.final_sheet, key.key, photo_size=size)
    look.lede(
        f"You and the key both answered {result.n_compared} sign{'' if result.n_compared == 1 else 's'}, and see "
        f"{result.n_same} of them the same. What helps is the reading below, sign by sign; the count is no mark."
    )
    for note in result.notes:
        look.quiet(note)
    picture, signs = st.columns([6, 5], gap="large")
    with picture, st.container(key="photo-side"):
        if photo is None:
            st.warning("This photo may not be shown today.")
        else:
            _pictures(mine, photo, result, key.landmarks)
    with signs:
        _signs(result)
    _mind(mine)
    _measures(mine, key.landmarks)
    _points(mine, key.landmarks)
    _ask()
    _again()


def _pictures(mine: HandedIn, photo: PhotoRecord, result: Feedback, reference: LandmarkSet | None) -> None:
    pins: dict[str, Pin] = {}
    for number, entry in enumerate(result.items, start=1):
        if entry.own is not None and entry.own.spot is not None:
            pins[entry.item.id] = Pin(spot=entry.own.spot, short=str(number), label=f"yours: {entry.item.text}")
        if entry.key is not None and entry.key.spot is not None:
            label = f"the key's: {entry.item.text}"
            pins[f"key-{entry.item.id}"] = Pin(spot=entry.key.spot, short=str(number), label=label, of_reference=True)
    what = st.radio(
        "Show on the photo", ["Marks of the signs", "Points of the measures"], horizontal=True, key="feedback-layer"
    )
    signs = what == "Marks of the signs"
    landmark_editor(
        key=f"feedback-{mine.attempt_id}-{'signs' if signs else 'points'}",
        photo_url=f"/photos/{photo.id}/screen.jpg",
        width=photo.width,
        height=photo.height,
        landmarks=LandmarkSet() if signs else mine.landmarks.get(1, LandmarkSet()),
        reference=None if signs else reference,
        revision=0,
        mode="look",
        ask=(),
        ask_yaw=False,
        pins=pins if signs else {},
        height_px=520,
    )
    look.download(f"/overlays/{mine.attempt_id}/overlay.jpg?download", "Download your overlay")


def _signs(result: Feedback) -> None:
    for number, entry in enumerate(result.items, start=1):
        with st.container(border=True, gap="small"):
            look.item(f"{number}. {entry.item.text}")
            shape, words = _OUTCOME_WORDS[entry.outcome]
            look.outcome(shape, words, _both(entry))
            look.quiet(entry.text)


def _both(entry: ItemFeedback) -> str:
    own = ANSWERS[entry.own.answer] if entry.own else "blank"
    theirs = ANSWERS[entry.key.answer] if entry.key else "–"
    return f"you: {own} · key: {theirs}"


def _mind(mine: HandedIn) -> None:
    if 1 not in mine.sheets or 2 not in mine.sheets:
        return
    st.subheader("Where you changed your mind")
    show_changes(mine.sheets[1], mine.sheets[2])


def _measures(mine: HandedIn, reference: LandmarkSet | None) -> None:
    st.subheader("Your measures beside the key's")
    if reference is None:
        look.quiet("The key's points are no longer here.")
        return
    compared = compare_measures(from_json(mine.measures), evidence_values(reference))
    lines = [entry for entry in compared if (entry.own and entry.own.value is not None) or _known(entry.reference)]
    if not lines:
        look.quiet("Nothing could be measured in this photo, and that can be the point of it.")
    for entry in lines:
        look.evidence_pair(entry.name, entry.text)


def _known(value: object) -> bool:
    return getattr(value, "value", None) is not None


def _points(mine: HandedIn, reference: LandmarkSet | None) -> None:
    own = mine.landmarks.get(1, LandmarkSet())
    if reference is None or not own.points:
        return
    with st.expander("How far each of your points lies from the key's"):
        apart = point_differences(own, reference)
        shares = {name: difference.percent_of_face for name, difference in apart.items()}
        for entry in compare_points(shares, names=LANDMARK_NAMES, sigma_percent=_sigma_percent(own, reference)):
            st.write(entry.text)


def _sigma_percent(own: LandmarkSet, reference: LandmarkSet) -> dict[str, float]:
    """Standard deviation of a coordinate of the difference between both clicks, in percent of face size, where known."""
    face = face_size(reference)
    if not isinstance(face, Measure):
        return {}
    mine, theirs = with_default_sigmas(own).points, with_default_sigmas(reference).points
    both = {name: (mine[name].sigma, theirs[name].sigma) for name in mine.keys() & theirs.keys()}
    return {name: 100 * hypot(a, b) / face.value for name, (a, b) in both.items() if a is not None and b is not None}


def _ask() -> None:
    st.subheader("What this photo cannot show")
    for item in checklist().ask_items():
        look.item(item.text, item.caution)


def _sheet_only(mine: HandedIn) -> None:
    words = {item.id: item.text for item in checklist().items}
    rows = [(words.get(name, name), ANSWERS[given.answer]) for name, given in mine.final_sheet.answers.items()]
    look.table(("Sign", "Your answer"), rows, "Your answers")


def _without_key(mine: HandedIn) -> None:
    look.lede(
        "There is no reference key for this photo yet, so there is nothing to compare with. Here is what you handed in."
    )
    photo = _photo_of(mine)
    if photo is not None:
        look.full_picture(f"/overlays/{mine.attempt_id}/overlay.jpg", "Your points and measures over the photo")
        look.download(f"/overlays/{mine.attempt_id}/overlay.jpg?download", "Download your overlay")
    _sheet_only(mine)
    _mind(mine)
    if photo is not None and photo.sample_id is None:
        _make_key(mine, photo)
    _again()


def _make_key(mine: HandedIn, photo: PhotoRecord) -> None:
    sheet = mine.final_sheet
    if sheet.phase is None or sheet.view is None:
        return
    st.subheader("Make this the reference key")
    look.quiet(
        "If you teach with this photo, your answers and points can become its key. Say for each sign what in the photo shows it."
    )
    with st.form(f"key-{mine.attempt_id}"):
        words = {item.id: item.text for item in checklist().items}
        reasons = {
            name: st.text_input(f"{words.get(name, name)} — {ANSWERS[given.answer]}, because", max_chars=300)
            for name, given in sheet.answers.items()
        }
        if st.form_submit_button("Keep as the key", type="primary"):
            answers = {
                name: KeyAnswer(answer=given.answer, why=reasons[name].strip(), spot=given.spot, settles=given.settles)
                for name, given in sheet.answers.items()
            }
            key = ReferenceKey(phase=sheet.phase, view=sheet.view, answers=answers)
            try:
                set_key(store(), me(), photo.id, key, mine.landmarks.get(1, LandmarkSet()))
            except (RecordsError, ConsentRefused) as error:
                st.error(str(error))
                return
            st.rerun()


def _again() -> None:
    row = st.container(horizontal=True)
    if row.button("Choose another photo", type="primary"):
        places.go("start")
    if row.button("See my progress"):
        places.go("progress")
