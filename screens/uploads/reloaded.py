"""A batch begun on a page that was loaded again: offered on the new one, and taken along from there."""

import secrets
from datetime import timedelta

import streamlit as st

from screens import look
from screens.data import cookie, me, session_token
from screens.door.cookies import MARK
from screens.language import _, _n
from screens.local_time import now_here
from screens.uploads import shelf
from screens.uploads.batch import Batch, Upload


def offer() -> None:
    """Say what waits from another page of this session, with the choice to go on with it or to throw it away."""
    whose, page = _whose(), _page()
    for one in shelf.offers(whose, page):
        with st.container(border=True):
            n, begun = one.n_photos, now_here() - timedelta(seconds=one.seconds_ago)
            look.quiet(
                _n(
                    "A batch of {n} photo waits here, begun at {time} on a page that was loaded again or is still "
                    "open elsewhere. Cuts, covers and titles are as they were.",
                    "A batch of {n} photos waits here, begun at {time} on a page that was loaded again or is still "
                    "open elsewhere. Cuts, covers and titles are as they were.",
                    n,
                ).format(n=n, time=f"{begun:%H:%M}")
            )
            with st.container(horizontal=True):
                if st.button(_("Go on with it here"), key=f"go-on-{one.page}", type="primary"):
                    _go_on(whose, page, one.page)
                if st.button(_("Throw it away"), key=f"throw-{one.page}"):
                    shelf.forget(whose, one.page)
                    st.rerun()


def _go_on(whose: shelf.Whose, page: str, other: str) -> None:
    found = shelf.take_over(whose, page, of=other)
    if found is not None:
        batch, files = found
        batch.brought = files
        st.session_state["batch"] = (st.session_state.get("batches-done", 0), batch)
    st.rerun()


def leave_what_was_taken() -> None:
    """Where another page of this session has gone on with this page's batch, say so and begin anew, with an empty field."""
    known = st.session_state.get("batch")
    if not isinstance(known, tuple) or not shelf.was_taken(_whose(), _page(), known[1]):
        return
    st.info(_("You went on with this batch on another page. Here you can begin a new one."))
    st.session_state["batches-done"] = known[0] + 1


def bring_back(batch: Batch) -> None:
    """Take the files along that this page showed before another was opened in between: the upload field has lost them."""
    batch.brought = {**batch.brought, **shelf.files_of(_whose(), _page(), batch)}


def forget() -> None:
    """This page is through with its batch."""
    shelf.forget(_whose(), _page())


def remember(batch: Batch, files: dict[str, Upload]) -> None:
    """Keep what still waits, for a page that is loaded again."""
    shelf.put(_whose(), _page(), batch, files)


def _whose() -> shelf.Whose:
    return shelf.Whose(person_id=me().id, session=session_token() or cookie(MARK) or "")


def _page() -> str:
    """A mark of this page as it was loaded; loading it again makes another."""
    return str(st.session_state.setdefault("_page-of-batch", secrets.token_hex(8)))
