"""Giving a published teaching set to a class."""

from datetime import datetime, time, timedelta
from typing import TypedDict

import streamlit as st

from records.attempt.attempts import Order
from records.classroom.assignments import give
from records.classroom.class_values import ClassRecord, KeyRule
from records.errors import RecordsError
from records.teaching_sets import VersionRecord, published_versions
from screens import look, places
from screens.classes.words import KEY_RULES, ORDERS
from screens.data import me, store
from screens.language import _, said
from screens.local_time import moment_here, now_here

DAYS_AHEAD = 7


class _Terms(TypedDict):
    """As `give` takes them."""

    due_at: datetime | None
    order: Order
    places_twice: bool
    hidden_repeat: bool
    key_rule: KeyRule


def show(group: ClassRecord) -> None:
    """Draw the form."""
    there = {version.id: version for version in published_versions(store(), me())}
    if not there:
        look.quiet(
            _("There is no published teaching set yet. An educator builds and publishes one on the page Teaching sets.")
        )
        return
    chosen = st.selectbox(
        _("Teaching set"), list(there), format_func=lambda version_id: _name(there[version_id]), key=f"set-{group.id}"
    )
    title = st.text_input(
        _("What students read above it"),
        max_chars=80,
        placeholder=_("for example: Week 2, eight photos"),
        key=f"title-{group.id}",
        help=_("A name that does not tell what the photos teach."),
    )
    terms = _terms(group)
    if st.button(_("Give it to the class"), type="primary", key=f"give-{group.id}"):
        try:
            made = give(store(), me(), group.id, chosen, title=title, **terms)
        except RecordsError as error:
            st.error(said(error))
            return
        places.go("given", work=made.id)


def _terms(group: ClassRecord) -> _Terms:
    """Ask for everything but the set and its title."""
    due_at = _due(group)
    order: Order = st.radio(
        _("Order of work"),
        [Order.SCORE_FIRST, Order.MEASURE_FIRST],
        format_func=lambda order: _(ORDERS[order]),
        key=f"order-{group.id}",
        help=_("Numbers seen first steer the eye, so scoring by eye comes first unless you want it otherwise."),
    )
    rules = [rule for rule in KeyRule if rule != KeyRule.AFTER_DUE or due_at is not None]
    rule = st.radio(
        _("When students see the key"), rules, format_func=lambda rule: _(KEY_RULES[rule]), key=f"rule-{group.id}"
    )
    twice = st.checkbox(
        _("Points are placed twice, the second time blind"),
        key=f"twice-{group.id}",
        help=_("Shows how repeatably each student clicks. Takes about a minute more a photo."),
    )
    repeat = st.checkbox(
        _("One photo comes a second time, unannounced"),
        key=f"repeat-{group.id}",
        help=_(
            "Shows how alike a student scores the same photo. Which one it is you see in the overview; students are told "
            "when they are through."
        ),
    )
    return _Terms(due_at=due_at, order=order, places_twice=twice, hidden_repeat=repeat, key_rule=rule)


def _name(version: VersionRecord) -> str:
    return _("{title}, version {number}, {n_photos} photos").format(
        title=version.title, number=version.number, n_photos=version.n_photos
    )


def _due(group: ClassRecord) -> datetime | None:
    if not st.checkbox(_("There is a due date"), key=f"has-due-{group.id}"):
        return None
    now = now_here()
    with st.container(horizontal=True):
        day = st.date_input(
            _("Due on"), value=now.date() + timedelta(days=DAYS_AHEAD), min_value=now.date(), key=f"day-{group.id}"
        )
        at = st.time_input(_("at"), value=time(18, 0), key=f"time-{group.id}")
    return moment_here(day, at)
