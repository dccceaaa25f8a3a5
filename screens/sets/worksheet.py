"""A published set on paper: a worksheet to fill in, and the same with the reference key.

Only photos whose consent covers printed material at this moment are printed; the others are listed. Each page says that
it trains observation and what to mind.
"""

from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any

from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable, Image, KeepTogether, PageBreak, Paragraph, Spacer, Table

from records.consent.consents import Scope
from records.errors import ConsentRefused, InvalidRecord
from records.identity.people import Person
from records.photo.photos import read_bytes
from records.store import Store
from records.teaching_sets import FrozenKey, SetPhoto, State, VersionRecord, sheet_to_print
from rubric.items import Item
from rubric.words import ANSWER_WORDS, PHASE_WORDS, SETTLES_WORDS, VIEW_WORDS, sentence
from screens.data import checklist
from screens.language import _, _n
from screens.language import said as refusal
from screens.practice.measuring import ALWAYS_SHOWN, texts
from screens.sets.worksheet_parts import (
    BODY,
    BOLD,
    HEADING,
    RULE,
    TITLE,
    WIDTH,
    Boxes,
    built,
    escaped,
    letters_of_the_font,
    table,
)
from vision.images import crop, encode_jpeg, read_photo, reduced
from vision.landmarks import LandmarkSet
from vision.measures import measure_all
from vision.overlay import draw_overlay

_PICTURE_HIGH = 98 * mm
#: 200 pixels an inch at the printed width.
_PRINTED_LONGEST = 1400


def worksheet_pdf(store: Store, person: Person, version_id: str, *, with_key: bool) -> bytes:
    """The bytes of the PDF.

    Parameters
    ----------
    with_key : bool
        With the points and measures drawn on each photo, the answers and why; else boxes and lines to fill in.

    Raises
    ------
    InvalidRecord
        For a draft, or where no photo's consent covers printed material.
    NotFound, NotAllowed, StorageFault
    """
    letters_of_the_font()
    sheet = sheet_to_print(store, person, version_id)
    version = sheet.version
    if version.state == State.DRAFT:
        raise InvalidRecord(_("A worksheet is made of a published set."))
    printed, left_out = printable(store, person, version)
    if not printed:
        raise InvalidRecord(_("No photo of this set has a consent that covers printed material."))
    parts: list[Flowable] = []
    for photo, jpeg in printed:
        key = sheet.keys[str(photo.photo_id)]
        parts += _photo_page(version, photo, jpeg, key, with_key=with_key)
        parts.append(PageBreak())
    parts += list(_last_page(version, left_out)) if left_out else []
    named = _("{title}, version {number}").format(title=version.title, number=version.number)
    return built(
        parts if left_out else parts[:-1],
        title=_("{set}, with key").format(set=named) if with_key else named,
        head=_("{set}  ·  reference key").format(set=named) if with_key else named,
    )


def printable(
    store: Store, person: Person, version: VersionRecord
) -> tuple[list[tuple[SetPhoto, bytes]], list[tuple[SetPhoto, str]]]:
    """The photos that may be printed with their bytes, and the others with why not."""
    printed, left_out = [], []
    for photo in version.photos:
        if photo.photo_id is None:
            left_out.append((photo, _("It was removed.")))
            continue
        try:
            printed.append((photo, read_bytes(store, person, photo.photo_id, "full", use=Scope.PRINTED)))
        except ConsentRefused as refused:
            left_out.append((photo, refusal(refused)))
    return printed, left_out


def _photo_page(
    version: VersionRecord, photo: SetPhoto, jpeg: bytes, key: FrozenKey, *, with_key: bool
) -> list[Flowable]:
    said = key.key
    items = checklist().items_for(said.phase, said.view)
    heading = _("Photo {position} of {n}").format(position=photo.position, n=len(version.photos))
    parts: list[Flowable] = [
        Paragraph(heading, TITLE),
        Paragraph(
            sentence(
                _("taken {phase}, {view}").format(phase=_(PHASE_WORDS[said.phase]), view=_(VIEW_WORDS[said.view]))
            ),
            BODY,
        ),
        Spacer(0, 2 * mm),
        _picture(jpeg, key.landmarks if with_key else None),
        Spacer(0, 2.5 * mm),
    ]
    if with_key:
        return [*parts, *_key_rows(items, key), *_measured(key.landmarks)]
    return [*parts, _boxes(items), *_lines()]


def _picture(jpeg: bytes, landmarks: LandmarkSet | None) -> Image:
    shown = reduced(read_photo(jpeg), _PRINTED_LONGEST)
    if landmarks is not None:
        photo = read_photo(jpeg)
        drawn = draw_overlay(photo, landmarks, measure_all(landmarks), longest=_PRINTED_LONGEST, say=_)
        # The strip of values under the picture is too small for paper; the values stand below in letters.
        shown = crop(drawn, 0, 0, shown.width, shown.height)
    data = BytesIO(encode_jpeg(shown, quality=88))
    width, height = ImageReader(data).getSize()
    scale = min(WIDTH / width, _PICTURE_HIGH / height)
    data.seek(0)
    return Image(data, width=width * scale, height=height * scale)


def _boxes(items: Sequence[Item]) -> Table:
    words = [_("seen"), _("not seen"), _("can't tell")]
    boxes = [Boxes(words) for _item in items]
    column = Boxes(words).width + 2 * mm
    rows = [
        [Paragraph(f"{n}. {escaped(_(item.text))}", BODY), drawn]
        for n, (item, drawn) in enumerate(zip(items, boxes, strict=True), 1)
    ]
    return table(rows, [WIDTH - column, column])


def _lines() -> list[Flowable]:
    labels = (_("Mouth opens, degrees"), _("Body line, degrees"), _("Head against the body line, degrees"))
    third = WIDTH / 3
    row = [Paragraph(f"{label}: ________", BODY) for label in labels]
    notes = [[Paragraph(_("What I looked at, and which view would settle what I could not tell:"), BODY)], [""], [""]]
    ruled = [("LINEBELOW", (0, place), (0, place), 0.5, RULE) for place in (1, 2)]
    return [
        Spacer(0, 2.5 * mm),
        table([row], [third] * 3, ruled=False),
        table(notes, [WIDTH], [None, 7 * mm, 7 * mm], ruled=False, style=ruled),
    ]


def _key_rows(items: Sequence[Item], key: FrozenKey) -> list[Flowable]:
    rows: list[list[Any]] = []
    for number, item in enumerate(items, start=1):
        answer = key.key.answers.get(item.id)
        if answer is None:
            said, why = _("not in the key"), ""
        else:
            also = escaped(_("also: {answers}")).format(
                answers=", ".join(escaped(_(ANSWER_WORDS[one])) for one in sorted(answer.accepted))
            )
            said = f"<font name='{BOLD}'>{escaped(_(ANSWER_WORDS[answer.answer]))}</font>"
            said += f"<br/>{also}" if answer.accepted else ""
            why = escaped(answer.why) + (
                " " + escaped(_("Settled by {view}.").format(view=_(SETTLES_WORDS[answer.settles])))
                if answer.settles
                else ""
            )
        rows.append(
            [Paragraph(f"{number}. {escaped(_(item.text))}", BODY), Paragraph(said, BODY), Paragraph(why, BODY)]
        )
    return [table(rows, [0.36 * WIDTH, 0.2 * WIDTH, 0.44 * WIDTH])]


def _measured(landmarks: LandmarkSet | None) -> list[Flowable]:
    if landmarks is None:
        return []
    lines = [_(line) for name, line in texts(landmarks).items() if name in ALWAYS_SHOWN]
    head = Paragraph(_("Measures from the key's points, with 95 % ranges"), HEADING)
    return [KeepTogether([head, *(Paragraph(escaped(line), BODY) for line in lines)])]


def _last_page(version: VersionRecord, left_out: Sequence[tuple[SetPhoto, str]]) -> Iterator[Flowable]:
    n = len(left_out)
    yield Paragraph(_("Not printed"), TITLE)
    yield Paragraph(
        _n(
            "{n} of the {total} photos is not printed here, because the consent does not cover printed material today or "
            "the photo is gone.",
            "{n} of the {total} photos are not printed here, because the consent does not cover printed material today or "
            "the photo is gone.",
            n,
        ).format(n=n, total=len(version.photos)),
        BODY,
    )
    yield Spacer(0, 2 * mm)
    for photo, why in left_out:
        yield Paragraph(_("Photo {position}: {why}").format(position=photo.position, why=escaped(why)), BODY)
