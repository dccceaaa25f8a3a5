"""A version that was published: to look at, to print, to export, to retire, and to begin a new draft from."""

import streamlit as st

from records import teaching_sets as sets
from records.teaching_sets import SetPhoto, State, VersionRecord
from screens import look, places
from screens.data import me, store
from screens.language import _, told
from screens.review import report_routes
from screens.samples import shown_title
from screens.sets import sharing as set_sharing
from screens.sets.page import DIFFICULTY


def show(version: VersionRecord) -> None:
    """Draw it."""
    if sets.seal_holds(store(), me(), version.id) is False:
        st.error(
            _("This version is no longer what was published: something in the records was changed outside the program.")
        )
    left, right = st.columns([7, 4], gap="large")
    with left:
        st.header(_("Photos ({n_photos})").format(n_photos=version.n_photos))
        for photo in version.photos:
            _frozen_row(photo)
    with right:
        if version.notes:
            with st.container(border=True):
                st.subheader(_("Notes"))
                st.text(version.notes)
        with st.container(border=True):
            st.subheader(_("On paper"))
            set_sharing.worksheets(version.id)
        with st.container(border=True):
            st.subheader(_("Report"))
            look.quiet(_("The keys, where experts part, and how far those agree whose readings you may see."))
            report_routes.offer(f"/reports/set/{version.id}/report.{{ending}}")
        with st.container(border=True):
            st.subheader(_("Export"))
            set_sharing.export_form(version)
        with st.container(border=True):
            st.subheader(_("Go on"))
            _go_on(version)


def _frozen_row(photo: SetPhoto) -> None:
    with st.container(border=True):
        if photo.photo_id is None:
            look.quiet(
                _("{position}. This photo was removed. What was scored on it is kept, without the picture.").format(
                    position=photo.position
                )
            )
            return
        picture, rest = st.columns([2, 5])
        with picture:
            look.card_picture(
                f"/set-photos/{photo.photo_id}/thumbnail.jpg",
                _("Photo {position}: {title}").format(position=photo.position, title=shown_title(photo.title)),
            )
        with rest:
            tags = [_(DIFFICULTY[photo.difficulty])] + ([_("own class only")] if photo.own_class_only else [])
            look.card_text(f"{photo.position}. {shown_title(photo.title)}", tags)
            if photo.note:
                st.text(photo.note)
            if photo.refusal:
                st.warning(told(photo.refusal))


def _go_on(version: VersionRecord) -> None:
    look.quiet(_("To change something, begin a new draft: it starts as a copy of the last version."))
    if st.button(_("New draft"), width="stretch"):
        places.go("set", version=sets.new_draft(store(), me(), version.set_id).id)
    if version.state == State.PUBLISHED:
        with st.popover(_("Retire this version"), width="stretch"):
            st.write(_("No more classes are given it. Classes that have it go on with it."))
            if st.button(_("Retire it")):
                sets.retire(store(), me(), version.id)
                st.rerun()
