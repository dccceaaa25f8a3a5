"""The consent ledger: who agreed to what, until when; a new consent, and what happens when one is withdrawn."""

from collections.abc import Callable

import streamlit as st

from records.consent.consents import Kind
from records.consent.ledger import SOON_DAYS, LedgerLine, all_consents, own_consents, withdraw_any, would_leave
from records.consent.withdrawal import Withdrawal, withdraw
from records.errors import RecordsError
from records.identity.people import Role
from screens import look
from screens.data import me, store
from screens.language import N_, _
from screens.ledger import form as ledger_form
from screens.ledger import scan as ledger_scan
from screens.ledger.words import after_withdrawing, before_withdrawing, consents, facts, left_lines, photos, state
from screens.to_top import to_top

LINES_AT_ONCE = 20

_SHOW: dict[str, Callable[[LedgerLine], bool]] = {
    N_("All"): bool,
    N_("In force"): lambda line: line.stands,
    N_("Ending within {n} days"): lambda line: line.ends_within(SOON_DAYS),
    N_("Ended or withdrawn"): lambda line: not line.stands,
}
_SORT: dict[str, Callable[[LedgerLine], object] | None] = {
    N_("Ending soonest first"): None,
    N_("By label"): lambda line: line.consent.shown.casefold(),
    N_("By the day it was given"): lambda line: line.consent.given_on,
}


def show() -> None:
    """Draw the page."""
    st.title(_("Consents"))
    look.lede(
        _(
            "Every photo of people rests on a consent. It is asked at each use: once it has ended or was withdrawn, the photo is "
            "shown to nobody."
        )
    )
    _said()
    look.download("/consent-form.pdf", _("A consent form to print and adapt to your local law and policy (PDF)"))
    with st.expander(_("Put a consent on record")):
        ledger_form.show()
    lines = _chosen(_seen())
    if not lines:
        st.info(_("No consent here fits. Consents come in with photos, or with the form above."))
        return
    soon = sum(line.ends_within(SOON_DAYS) for line in lines)
    look.quiet(
        _("{consents}, {soon} ending within {days} days.").format(
            consents=consents(len(lines)).capitalize(), soon=soon or _("none"), days=SOON_DAYS
        )
    )
    most = st.session_state.get("ledger-lines", LINES_AT_ONCE)
    for line in lines[:most]:
        _line(line)
    if len(lines) > most and st.button(_("Show {n} more").format(n=min(LINES_AT_ONCE, len(lines) - most))):
        st.session_state["ledger-lines"] = most + LINES_AT_ONCE
        st.rerun()


def _said() -> None:
    """What the last press of a button did, at the top of the page, where it is then shown."""
    if "ledger-said" in st.session_state or "ledger-withdrawn" in st.session_state:
        st.session_state["ledger-told"] = st.session_state.get("ledger-told", 0) + 1
    to_top(f"consents {st.session_state.get('ledger-told', 0)}")
    if said := st.session_state.pop("ledger-said", None):
        st.success(said)
    done = st.session_state.pop("ledger-withdrawn", None)
    if not isinstance(done, Withdrawal):
        return
    st.success(after_withdrawing(done))
    if done.left:
        look.notice(
            _("Copies that left this machine"),
            _(
                "They cannot be called back from here. Tell whoever has them to destroy them, and prints made from them too."
            ),
        )
        look.listing(_("Went to"), left_lines(done.left))


def _seen() -> tuple[LedgerLine, ...]:
    if Role.EDUCATOR not in me().roles:
        return own_consents(store(), me())
    whose = st.radio(_("Whose"), [N_("Everyone's"), N_("Mine")], format_func=_, horizontal=True, key="ledger-whose")
    return own_consents(store(), me()) if whose == "Mine" else all_consents(store(), me())


def _chosen(lines: tuple[LedgerLine, ...]) -> list[LedgerLine]:
    what, which, order, find = st.columns([2, 3, 3, 3])
    kind = what.selectbox(_("Who is shown"), [N_("People"), N_("Dolls"), N_("Both")], format_func=_, key="ledger-kind")
    keep = _SHOW[which.selectbox(_("Show"), list(_SHOW), format_func=_with_days, key="ledger-show")]
    sort = _SORT[order.selectbox(_("Order"), list(_SORT), format_func=_, key="ledger-order")]
    wanted = find.text_input(_("Find a label"), max_chars=80, key="ledger-find").strip().casefold()
    kinds = {"People": {Kind.PERSON}, "Dolls": {Kind.DOLL}, "Both": set(Kind)}[kind]
    found = [
        line for line in lines if line.consent.kind in kinds and keep(line) and wanted in line.consent.shown.casefold()
    ]
    return found if sort is None else sorted(found, key=sort)  # type: ignore[arg-type]


def _with_days(which: str) -> str:
    return _(which).format(n=SOON_DAYS)


def _line(line: LedgerLine) -> None:
    consent = line.consent
    with st.container(border=True):
        tags = [state(line), _("doll") if consent.kind == Kind.DOLL else _("people"), photos(line.n_photos)]
        if line.has_scan:
            tags.append(_("scan of the form kept"))
        look.card_text(consent.shown, tags)
        look.listing(_("On record:"), facts(line))
        if consent.kind == Kind.PERSON:
            with st.expander(_("Scan of the form for {shown}").format(shown=consent.shown)):
                ledger_scan.show(line)
        if consent.withdrawn_on is None:
            _withdrawing(line)


def _withdrawing(line: LedgerLine) -> None:
    """One press asks, a second one withdraws; what will happen stands between them."""
    consent = line.consent
    if st.session_state.get("withdrawing") != consent.id:
        label = _("Take the declaration back") if consent.kind == Kind.DOLL else _("Withdraw")
        if st.button(f"{label}: {consent.shown}", key=f"ask-{consent.id}"):
            st.session_state["withdrawing"] = consent.id
            st.rerun()
        return
    look.notice(_("Withdraw the consent for “{shown}”?").format(shown=consent.shown), *before_withdrawing(line))
    left = would_leave(store(), me(), consent.id)
    if left:
        look.listing(_("These copies left this machine and cannot be called back from here:"), left_lines(left))
    yes, no = st.columns([1, 3])
    if yes.button(_("Withdraw now"), key=f"withdraw-{consent.id}", type="primary"):
        _withdraw(line)
    if no.button(_("Leave it as it is"), key=f"leave-{consent.id}"):
        del st.session_state["withdrawing"]
        st.rerun()


def _withdraw(line: LedgerLine) -> None:
    end = withdraw if line.mine else withdraw_any
    try:
        done = end(store(), me(), line.consent.id)
    except RecordsError as fault:
        st.error(str(fault))
        return
    del st.session_state["withdrawing"]
    st.session_state["ledger-withdrawn"] = done
    st.rerun()
