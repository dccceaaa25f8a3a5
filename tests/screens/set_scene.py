"""A store for the tests of the pages of teaching sets, pages opened by name, and pictures that differ."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from records import teaching_sets as sets
from records.consent.consents import DollDeclaration, NewConsent
from records.key.reference_keys import write_key
from records.photo.photos import PhotoRecord, add_photo, list_photos
from rubric.answers import Answer, KeyAnswer, Phase, ReferenceKey, View
from screens import data
from vision.images import encode_jpeg
from vision.landmarks import LandmarkSet, Point
from vision.photo import Photo

MAIN = str(Path(__file__).resolve().parent.parent.parent / "screens" / "main.py")
KEY = ReferenceKey(
    phase=Phase.AT_BREAST,
    view=View.SIDE,
    answers={
        "close": KeyAnswer(answer=Answer.SEEN, why="no light <between> them & “close”"),
        "lips_out": KeyAnswer(answer=Answer.CANT_TELL, why="dark", accepted=frozenset({Answer.SEEN})),
    },
)
POINTS = LandmarkSet(
    points={
        name: Point(x=x, y=y, by="reference")
        for name, (x, y) in {
            "ear": (300, 100),
            "shoulder": (420, 180),
            "hip": (700, 330),
            "nose_tip": (100, 100),
        }.items()
    }
)


@dataclass
class File:
    """An upload, as Streamlit hands it out."""

    file_id: str
    name: str
    data: bytes

    @property
    def size(self) -> int:
        return len(self.data)

    def getvalue(self) -> bytes:
        return self.data


@contextmanager
def data_folder() -> Iterator[None]:
    """Let the screens open what the environment names, and let go of it afterwards."""
    data._opened.cache_clear()
    yield
    data.store().close()
    data._opened.cache_clear()


def picture(seed: int, width: int = 800, height: int = 600) -> bytes:
    """A JPEG of coarse coloured squares, another for each seed."""
    squares = np.random.default_rng(seed).integers(0, 256, (6, 8, 3), np.uint8)
    return encode_jpeg(Photo(pixels=cv2.resize(squares, (width, height), interpolation=cv2.INTER_NEAREST)))


def own_photo(seed: int = 1, consent: NewConsent | DollDeclaration | None = None, title: str = "") -> PhotoRecord:
    """A photo of the person at this computer."""
    jpeg = picture(seed)
    return add_photo(
        data.store(),
        data.me(),
        jpeg=jpeg,
        screen_jpeg=jpeg,
        width=800,
        height=600,
        title=title or f"Doll {seed}",
        consent=consent or DollDeclaration(confirmed=True),
    )


def keyed_photo(seed: int = 1, consent: NewConsent | None = None) -> PhotoRecord:
    """The same with a reference key."""
    photo = own_photo(seed, consent)
    write_key(data.store(), data.me(), photo.id, KEY, POINTS, expected_revision=0)
    return photo


def draft(*photos: PhotoRecord, title: str = "First looks") -> sets.VersionRecord:
    """A draft of these photos."""
    begun = sets.new_set(data.store(), data.me(), title).draft
    assert begun is not None
    return sets.add_photos(data.store(), data.me(), begun.id, [photo.id for photo in photos], expected_revision=1)


def published(*photos: PhotoRecord) -> sets.VersionRecord:
    """A published set of these photos."""
    built = draft(*photos)
    return sets.publish(data.store(), data.me(), built.id, expected_revision=built.revision, checklist_version="1")


def samples(n: int) -> list[PhotoRecord]:
    """The first shipped doll photos."""
    return [photo for photo in list_photos(data.store(), data.me()) if photo.sample_id][:n]


def page(name: str, *, patience_s: float = 60, **query: str) -> AppTest:
    """Open a page by its name in the address."""
    test = AppTest.from_file(MAIN, default_timeout=patience_s)
    for key, value in query.items():
        test.query_params[key] = value
    test._page_hash = calc_hash(name)
    test.run()
    assert not test.exception
    return test


def said(test: AppTest) -> str:
    """All words on the page, markup and all."""
    kinds = ("title", "header", "subheader", "markdown", "text", "error", "warning", "info", "success")
    parts = [str(element.value) for kind in kinds for element in test.get(kind)]
    return "\n".join([*parts, *(html.proto.body for html in test.get("html"))])


def press(test: AppTest, label: str, at: int = 0) -> AppTest:
    """Press a button by its words."""
    [one for one in test.button if one.label == label][at].click().run()
    assert not test.exception
    return test


def choose(test: AppTest, label: str, option: str) -> AppTest:
    """Choose one of a group of radio buttons by the words shown."""
    (radio,) = [one for one in test.radio if one.label.startswith(label)]
    (index,) = [at for at, words in enumerate(radio.options) if words == option or words.startswith(f"{option}:")]
    radio.set_value(radio.options[index]).run()
    assert not test.exception
    return test
