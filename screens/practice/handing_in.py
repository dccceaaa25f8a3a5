"""The last look before handing in: what is blank, where the mind was changed, what was measured."""

import streamlit as st

from records.attempt.attempts import Order
from records.attempt.handing_in import hand_in
from records.classroom.assignments import my_assignment
from records.errors import RecordsError
from rubric.scoring import missing_items
from screens import look, places
from screens.classes.words import when_the_key_comes
from screens.data import checklist, me, store
from screens.faults import show_fault
from screens.language import _, said
from screens.practice.measuring import measures_json, texts
from screens.practice.mind import show_changes
from screens.practice.working import Working, applicable, keep_sheet, save_again
from vision.measures import VERSION


def show(work: Working) -> None:
    """Draw the summary and the button that ends the attempt."""
    sheet = work.sheets[work.last_round]
    show_fault(work)
    st.subheader(_("Before you hand in"))
    if sheet.phase is None or sheet.view is None:
        st.warning(_("When and from where the photo was taken is not said yet: go back and score first."))
        return
    blank = missing_items(checklist(), sheet)
    if blank:
        look.listing(_("Left blank:"), [_(item.text) for item in blank])
        look.quiet(_("A blank is not the same as “can't tell from this photo”, which is an answer of its own."))
    else:
        look.quiet(_("Every sign that applies has an answer."))
    if work.order == Order.SCORE_FIRST:
        show_changes(applicable(work.sheets[1]), applicable(work.sheets[2]))
    with st.expander(_("What was measured")):
        for line in texts(work.points[1]).values():
            st.write(_(line))
    look.quiet(_("After handing in nothing changes any more.") + " " + _what_comes(work))
    if work.preview:
        look.quiet(_("Here a student hands in; a preview hands nothing in."))
    elif st.button(_("Hand in"), type="primary"):
        _hand_in(work)
        if work.fault:
            st.rerun()


def _what_comes(work: Working) -> str:
    if work.place is None:
        return _("You then see the key: how those who teach with this photo read it.")
    return when_the_key_comes(my_assignment(store(), me(), work.place.assignment_id).assignment)


def _hand_in(work: Working) -> None:
    save_again(work)
    for round in (1, 2):
        if work.sheet_revisions[round] and applicable(work.sheets[round]) != work.sheets[round]:
            keep_sheet(work, round, applicable(work.sheets[round]))
    if work.fault:
        return
    try:
        hand_in(
            store(),
            me(),
            work.attempt_id,
            measures_json=measures_json(work.points[1]),
            measure_version=VERSION,
            checklist_version=checklist().version,
            sheet_revision=work.sheet_revisions[work.last_round],
            points_revision=work.points_revisions[1],
        )
    except RecordsError as error:
        st.error(_("{error} Nothing was handed in; what you saved is still here.").format(error=said(error)))
        return
    st.session_state.pop("working", None)
    places.go("feedback", attempt=work.attempt_id)
