"""My data: what is kept about oneself, all of it to take along, and all of it to erase."""

import streamlit as st

from records.consent.own_data import erase_own_data
from records.consent.retention import kept_until
from records.errors import RecordsError
from screens import look
from screens.data import me, store
from screens.language import _
from screens.ledger.words import day


def show() -> None:
    """Draw the page."""
    person = me()
    st.title(_("My data"))
    look.lede(
        _("What this program keeps about you: your practice, how repeatably you click, your classes, what you added.")
    )
    _kept()
    st.header(_("Take it along"))
    st.write(
        _(
            "One file with all of it, to read or to keep. It holds no pictures: a photo leaves only under a consent for exported "
            "material. Nothing of other people is in it but what was written to you, and no key."
        )
    )
    look.download("/own-data/my-data.zip", _("Save my data (ZIP of JSON files)"))
    st.header(_("Erase it"))
    look.notice(
        _("What goes, and what stays"),
        _(
            "Your practice, answers, points and measures go, also from what your class sees; so do your own photos, for everyone, "
            "your classes, roles and sign-in. What you wrote for others stays without your name: comments, keys, teaching sets, "
            "consents that you put on record. Nobody can undo this. Save your data first if you may want it again."
        ),
    )
    sure = st.checkbox(_("Erase everything that is mine. I know that nobody can bring it back."), key="erase-sure")
    if st.button(_("Erase my data"), type="primary", disabled=not sure):
        try:
            erase_own_data(store(), person)
        except RecordsError as refused:
            st.error(str(refused))
            return
        st.session_state.clear()
        st.rerun()


def _kept() -> None:
    classes = kept_until(store(), me())
    if classes:
        look.listing(
            _("Class work is erased by itself about a week after its last day"),
            [_("{title}: kept until {day}").format(title=one.title, day=day(one.keep_until)) for one in classes],
        )
