"""Who is here: accounts and roles for an educator, new passwords for an instructor's students."""

from collections.abc import Callable, Mapping
from typing import Any

import streamlit as st

from records.auditing.audit_log import read_log
from records.errors import RecordsError
from records.identity import accounts
from records.identity.accounts import PersonEntry
from records.identity.people import Person, Role
from records.settings import MOST_MEGABYTES, SMALLEST_SHARE, Settings, change_settings, read_settings
from screens import look
from screens.data import me, store
from screens.language import N_, _, said
from screens.local_time import day_words, moment_words

ROLE_WORDS = {
    Role.EDUCATOR: N_("Educator: builds teaching sets, keeps consents, manages people"),
    Role.INSTRUCTOR: N_("Instructor: runs classes and reviews work"),
    Role.STUDENT: N_("Student: practises and hands in"),
}
#: Where a password that is shown once waits for its one showing: (handle, password).
_SHOWN_ONCE = "people-shown-once"
_TIMES = "people-times"


def show() -> None:
    """Draw the page."""
    person = me()
    st.title(_("People"))
    if not accounts.has_accounts(store()):
        look.lede(_("You work alone on this computer. People have accounts once a school is open here."))
        look.way("/first-account", _("Open a school on this computer"))
        return
    _show_once()
    if Role.EDUCATOR in person.roles:
        look.lede(_("Everyone with an account here. Names are pseudonyms: nobody needs a real one."))
        _make()
        for entry in accounts.list_people(store(), person):
            _line(entry, person)
        _signing_in(person)
        _log({entry.id: entry.handle for entry in accounts.list_people(store(), person)})
        return
    look.lede(_("The students of your classes. Here you make a new password for someone who forgot theirs."))
    students = accounts.my_students(store(), person)
    if not students:
        st.info(_("Nobody has joined a class of yours yet."))
    for entry in students:
        _line(entry, person)


def _log(handles: Mapping[str, str]) -> None:
    with st.expander(_("What was done and refused lately")):
        if not st.toggle(_("Read the log"), key="people-log"):
            return
        log = read_log(store(), me())
        if log.chain.broken_at is None:
            look.quiet(
                _("All {n_entries} lines hold together: none was changed or taken out between.").format(
                    n_entries=log.chain.n_entries
                )
            )
        else:
            st.error(
                _("Line {broken_at} does not follow from the one before: the log was changed there.").format(
                    broken_at=log.chain.broken_at
                )
            )
        look.table(
            [_("Line"), _("When"), _("Who"), _("What"), _("How it ended")],
            [
                (
                    str(line.number),
                    moment_words(line.at),
                    _("the program")
                    if line.actor_id is None
                    else handles.get(line.actor_id, _("someone no longer here")),
                    line.action.replace("_", " "),
                    line.outcome.value,
                )
                for line in log.entries
            ],
            _("The newest lines of the audit log"),
        )


def _show_once() -> None:
    shown = st.session_state.pop(_SHOWN_ONCE, None)
    if shown is None:
        return
    handle, password = shown
    with st.container(border=True):
        st.subheader(_("Password for {handle}").format(handle=handle))
        st.code(password, language=None)
        st.write(
            _("Hand it over now: it is shown this once. It opens one thing only, choosing a password of their own.")
        )


def _make() -> None:
    with st.expander(_("Make an account")), st.form("make-account", clear_on_submit=True, border=False):
        st.write(_("Students need none of this: they join a class with its code."))
        handle = st.text_input(
            _("Name they go by here"), help=_("A pseudonym, such as a bird or a place."), max_chars=40
        )
        roles = st.multiselect(_("Roles"), list(Role), default=[Role.INSTRUCTOR], format_func=_role_name)
        if st.form_submit_button(_("Make the account"), type="primary"):
            _make_now(handle, frozenset(roles))


def _make_now(handle: str, roles: frozenset[Role]) -> None:
    try:
        made, password = accounts.make_account(store(), me(), handle=handle, roles=roles)
    except RecordsError as error:
        st.error(said(error))
        return
    _once(made.handle, password)


def _once(handle: str, password: str) -> None:
    st.session_state[_SHOWN_ONCE] = (handle, password)
    # Popovers of another number are closed ones, and do not lie over the password.
    st.session_state[_TIMES] = st.session_state.get(_TIMES, 0) + 1
    st.rerun()


def _role_name(role: Role) -> str:
    return _(ROLE_WORDS[role]).split(":")[0]


def _line(entry: PersonEntry, person: Person) -> None:
    with st.container(border=True, horizontal=True, vertical_alignment="center"):
        look.card_text(entry.handle, _facts(entry, person))
        with st.popover(_("Change"), key=f"change-{entry.id}-{st.session_state.get(_TIMES, 0)}"):
            if Role.EDUCATOR in person.roles:
                _change_roles(entry)
            _change_account(entry, manages=Role.EDUCATOR in person.roles)


def _facts(entry: PersonEntry, person: Person) -> list[str]:
    facts = [_role_name(role).lower() for role in Role if role in entry.roles] or [_("no role")]
    if entry.id == person.id:
        facts.append(_("you"))
    if entry.closed:
        facts.append(_("closed"))
    elif entry.must_change:
        facts.append(_("has a first password"))
    if not entry.has_password:
        facts.append(_("signs in with the school's system"))
    facts.append(
        _("last here on {day}").format(day=day_words(entry.last_in)) if entry.last_in else _("not here of late")
    )
    return facts


def _change_roles(entry: PersonEntry) -> None:
    wanted = {
        role: st.checkbox(_(ROLE_WORDS[role]), value=role in entry.roles, key=f"role-{role}-{entry.id}")
        for role in Role
    }
    if st.button(_("Keep these roles"), key=f"roles-{entry.id}"):
        _do(lambda: _set_roles(entry, wanted))


def _set_roles(entry: PersonEntry, wanted: dict[Role, bool]) -> None:
    for role, holds in wanted.items():
        if holds and role not in entry.roles:
            accounts.give_role(store(), me(), entry.id, role)
    for role, holds in wanted.items():
        if not holds and role in entry.roles:
            accounts.take_role(store(), me(), entry.id, role)
    st.rerun()


def _change_account(entry: PersonEntry, *, manages: bool) -> None:
    if entry.has_password and not entry.closed:
        st.write(_("A new password ends all sessions of theirs and is shown once."))
        if st.button(_("Make a new password"), key=f"reset-{entry.id}"):
            _do(lambda: _once(entry.handle, accounts.reset_password(store(), me(), entry.id)))
    if manages and entry.closed:
        if st.button(_("Open the account again"), key=f"open-{entry.id}"):
            _do(lambda: _once(entry.handle, accounts.open_account_again(store(), me(), entry.id)))
    elif manages:
        st.write(_("A closed account can no longer sign in; what was done with it stays."))
        if st.button(_("Close the account"), key=f"close-{entry.id}"):
            _do(lambda: _close(entry))


def _close(entry: PersonEntry) -> None:
    accounts.close_account(store(), me(), entry.id)
    st.rerun()


def _do(action: Callable[[], None]) -> None:
    try:
        action()
    except RecordsError as error:
        st.error(said(error))


def _signing_in(person: Person) -> None:
    now = read_settings(store())
    with st.expander(_("Signing in at this school, and room for photos")), st.form("signing-in", border=False):
        alone = st.checkbox(
            _("Practising at this computer stays open without signing in"),
            value=now.alone_open,
            help=_(
                "Whoever sits at the computer on which this program runs then shares one place for photos and scores."
            ),
        )
        idle = st.number_input(_("Hours without use until one signs in again"), 1, 72, now.idle_hours)
        longest = st.number_input(_("Days until one signs in again in any case"), 1, 30, now.longest_days)
        one = st.number_input(
            _("Megabytes for the photos and forms of one person"),
            SMALLEST_SHARE,
            MOST_MEGABYTES,
            now.person_megabytes,
            100,
        )
        everyone = st.number_input(
            _("Megabytes for those of all together"), SMALLEST_SHARE, MOST_MEGABYTES, now.total_megabytes, 1000
        )
        if st.form_submit_button(_("Keep these choices")):
            said_so = {"alone_open": alone, "idle_hours": int(idle), "longest_days": int(longest)}
            room = {"person_megabytes": int(one), "total_megabytes": int(everyone)}
            _do(lambda: _choose(person, {**said_so, **room, "revision": now.revision}))


def _choose(person: Person, chosen: dict[str, Any]) -> None:
    change_settings(store(), person, Settings(**chosen))
    st.success(_("Kept. The longest time counts from the next sign-in on."))
