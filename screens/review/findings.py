"""What stands out in a class: each finding with what it means, what helps, and the photos that show it."""

from collections.abc import Iterable
from math import isnan

import streamlit as st

from rubric.evidence import plain_name
from rubric.reports.tables import answer_words, item_words
from rubric.review.findings import FindingKind
from rubric.review.table import ANSWERS
from rubric.review.whole import TeachingPoint
from rubric.words import ANSWER_WORDS
from screens import look, places
from screens.data import checklist
from screens.language import N_, _
from screens.review.contrast import contrast_pair
from screens.review.habits import HABITS, HELPS, MEANINGS
from screens.review.work import ReviewedWork
from screens.words import ANSWERS as ANSWER_HEADINGS

_NOTHING = N_(
    "Nothing stands out beyond what chance does in a class of this size. That is no finding that all is seen alike: the "
    "figures are under the other headings."
)


def show(work: ReviewedWork) -> None:
    """Draw the findings on the class, then those on single students, then what the experts part on."""
    of_class = [point for point in work.review.points if point.finding.student is None]
    of_students = [point for point in work.review.points if point.finding.student is not None]
    if not work.review.points:
        st.info(_(_NOTHING))
    for number, point in enumerate(of_class):
        _point(work, point, f"class-{number}")
    if of_students:
        st.subheader(_("Single students"))
        look.quiet(_("For a talk with that student alone; nobody else is shown this."))
    for number, point in enumerate(of_students):
        _point(work, point, f"student-{number}")
    _parted(work)
    _habits(work)
    look.quiet(
        _(
            "Only what is larger than chance is listed: in 19 of 20 classes in which nothing is to be found, nothing stands here. "
            "A deep attachment hides the corner of the mouth, so the gapes that could be measured over-represent shallow ones."
        )
    )


def _point(work: ReviewedWork, point: TeachingPoint, name: str) -> None:
    with st.container(border=True):
        kind = point.finding.kind
        habit = HABITS.get(kind)
        title = heading(work, point)
        look.item(_("{about}: {habit}").format(about=title, habit=_(habit)) if habit else title, _sentences(point))
        look.evidence(f"{_(MEANINGS[habit])} {_(HELPS[kind])}" if habit else _(HELPS[kind]))
        if kind == FindingKind.PHOTO and point.finding.photo is not None:
            with st.expander(_("Its signs, one by one")):
                photo_signs(work, point.finding.photo)
        if point.photos:
            look.quiet(_("To teach it next, show:"))
            _cards(work, ((one.photo, one.item) for one in point.photos), name, point.finding.student)
        if kind in (FindingKind.ITEM, FindingKind.ITEM_ON_PHOTO) and point.finding.item is not None:
            _contrast(work, point.finding.item)


def _sentences(point: TeachingPoint) -> str:
    return (
        _("{text} 95 % interval {interval}.").format(text=_(point.text), interval=_(point.interval))
        if point.interval
        else _(point.text)
    )


def _cards(work: ReviewedWork, shown: Iterable[tuple[str, str | None]], name: str, student: str | None) -> None:
    for (photo, item), column in zip(shown, st.columns(3), strict=False):
        with column:
            _picture(work, photo)
            look.card_text(
                work.photo_name(photo),
                [] if item is None else [_("look at: {sign}").format(sign=_(item_words(checklist(), item)))],
            )
            attempt = None if student is None else work.attempt_of(student, photo)
            if attempt is not None:
                if st.button(
                    _("Read {student}'s answers").format(student=work.student_name(student or "")),
                    key=f"read-{name}-{photo}",
                    width="stretch",
                ):
                    places.go("submission", attempt=attempt)
            elif st.button(_("Open on the projector"), key=f"show-{name}-{photo}", width="stretch"):
                places.go("projector", work=work.assignment.id, photo=photo, sign=item or "")


def _picture(work: ReviewedWork, photo: str) -> None:
    photo_id = work.slots[photo].photo_id
    if photo_id is not None:
        look.card_picture(f"/photos/{photo_id}/thumbnail.jpg", work.photo_name(photo))


def _contrast(work: ReviewedWork, item: str) -> None:
    keys = {photo: slot.key for photo, slot in work.slots.items() if slot.key is not None}
    pair = contrast_pair(work.review.table, keys, item)
    if pair is None:
        look.quiet(_("This set has no two photos that differ plainly in this sign; such a pair would help."))
        return
    with st.expander(_("Two photos side by side: with the sign, and without it")):
        for photo, words, column in zip(
            (pair.with_sign, pair.without_sign),
            (_("The key: seen"), _("The key: not seen")),
            st.columns(2),
            strict=True,
        ):
            with column:
                _picture(work, photo)
                look.card_text(work.photo_name(photo), [words])


def photo_signs(work: ReviewedWork, photo: str) -> None:
    """A photo's signs as a table: the key, and how many gave each answer."""
    table = work.review.table
    row = table.key.photos.index(photo)
    look.table(
        [
            _("Sign"),
            _("Key"),
            *(ANSWER_HEADINGS[answer] for answer in ANSWERS),
            _("Agree with the key"),
        ],
        [
            (
                _(item_words(checklist(), item)),
                _(answer_words(ANSWERS[table.key.answers[row, at]]) or "–"),
                *(str(count) for count in table.counts[row, at].tolist()),
                _("experts part")
                if table.key.disputed[row, at]
                else _percent(float(work.review.agreement_map[row, at])),
            )
            for at, item in enumerate(table.key.items)
            if table.key.answers[row, at] >= 0
        ],
        _("Answers to photo {photo}").format(photo=photo),
    )


def _percent(share: float) -> str:
    return "–" if isnan(share) else f"{100 * share:.0f} %"  # NaN: nobody was compared


def _parted(work: ReviewedWork) -> None:
    """Where the experts part: never a finding about the class, and often worth its hour."""
    if work.panel is None or not work.review.n_disputed:
        return
    table = work.review.table
    st.subheader(_("Where the experts themselves part"))
    look.quiet(
        _(
            "Here nobody is compared with the key. How the class splits shows how open the question is; "
            "both readings can be argued."
        )
    )
    look.table(
        [_("Photo"), _("Sign"), _("Experts"), _("The class")],
        [
            (
                work.photo_name(one.photo),
                _(item_words(checklist(), one.item)),
                ", ".join(_(answer_words(answer) or "–") for answer in one.answers.values()),
                _split(table.counts[table.key.photos.index(one.photo), table.key.items.index(one.item)].tolist()),
            )
            for one in work.panel.items
            if not one.agreed and one.item in table.key.items and one.photo in table.key.photos
        ],
        _("Where the experts part"),
    )


def _split(counts: list[int]) -> str:
    pairs = zip(counts, ANSWERS, strict=True)
    return ", ".join(f"{count} {_(ANSWER_WORDS[answer])}" for count, answer in pairs if count)


def _habits(work: ReviewedWork) -> None:
    found = {HABITS[one.finding.kind] for one in work.review.points if one.finding.kind in HABITS}
    with st.expander(_("Three habits that the review looks for")):
        for habit, meaning in MEANINGS.items():
            told = _("It stands out in this class.") if habit in found else _("It does not stand out in this class.")
            look.item(_(habit), f"{_(meaning)} {told}")


def heading(work: ReviewedWork, point: TeachingPoint) -> str:
    """What a finding is about, in words."""
    found = point.finding
    about = [
        _(item_words(checklist(), found.item)) if found.item else "",
        work.photo_name(found.photo) if found.photo else "",
        work.student_name(found.student) if found.student else "",
        _(plain_name(found.measure)) if found.measure else "",
    ]
    said = ", ".join(part for part in about if part)
    return said[:1].upper() + said[1:] if said else _("The class as a whole")
