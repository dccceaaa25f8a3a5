"""One piece of work beside the reference key: photo, signs, measures, points. For its maker, and for whoever reviews it."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from math import hypot

import streamlit as st

from records.attempt.handing_in import HandedIn
from records.classroom.reviews import Comment
from records.consent.consents import Scope
from records.errors import RecordsError
from records.key.keys import KeyRecord
from records.key.panel_keys import parted_by_slot, parted_signs
from records.photo.photos import PhotoRecord, check_use, get_photo
from rubric.feedback import Feedback, ItemFeedback, Outcome, compare_with_key
from rubric.measure_feedback import STUDENTS, YOUR, compare_measures, compare_points
from rubric.scoring import changes
from screens import look
from screens.classes import pieces as class_look
from screens.data import checklist, me, store
from screens.editor import Pin, landmark_editor
from screens.language import N_, _
from screens.local_time import moment_words
from screens.practice.measuring import evidence_values, stored_values
from screens.practice.mind import show_changes
from screens.samples import photo_words
from screens.words import ANSWERS
from vision.compare import point_differences
from vision.landmarks import LANDMARK_NAMES, LandmarkSet
from vision.measures import Measure, face_size, with_default_sigmas


@dataclass(frozen=True, kw_only=True)
class Reader:
    """Who reads: the maker of the work, or someone who reviews it."""

    own: bool


MAKER = Reader(own=True)
REVIEWER = Reader(own=False)

_SHAPES = {
    Outcome.SAME: "●",
    Outcome.ACCEPTED: "◐",
    Outcome.DIFFERS: "◇",
    Outcome.OVER_CLAIMED: "△",
    Outcome.UNDER_CLAIMED: "▽",
    Outcome.BLANK: "–",
    Outcome.NOT_IN_KEY: "·",
    Outcome.PARTED: "≈",
}
_TO_MAKER = {
    Outcome.SAME: N_("Same as the key"),
    Outcome.ACCEPTED: N_("Also accepted by the key"),
    Outcome.DIFFERS: N_("Differs from the key"),
    Outcome.OVER_CLAIMED: N_("You said more than the key finds in the photo"),
    Outcome.UNDER_CLAIMED: N_("You said “can't tell”, the key can tell"),
    Outcome.BLANK: N_("You left it blank"),
    Outcome.NOT_IN_KEY: N_("The key says nothing"),
    Outcome.PARTED: N_("Experts read this sign differently: not compared"),
}
_TO_REVIEWER = {
    **_TO_MAKER,
    Outcome.OVER_CLAIMED: N_("Said more than the key finds in the photo"),
    Outcome.UNDER_CLAIMED: N_("Said “can't tell”, the key can tell"),
    Outcome.BLANK: N_("Left blank"),
}


_SIGNS, _POINTS = N_("Marks of the signs"), N_("Points of the measures")


def photo_of(work: HandedIn) -> PhotoRecord | None:
    """The photo of a piece of work, where the reader may see it today."""
    if work.photo_id is None:
        return None
    try:
        check_use(store(), me(), work.photo_id, Scope.OWN_PRACTICE)
        return get_photo(store(), me(), work.photo_id)
    except RecordsError:
        return None


def compared(work: HandedIn, key: KeyRecord, photo: PhotoRecord | None, reader: Reader = MAKER) -> Feedback:
    """The answers that count beside the key's."""
    size = (photo.width, photo.height) if photo else None
    return compare_with_key(checklist(), work.final_sheet, key.key, photo_size=size, disputed=_parted(work, reader))


def _parted(work: HandedIn, reader: Reader) -> Collection[str]:
    """The signs on which experts part: for the maker by photo, for a reviewer by the place in the work."""
    if reader.own:
        return parted_signs(store(), me()).get(work.photo_id or "", frozenset())
    if work.place is None:
        return ()
    return parted_by_slot(store(), me(), work.place.assignment_id).get(work.place.slot, frozenset())


def side_by_side(
    work: HandedIn,
    key: KeyRecord,
    photo: PhotoRecord | None,
    result: Feedback,
    reader: Reader,
    *,
    comments: Sequence[Comment] = (),
    below_sign: Callable[[str], None] | None = None,
) -> None:
    """Photo on the left, signs on the right, and under them changes of mind, measures and points."""
    picture, signs = st.columns([6, 5], gap="large")
    with picture, st.container(key="photo-side"):
        if photo is None:
            st.warning(_("This photo may not be shown today."))
        else:
            _picture(work, photo, result, key.landmarks, reader)
    with signs:
        for number, entry in enumerate(result.items, start=1):
            _sign(number, entry, reader, comments, below_sign)
    if 1 in work.sheets and 2 in work.sheets:
        st.subheader(_("Where you changed your mind") if reader.own else _("Changes of mind"))
        if reader.own or changes(work.sheets[1], work.sheets[2]):
            show_changes(work.sheets[1], work.sheets[2])
        else:
            look.quiet(_("All first answers were kept."))
    _measures(work, key.landmarks, reader)
    _points(work, key.landmarks, reader)


def _picture(
    work: HandedIn, photo: PhotoRecord, result: Feedback, reference: LandmarkSet | None, reader: Reader
) -> None:
    pins: dict[str, Pin] = {}
    for number, entry in enumerate(result.items, start=1):
        if entry.own is not None and entry.own.spot is not None:
            pins[entry.item.id] = Pin(spot=entry.own.spot, short=str(number), label=_own_mark(entry, reader))
        if entry.key is not None and entry.key.spot is not None:
            label = _("the key's: {sign}").format(sign=_(entry.item.text))
            pins[f"key-{entry.item.id}"] = Pin(spot=entry.key.spot, short=str(number), label=label, of_reference=True)
    what = st.radio(
        _("Show on the photo"),
        [_SIGNS, _POINTS],
        format_func=_,
        horizontal=True,
        key="feedback-layer",
    )
    signs = what == _SIGNS
    landmark_editor(
        key=f"feedback-{work.attempt_id}-{'signs' if signs else 'points'}",
        photo_url=f"/photos/{photo.id}/screen.jpg",
        photo_alt=photo_words(photo.title, work.place.slot if work.place else None),
        width=photo.width,
        height=photo.height,
        landmarks=LandmarkSet() if signs else work.landmarks.get(1, LandmarkSet()),
        reference=None if signs else reference,
        revision=0,
        mode="look",
        ask=(),
        ask_yaw=False,
        pins=pins if signs else {},
        whose="you" if reader.own else "student",
        height_px=520,
    )
    if reader.own:
        look.download(
            f"/overlays/{work.attempt_id}/overlay.jpg?download", _("Save the photo with your points and measures")
        )


def _own_mark(entry: ItemFeedback, reader: Reader) -> str:
    text = _("yours: {sign}") if reader.own else _("the student's: {sign}")
    return text.format(sign=_(entry.item.text))


def _sign(
    number: int,
    entry: ItemFeedback,
    reader: Reader,
    comments: Sequence[Comment],
    below: Callable[[str], None] | None,
) -> None:
    with st.container(border=True, gap="small"):
        look.item(f"{number}. {_(entry.item.text)}")
        words = _((_TO_MAKER if reader.own else _TO_REVIEWER)[entry.outcome])
        look.outcome(_SHAPES[entry.outcome], words, _both(entry, reader))
        look.quiet(_(entry.text) if reader.own else _why(entry))
        show_comments([one for one in comments if one.item_id == entry.item.id])
        if below is not None:
            below(entry.item.id)


def _why(entry: ItemFeedback) -> str:
    return _("The key: {why}").format(why=_(entry.key.why)) if entry.key and entry.key.why else ""


def _both(entry: ItemFeedback, reader: Reader) -> str:
    own = ANSWERS[entry.own.answer] if entry.own else _("blank")
    theirs = ANSWERS[entry.key.answer] if entry.key else "–"
    text = _("you: {own} · key: {theirs}") if reader.own else _("student: {own} · key: {theirs}")
    return text.format(own=own, theirs=theirs)


def show_comments(comments: Sequence[Comment], *, name_signs: bool = False) -> None:
    """Comments one below the other, each with who wrote it and when; with the sign where that does not stand above."""
    signs = {item.id: _(item.text) for item in checklist().items} if name_signs else {}
    for one in comments:
        point = _(LANDMARK_NAMES.get(one.landmark_id, one.landmark_id)) if one.landmark_id else None
        about = point or (f"“{signs[one.item_id]}”" if one.item_id in signs else None)
        text = _("{name} on {about}, {when}") if about else _("{name}, {when}")
        class_look.comment(text.format(name=one.by, about=about, when=moment_words(one.written_at)), one.text)


def _measures(work: HandedIn, reference: LandmarkSet | None, reader: Reader) -> None:
    st.subheader(_("Your measures beside the key's") if reader.own else _("Measures beside the key's"))
    if reference is None:
        look.quiet(_("The key's points are no longer here."))
        return
    own = stored_values(work.measures, work.landmarks.get(1, LandmarkSet()))
    both = compare_measures(own, evidence_values(reference), whose=_whose(reader))
    lines = [entry for entry in both if (entry.own and entry.own.value is not None) or _known(entry.reference)]
    if not lines:
        look.quiet(_("Nothing could be measured in this photo, and that can be the point of it."))
    for entry in lines:
        look.evidence_pair(entry.name, _(entry.text))


def _whose(reader: Reader) -> str:
    return YOUR if reader.own else STUDENTS


def _known(value: object) -> bool:
    return getattr(value, "value", None) is not None


def _points(work: HandedIn, reference: LandmarkSet | None, reader: Reader) -> None:
    own = work.landmarks.get(1, LandmarkSet())
    if reference is None or not own.points:
        return
    yours, theirs = (
        _("How far each of your points lies from the key's"),
        _("How far each of the student's points lies from the key's"),
    )
    with st.expander(yours if reader.own else theirs):
        apart = point_differences(own, reference)
        shares = {name: difference.percent_of_face for name, difference in apart.items()}
        sigmas = _sigma_percent(own, reference)
        for entry in compare_points(shares, names=LANDMARK_NAMES, sigma_percent=sigmas, whose=_whose(reader)):
            st.write(_(entry.text))


def _sigma_percent(own: LandmarkSet, reference: LandmarkSet) -> dict[str, float]:
    """Standard deviation of a coordinate of the difference between both clicks, in percent of face size, where known."""
    face = face_size(reference)
    if not isinstance(face, Measure):
        return {}
    mine, theirs = with_default_sigmas(own).points, with_default_sigmas(reference).points
    both = {name: (mine[name].sigma, theirs[name].sigma) for name in mine.keys() & theirs.keys()}
    return {name: 100 * hypot(a, b) / face.value for name, (a, b) in both.items() if a is not None and b is not None}


def answers_only(work: HandedIn, reader: Reader = MAKER) -> None:
    """The answers without a key beside them."""
    words = {item.id: _(item.text) for item in checklist().items}
    rows = [(words.get(name, name), ANSWERS[given.answer]) for name, given in work.final_sheet.answers.items()]
    head, label = (_("Your answer"), _("Your answers")) if reader.own else (_("Answer"), _("Answers"))
    look.table((_("Sign"), head), rows, label)
