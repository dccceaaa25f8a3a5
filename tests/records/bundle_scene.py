"""A published set to send out, folders to take it into, and zips put together by hand, right or wrong."""

import hashlib
import json
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image
from records_scene import DOLL, KEY, KEY_POINTS, POINTS, Clock, Scene, add, clean_jpeg, consent_of

from records import teaching_sets as sets
from records.bundles import make_bundle, take_in, write_out
from records.bundles.packing import entry
from records.consent.consents import Scope
from records.identity.people import local_person
from records.key.keys import set_key
from records.models import Base
from records.store import Store
from records.teaching_sets import VersionRecord
from rubric.answers import Answer, KeyAnswer, Phase, Settles

#: With a yaw, a scale and a hidden point, as one that somebody confirmed.
CHECKED_POINTS = POINTS.with_points({"ear": replace(POINTS.points["ear"], by="reference")})
SECOND_KEY = replace(
    KEY,
    phase=Phase.BEFORE,
    answers={
        "opens_wide": KeyAnswer(answer=Answer.CANT_TELL, why="the lower lip is hidden", settles=Settles.CLOSER),
        "close": KeyAnswer(answer=Answer.SEEN, why="no space between ‘them’", accepted=frozenset({Answer.CANT_TELL})),
    },
)


def sqlite_scene_in(folder: Path) -> Scene:
    """A store on SQLite, whatever database the environment names."""
    clock = Clock()
    folder.mkdir(parents=True)
    store = Store.open(folder, f"sqlite:///{folder / 'records.sqlite3'}", now=clock)
    return Scene(store=store, person=local_person(store), clock=clock, folder=folder)


def screen_copy(jpeg: bytes) -> bytes:
    """A smaller copy, as the screens would make it."""
    stream = BytesIO()
    with Image.open(BytesIO(jpeg)) as picture:
        picture.convert("RGB").reduce(2).save(stream, "JPEG")
    return stream.getvalue()


def a_published_set(scene: Scene) -> VersionRecord:
    """Two dolls and two photos of a consented pair, one with a consent that lets it travel and one without."""
    travels = consent_of(scene.clock, Scope.TEACHING_SETS, Scope.PRINTED, Scope.OWN_PRACTICE, Scope.OWN_CLASS)
    stays = consent_of(scene.clock, Scope.TEACHING_SETS, Scope.OWN_PRACTICE, shown="pair 4")
    made = [
        add(scene.store, scene.person, consent, title=title, shade=shade)
        for consent, title, shade in (
            (DOLL, "Doll A, cradle", 10),
            (travels, "Pair 3, side", 60),
            (stays, "Pair 4, front", 110),
            (DOLL, "Doll B, laid-back", 160),
        )
    ]
    for number, photo in enumerate(made):
        key, points = ((KEY, KEY_POINTS), (SECOND_KEY, CHECKED_POINTS))[number % 2]
        set_key(scene.store, scene.person, photo.id, key, points)
    begun = sets.new_set(scene.store, scene.person, "First looks").draft
    assert begun is not None
    version = sets.add_photos(
        scene.store, scene.person, begun.id, [photo.id for photo in made], expected_revision=begun.number
    )
    for photo_id, difficulty in ((made[0].id, 1), (made[3].id, 3)):
        version = sets.set_difficulty(
            scene.store, scene.person, version.id, photo_id, difficulty, expected_revision=version.revision
        )
    version = sets.set_note(
        scene.store, scene.person, version.id, made[1].id, "ask\nabout the chin", expected_revision=version.revision
    )
    version = sets.set_notes(
        scene.store, scene.person, version.id, "For week 2, “contrast pairs”", expected_revision=version.revision
    )
    return sets.publish(
        scene.store, scene.person, version.id, expected_revision=version.revision, checklist_version="2026-11"
    )


def sent(scene: Scene, version_id: str, to_whom: str = "Linden Room, second site") -> bytes:
    """The bytes of a bundle made now."""
    made = make_bundle(scene.store, scene.person, version_id, to_whom=to_whom)
    stream = BytesIO()
    write_out(scene.store, scene.person, made.id, stream)
    return stream.getvalue()


def received(scene: Scene, bundle: bytes) -> VersionRecord:
    """What taking the bundle in gives."""
    return take_in(scene.store, scene.person, BytesIO(bundle), screen_copy=screen_copy).version


def state_of(scene: Scene) -> tuple[Any, ...]:
    """All rows of all tables and all files of the data folder but the database's own, to compare before and after."""
    with scene.store.reading() as session:
        rows = {table.name: session.execute(table.select()).all() for table in Base.metadata.sorted_tables}
    files = {
        path.relative_to(scene.folder).as_posix(): path.read_bytes()
        for path in sorted(scene.folder.rglob("*"))
        if path.is_file() and not path.name.startswith("records.sqlite3")
    }
    return rows, files


@dataclass
class Parts:
    """A bundle taken apart: its files by name, to change and to put together again."""

    files: dict[str, bytes]

    @classmethod
    def of(cls, bundle: bytes) -> "Parts":
        with zipfile.ZipFile(BytesIO(bundle)) as whole:
            return cls(files={name: whole.read(name) for name in whole.namelist()})

    def edit(self, name: str, change: Callable[[Any], Any]) -> "Parts":
        """Change a JSON file; a change that returns None worked in place."""
        value = json.loads(self.files[name])
        changed = change(value)
        self.files[name] = json.dumps(value if changed is None else changed).encode()
        return self

    def zipped(self, *, right_sums: bool = True, infos: Mapping[str, zipfile.ZipInfo] | None = None) -> bytes:
        """A zip in the form of ours, with a list of hashes that fits unless told otherwise."""
        if right_sums:
            self.files["SHA256SUMS"] = sums_of(self.files)
        stream = BytesIO()
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as whole:
            for name, data in self.files.items():
                whole.writestr((infos or {}).get(name) or entry(name), data)
        return stream.getvalue()


def sums_of(files: Mapping[str, bytes]) -> bytes:
    """The list of hashes of all files but itself."""
    lines = (f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in files.items() if name != "SHA256SUMS")
    return "".join(lines).encode()


def dirty_jpeg() -> bytes:
    """A JPEG of the scene's size that carries a comment."""
    plain = clean_jpeg()
    return plain[:2] + b"\xff\xfe\x00\x08secret" + plain[2:]
