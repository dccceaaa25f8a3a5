"""What to practise next: chosen from own weak signs, spaced by a published scheduler, with one button to begin."""

from collections.abc import Sequence

import streamlit as st

from records.attempt.attempts import open_attempts, start_attempt
from rubric.practice_plan import ItemPlan
from rubric.reports.tables import item_words
from screens import look, places
from screens.data import checklist, me, store
from screens.language import _
from screens.progress.own_work import OwnEntry, own_plan, photo_titles

_SHOWN = 3


def show(entries: Sequence[OwnEntry]) -> None:
    """Draw the signs that are due, and the button that begins with the first."""
    plan = [one for one in own_plan(store(), me(), entries, checklist()) if one.photos]
    if not plan:
        return
    titles = photo_titles(store(), me())
    with st.container(border=True):
        st.subheader(_("What to practise next"))
        due = [one for one in plan if one.is_due or one.due is None]
        if not due:
            look.quiet(_("Nothing is due just now. You may go on all the same; the first of these comes up next."))
        for one in (due or plan)[:_SHOWN]:
            look.item(_(item_words(checklist(), one.item)), _(one.reason))
        first = (due or plan)[0]
        if st.button(
            _("Practise on {photo}").format(photo=titles[first.photos[0]]), type="primary", key="practise-next"
        ):
            _begin(first)
        look.quiet(
            _(
                "Chosen from your own answers: what differed from a key comes back soon, what agreed comes back later. "
                "The spacing is that of FSRS, a published scheduler for remembering; that it suits learning to see is an "
                "assumption."
            )
        )


def _begin(plan: ItemPlan) -> None:
    photo_id = plan.photos[0]
    running = next(
        (one for one in open_attempts(store(), me()) if one.photo_id == photo_id and one.place is None), None
    )
    attempt = running or start_attempt(store(), me(), photo_id)
    places.go("practise", attempt=attempt.id)
