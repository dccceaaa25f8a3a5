"""The main job on one photo: score by eye, place points and measure, score again, hand in."""

import streamlit as st

from records.attempt.attempts import Order, Step, open_attempts
from records.errors import AlreadyHandedIn
from screens import look, places
from screens.classes import words as class_words
from screens.data import me, store
from screens.language import N_, _
from screens.local_time import day_words, here
from screens.practice import handing_in, placing, scoring
from screens.practice.working import Working, previewing, save_again, set_step, working
from screens.samples import shown_title
from screens.to_top import to_top

_STEP_WORDS = {
    Step.SCORE: (N_("Look and score"), N_("by eye")),
    Step.MEASURE: (N_("Points and measures"), N_("place, read the angles")),
    Step.MEASURE_AGAIN: (N_("Points again"), N_("without seeing the first")),
    Step.SCORE_AGAIN: (N_("Score again"), N_("keep or change your mind")),
    Step.HAND_IN: (N_("Hand in"), N_("then see the key")),
}


def show() -> None:
    """Draw the page for the attempt that the address names."""
    attempt_id, previewed = st.query_params.get("attempt"), st.query_params.get("preview")
    if not attempt_id and not previewed:
        _nothing_chosen()
        return
    try:
        work = previewing(previewed, _slot()) if previewed else working(attempt_id or "")
    except AlreadyHandedIn:
        places.go("feedback", attempt=attempt_id or "")
    save_again(work)
    to_top(f"{work.attempt_id} {work.step}")
    _head(work)
    if work.step in (Step.MEASURE, Step.MEASURE_AGAIN):
        placing.show(work)
    elif work.step == Step.HAND_IN:
        handing_in.show(work)
    else:
        _own_spread(work)
        scoring.show(work, 1 if work.step == Step.SCORE else 2)
    _ways_on(work)


def _own_spread(work: Working) -> None:
    """What the second placing told, where it was a step of its own."""
    if work.places_twice and work.points[2].points:
        for note in work.notes:
            look.quiet(_(note))


def _slot() -> int:
    asked = st.query_params.get("slot", "1")
    return int(asked) if asked.isdecimal() and len(asked) < 4 else 1


def _nothing_chosen() -> None:
    st.title(_("Practise"))
    running = open_attempts(store(), me())
    if not running:
        look.lede(_("No photo is chosen yet. Choose one on the start page."))
        if st.button(_("Choose a photo"), type="primary"):
            places.go("start")
        return
    look.lede(_("Go on where you stopped, or choose another photo."))
    for attempt in running:
        words = _("Go on: {photo}, begun on {day}").format(
            photo=shown_title(attempt.photo_title), day=day_words(here(attempt.started_at))
        )
        if st.button(words, key=attempt.id):
            places.go("practise", attempt=attempt.id)
    if st.button(_("Choose another photo")):
        places.go("start")


def _at(work: Working) -> int:
    optional = work.step == Step.MEASURE_AGAIN and not work.places_twice
    return work.steps.index(Step.MEASURE if optional else work.step)


def _words(work: Working, step: Step) -> tuple[str, str]:
    if step == Step.SCORE and work.order == Order.MEASURE_FIRST:
        return (_("Score"), _("with the measures beside"))
    if step == Step.HAND_IN and work.place is not None:
        return (_("Hand in"), _("then the next photo"))
    name, purpose = _STEP_WORDS[step]
    return _(name), _(purpose)


def _head(work: Working) -> None:
    if work.place is None:
        st.title(shown_title(work.title))
    else:
        st.title(_("Photo {slot} of {n_slots}").format(slot=work.place.slot, n_slots=work.place.n_slots))
        class_words.under_the_title(work.place, preview=work.preview)
    look.steps([_words(work, step) for step in work.steps], _at(work))


def _ways_on(work: Working) -> None:
    at = _at(work)
    left, middle, right = st.columns([1, 2, 1])
    if at > 0:
        before = work.steps[at - 1]
        left.button(
            _("Back: {step}").format(step=_words(work, before)[0]),
            on_click=set_step,
            args=(work, before),
            width="stretch",
        )
    if at + 1 < len(work.steps):
        after = work.steps[at + 1]
        twice = work.step == Step.MEASURE_AGAIN and work.places_twice and bool(work.points[1].points)
        right.button(
            _("Next: {step}").format(step=_words(work, after)[0]),
            on_click=placing.finish_second_round if twice else set_step,
            args=(work, after),
            type="primary",
            width="stretch",
        )
    if work.place is not None:
        with middle:
            class_words.way_out(work.place, preview=work.preview)
