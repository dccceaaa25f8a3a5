"""Adding many photos at once: read, looked through for doubles, cut and covered, and only then stored, all under one consent."""

from typing import cast

import streamlit as st

from records.consent.consents import DollDeclaration, NewConsent
from records.errors import RecordsError
from records.photo.photos import list_photos
from records.teaching_sets import add_photos, get_version
from screens import look, places
from screens.data import me, store
from screens.language import _, _n
from screens.language import said as in_words
from screens.uploads import batch_consent, batch_covers, consent_fields, reloaded
from screens.uploads.adding import TYPES
from screens.uploads.batch import Batch, Upload, alike_lines, keep_one, read_upload, stored_hashes, titled
from screens.uploads.waiting_points import ask_for_points
from vision.images import MAX_BYTES

MOST_AT_ONCE = 100
_COLUMNS = 4


def show() -> None:
    """Draw the page; `version` in the address names the draft that the photos go into."""
    version_id = st.query_params.get("version")
    if version_id and st.button(_("Back to the set"), type="tertiary"):
        places.go("set", version=version_id)
    st.title(_("Add many photos"))
    if said := st.session_state.pop("said", None):
        st.success(said)
    look.lede(
        _(
            "Choose the files, look at what came, cut and cover what must not be shown, say what they show, and keep them. Nothing "
            "is stored before that."
        )
    )
    reloaded.leave_what_was_taken()
    number = st.session_state.get("batches-done", 0)
    came_back = f"many-{number}" not in st.session_state
    uploads = st.file_uploader(
        _("Photo files"),
        type=TYPES,
        accept_multiple_files=True,
        key=f"many-{number}",
        max_upload_size=MAX_BYTES // 2**20,
        help=_(
            "JPEG, PNG, WebP, TIFF or HEIC, each up to {megabytes} MB and 40 million pixels, {most} at a time."
        ).format(megabytes=MAX_BYTES // 2**20, most=MOST_AT_ONCE),
    )
    reloaded.offer()
    batch = _batch(number)
    if came_back:
        reloaded.bring_back(batch)
    files = {**batch.brought, **{one.file_id: one for one in cast(list[Upload], uploads)}}
    if len(files) > MOST_AT_ONCE:
        st.error(_("That is {n} files; choose at most {most} at a time.").format(n=len(files), most=MOST_AT_ONCE))
        return
    _read_all(batch, cast(list[Upload], uploads))
    reloaded.remember(batch, files)
    _refused(batch)
    if batch.waiting:
        _work_on(batch, files, version_id, number)


def _batch(number: int) -> Batch:
    known = st.session_state.get("batch")
    if isinstance(known, tuple) and known[0] == number:
        return cast(Batch, known[1])
    fresh = Batch()
    st.session_state["batch"] = (number, fresh)
    return fresh


def _read_all(batch: Batch, uploads: list[Upload]) -> None:
    """Read what was not read yet, with progress; a rerun in between goes on where it stopped."""
    batch.drop_all_but([one.file_id for one in uploads])
    unread = [one for one in uploads if not batch.known(one.file_id)]
    if not unread:
        return
    bar = st.progress(0.0, text=_("Reading the photos"))
    for n, upload in enumerate(unread, start=1):
        bar.progress(
            n / len(unread),
            text=_("Reading photo {n} of {total}: {name}").format(n=n, total=len(unread), name=upload.name),
        )
        read_upload(batch, me(), upload)
    bar.empty()


def _refused(batch: Batch) -> None:
    if batch.refused:
        with st.container(border=True):
            look.listing(_("Not taken:"), (f"{name}: {why}" for name, why in batch.refused.values()))


def _work_on(batch: Batch, uploads: dict[str, Upload], version_id: str | None, number: int) -> None:
    key = f"batch-{number}"
    st.header(_("1. What came"))
    batch.people = batch_consent.shows_people(key)
    stored = stored_hashes(store(), me())
    titles = {photo.id: photo.title for photo in list_photos(store(), me())} if stored else {}
    alike = alike_lines(batch, stored, titles)
    if alike:
        look.quiet(_("Some look like others. Leave out what you do not want twice."))
    _cards(batch, alike)
    st.header(_("2. Cut and cover"))
    batch_covers.show(batch, uploads)
    st.header(_("3. Consent, title, keep"))
    _keeping(batch, uploads, version_id, number)


def _cards(batch: Batch, alike: dict[str, list[str]]) -> None:
    all_of_them = list(batch.waiting.values())
    for at in range(0, len(all_of_them), _COLUMNS):
        for one, column in zip(all_of_them[at : at + _COLUMNS], st.columns(_COLUMNS), strict=False):
            with column, st.container(border=True, height="stretch"):
                look.card_picture(f"/set-uploads/{one.small}/picture.jpg", _("Photo: {title}").format(title=one.name))
                covers = len(one.areas)
                tags = (["cut"] if one.crop else []) + (
                    [f"{covers} cover{'' if covers == 1 else 's'}"] if covers else []
                )
                look.card_text(one.name, tags + ([_("looked at")] if one.looked_at else []))
                for line in alike.get(one.upload_id, []):
                    look.quiet(line)
                if one.fault:
                    st.error(one.fault)
                if st.button(_("Cut and cover"), key=f"cover-{one.upload_id}-button", width="stretch"):
                    batch.open = one.upload_id
                one.left_out = st.checkbox(_("Leave out"), value=one.left_out, key=f"out-{one.upload_id}")


def _keeping(batch: Batch, uploads: dict[str, Upload], version_id: str | None, number: int) -> None:
    people, key = batch.people, f"batch-{number}"
    consent: NewConsent | DollDeclaration | None = None
    if people is not None:
        consent = consent_fields.ask_and_sign(key, many=True) if people else batch_consent.doll(key)
    base = st.text_input(
        _("Title for all, a number is added"), max_chars=70, placeholder=_("for example: Doll B, cradle hold")
    )
    missing = list(_missing(batch, people, consent, base))
    if missing:
        look.listing(_("Before they can be kept:"), missing)
    n = len(batch.chosen)
    label = (
        _n("Keep {n} photo and put it into the set", "Keep {n} photos and put them into the set", n)
        if version_id
        else _n("Keep {n} photo", "Keep {n} photos", n)
    ).format(n=n)
    # Covers are edited in a part of the page that runs by itself, so the button may be older than what is missing now.
    if st.button(label, type="primary", disabled=bool(missing)) and consent is not None and not missing:
        _keep(batch, uploads, consent, base, version_id, number)


def _missing(batch: Batch, people: bool | None, consent: NewConsent | DollDeclaration | None, base: str) -> list[str]:
    said = []
    if not batch.chosen:
        said.append(_("Every photo is left out."))
    if people is None:
        said.append(_("Say under 1 what they show."))
    elif consent is None:
        said.append(_("Fill in the consent.") if people else _("Make the declaration."))
    if not base.strip() and not all(one.title.strip() for one in batch.chosen):
        said.append(_("Give a title."))
    if people and (unseen := sum(not one.looked_at for one in batch.chosen)):
        said.append(
            _n(
                "Open and look at {n} more photo under 2, since it shows people.",
                "Open and look at {n} more photos under 2, since they show people.",
                unseen,
            ).format(n=unseen)
        )
    if undecided := [one.name for one in batch.chosen if one.undecided]:
        said.append(_("Accept or remove the proposed covers of {photos}.").format(photos=", ".join(undecided[:3])))
    return said


def _keep(
    batch: Batch,
    uploads: dict[str, Upload],
    consent: NewConsent | DollDeclaration,
    base: str,
    version_id: str | None,
    number: int,
) -> None:
    titles = titled(batch, base)
    bar = st.progress(0.0, text=_("Keeping the photos"))
    kept = []
    for n, one in enumerate(batch.chosen, start=1):
        bar.progress(n / len(titles), text=_("Keeping photo {n} of {total}").format(n=n, total=len(titles)))
        record = keep_one(store(), me(), batch, uploads[one.upload_id], titles[one.upload_id], consent)
        if record is not None:
            kept.append(record.id)
    bar.empty()
    reloaded.remember(batch, uploads)
    ask_for_points()
    into = _put_into(version_id, kept)
    done = _n("{n} photo kept.", "{n} photos kept.", len(kept)).format(n=len(kept))
    st.session_state["said"] = " ".join(part for part in (done, into, _("Points are being proposed.")) if part)
    if batch.chosen:
        # Some were refused: they stay on the page with the reason.
        st.rerun()
    reloaded.forget()
    st.session_state["batches-done"] = number + 1
    if version_id:
        places.go("set", version=version_id)
    st.rerun()


def _put_into(version_id: str | None, kept: list[str]) -> str:
    if not version_id or not kept:
        return ""
    try:
        version = get_version(store(), me(), version_id)
        add_photos(store(), me(), version_id, kept, expected_revision=version.revision)
    except RecordsError as refused:
        return _("Not put into the set: {refused}").format(refused=in_words(refused))
    return _("Put into “{title}”.").format(title=version.title)
