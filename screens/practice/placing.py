"""Placing points and reading the measures: the editor, help from the detectors, a scale, and the blind second round."""

from dataclasses import replace
from math import hypot

import streamlit as st

from records.attempt.attempts import Round, Step
from records.attempt.own_sigma import record_own_sigma
from records.errors import RecordsError
from records.photo.photos import list_photos, read_bytes
from rubric.answers import Phase
from screens import look
from screens.data import me, store
from screens.editor import EditorValue, landmark_editor
from screens.faults import show_fault
from screens.language import _, _n, said
from screens.practice.measuring import ALWAYS_SHOWN, readout, texts, unknown
from screens.practice.own_spread import OwnSpread, own_spread, with_own_spread
from screens.practice.working import Working, keep_points, set_step
from screens.samples import photo_words, shown_title
from screens.warming import spare_models
from vision.detect import Box, add_proposals, default_detector
from vision.errors import InvalidLandmarks, VisionError
from vision.images import read_photo
from vision.landmarks import LANDMARK_IDS, LandmarkSet
from vision.scale import with_ruler

_SCALE = ("scale_a", "scale_b")
_AREOLA = ("areola_above", "areola_below")


def show(work: Working) -> None:
    """Draw the board for the first round, or for the blind second one."""
    if work.step == Step.MEASURE_AGAIN:
        _second_round(work)
        return
    look.quiet(
        _(
            "Click each point where the small drawing shows it, then drag it into place. Hidden behind something? "
            "Place it where it must be and mark it hidden. Nothing here gives you an answer: angles are evidence."
        )
    )
    _board(work, 1)
    if not work.places_twice:
        _repeat(work)


def _asked(work: Working, with_scale: bool) -> list[str]:
    sheet = work.sheets[1]
    left_out = set() if with_scale else set(_SCALE)
    if sheet.phase == Phase.BEFORE:
        left_out |= set(_AREOLA)
    return [name for name in LANDMARK_IDS if name not in left_out]


def _editor_key(work: Working, round: Round) -> str:
    return f"points-{work.attempt_id}-{round}-{work.generation}"


@st.fragment
def _board(work: Working, round: Round) -> None:
    tools = st.container(horizontal=True, vertical_alignment="bottom")
    _detect_tool(tools, work)
    compare = _compare_tool(tools, work)
    length_mm = _scale_tool(tools, work)
    look.quiet(
        _(
            "“Propose points”: models on this computer look for points. They fill in only what you have not placed, and "
            "leave out what they are not sure of; mark the baby's head first where more than one person is in the photo."
        )
    )
    for note in work.notes:
        look.said(_(note))

    def edited(value: EditorValue) -> None:
        work.box = value.box
        keep_points(work, round, _scaled(value.landmarks, length_mm))

    landmark_editor(
        key=_editor_key(work, round),
        photo_url=f"/photos/{work.photo.id}/screen.jpg",
        photo_alt=photo_words(work.title, work.place.slot if work.place else None),
        width=work.photo.width,
        height=work.photo.height,
        landmarks=work.points[round],
        revision=work.editor_revision,
        ask=_asked(work, length_mm is not None),
        readout=lambda landmarks: readout(_scaled(landmarks, length_mm)),
        box=work.box,
        ask_box=True,
        compare_url=f"/photos/{compare}/screen.jpg" if compare else None,
        compare_label=_("Beside: to look at only"),
        on_edit=edited,
    )
    _not_measured(work.points[round])
    show_fault(work)


def _scale_tool(tools: st.delta_generator.DeltaGenerator, work: Working) -> float | None:
    known = tools.checkbox(
        _("Something of known length is in the photo"),
        value=any(name in work.points[1].points for name in _SCALE),
        key=f"scale-{work.attempt_id}",
        help=_(
            "Two marks on a ruler that lies in the plane of the face, for example. Then gaps can be read in "
            "millimetres."
        ),
    )
    if not known:
        return None
    length = tools.number_input(
        _("Length between the marks, mm"), min_value=1.0, max_value=1000.0, value=_length_on_record(work), step=1.0
    )
    return float(length)


def _length_on_record(work: Working) -> float:
    points = work.points[1]
    a, b = points.get("scale_a"), points.get("scale_b")
    if a is None or b is None or points.scale is None:
        return 50.0
    return round(hypot(a.x - b.x, a.y - b.y) * points.scale.mm_per_pixel, 1)


def _scaled(landmarks: LandmarkSet, length_mm: float | None) -> LandmarkSet:
    if length_mm is None:
        return landmarks
    try:
        return with_ruler(landmarks, length_mm)
    except InvalidLandmarks:
        # Until both marks lie apart there is no scale, and the measures in millimetres say so.
        return replace(landmarks, scale=None)


def _compare_tool(tools: st.delta_generator.DeltaGenerator, work: Working) -> str | None:
    others = {
        photo.id: shown_title(photo.title)
        for photo in list_photos(store(), me())
        if photo.id != work.photo.id and not photo.refusal
    }
    if not others:
        return None
    chosen: str | None = tools.selectbox(
        _("Look at another photo beside it"),
        list(others),
        index=None,
        format_func=others.__getitem__,
        placeholder=_("None"),
        key=f"beside-{work.attempt_id}",
        width=320,
    )
    return chosen


def _detect_tool(tools: st.delta_generator.DeltaGenerator, work: Working) -> None:
    # What it does stands below the row: a help that opens over a button hides the labels beside it.
    if tools.button(_("Propose points"), key=f"propose-{work.attempt_id}"):
        with st.spinner(_("Looking for points; the first time the models load, which takes some seconds")):
            _propose(work)
        st.rerun(scope="fragment")


def _propose(work: Working) -> None:
    try:
        photo = read_photo(read_bytes(store(), me(), work.photo.id, "full"))
        head = Box(x=work.box[0], y=work.box[1], width=work.box[2], height=work.box[3]) if work.box else None
        found = default_detector().detect(photo.pixels, head)
        spare_models()
    except (VisionError, RecordsError) as error:
        work.notes = (said(error),)
        return
    before = work.points[1]
    after = add_proposals(before, found.landmarks)
    n_new = len(after.points) - len(before.points)
    work.notes = (
        _n(
            "{n} point proposed; check each one and drag it where it belongs.",
            "{n} points proposed; check each one and drag it where it belongs.",
            n_new,
        ).format(n=n_new),
        *found.notes,
    )
    if after != before:
        keep_points(work, 1, after, by_python=True)


def _not_measured(landmarks: LandmarkSet) -> None:
    rest = [line for name, line in texts(landmarks).items() if name not in ALWAYS_SHOWN and unknown(line)]
    look.quiet(
        _(
            "In brackets: the range in which the value lies 95 times out of 100, given how sure the points are. "
            "Wide, medium and narrow are teaching conventions that a school may edit, not findings."
        )
    )
    if rest:
        with st.expander(_("What is not measured yet, and why")):
            for line in rest:
                st.write(_(line))


def _repeat(work: Working) -> None:
    with st.expander(_("How repeatably do you click? Place the points a second time, blind")):
        look.quiet(
            _(
                "You place the same points again without seeing the first ones. The difference gives your own spread, "
                "which then takes the place of the assumed one. It says how repeatable you are, not how near the truth."
            )
        )
        if work.points[1].points:
            st.button(_("Begin the blind round"), on_click=set_step, args=(work, Step.MEASURE_AGAIN))
        else:
            look.quiet(_("Place the points once first."))


def _second_round(work: Working) -> None:
    if not work.points[1].points:
        look.quiet(_("You placed no point in this photo, so there is none to place again. Go on."))
        return
    look.quiet(_("Blind round: place the same points again. Your first ones are hidden until you finish."))

    def edited(value: EditorValue) -> None:
        keep_points(work, 2, value.landmarks)

    landmark_editor(
        key=_editor_key(work, 2),
        photo_url=f"/photos/{work.photo.id}/screen.jpg",
        photo_alt=photo_words(work.title, work.place.slot if work.place else None),
        width=work.photo.width,
        height=work.photo.height,
        landmarks=work.points[2],
        revision=work.editor_revision,
        ask=[name for name in LANDMARK_IDS if name in work.points[1].points],
        ask_yaw=False,
        blind=True,
        on_edit=edited,
    )
    show_fault(work)
    if work.places_twice:
        return
    row = st.container(horizontal=True)
    row.button(_("Back without finishing"), on_click=set_step, args=(work, Step.MEASURE))
    row.button(_("Finish the blind round"), type="primary", on_click=finish_second_round, args=(work, Step.MEASURE))


def finish_second_round(work: Working, then: Step) -> None:
    """Take the spread of both rounds for the ranges and go to a step; where there is no spread, say why."""
    spread = own_spread(work.points[1], work.points[2])
    if isinstance(spread, OwnSpread):
        if spread.percent_of_face is not None and not work.preview:
            record_own_sigma(
                store(),
                me(),
                sigma_percent=spread.percent_of_face,
                n_points=spread.n_points,
                attempt_id=work.attempt_id,
            )
        keep_points(work, 1, with_own_spread(work.points[1], spread), by_python=True)
        work.notes = (spread.text,)
    else:
        work.notes = (spread,)
    set_step(work, then)
