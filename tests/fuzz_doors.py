"""Fuzz every door through which bytes or values from strangers come in; no test, and not run by pytest.

    pip install atheris==3.0.0
    python tests/fuzz_doors.py DOOR FOLDER [libFuzzer's options, such as -max_total_time=600 -seed=1]

Each door may raise the errors that its package documents and nothing else, within 2 s of processor time and 500 MB above
what the program holds at rest. Whatever breaks that rule is kept once for each place in the code, as
FOLDER/finding-*.bin with the traceback beside it, and the run goes on. What is found becomes a test.
"""

import hashlib
import io
import json
import marshal
import resource
import sys
import tempfile
import time
import traceback
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import atheris

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent), str(HERE / "records"), str(HERE / "vision")]

with atheris.instrument_imports(include=["vision", "rubric", "records", "screens", "PIL", "zipfile", "tomllib", "csv"]):
    from PIL import Image

    from records.bundles.checking import checked_contents
    from records.bundles.opening import opened
    from records.errors import RecordsError
    from records.safekeeping.backup_form import MANIFEST, Held, Manifest, opened_backup
    from rubric.agreement.every import every_statistic
    from rubric.checklist import SHIPPED_PATH, checklist_from_toml
    from rubric.errors import RubricError
    from rubric.ratings import ratings_from_csv
    from screens.cover_editor.reading import read_value as read_covers
    from screens.editor.reading import read_value as read_points
    from vision.errors import VisionError
    from vision.images import encode_jpeg, read_photo
    from vision.landmark_files import landmarks_from_json, landmarks_to_json, parsed_json
    from vision.landmarks import HeadYaw, LandmarkSet, Point
    from vision.measures import measure_all

from tests.cover_sent import COVER  # noqa: E402 - after the path is set

MOST_SECONDS, MOST_KB = 2.0, 500 * 1024
TODAY = date(2026, 11, 25)
DEEP: Any = []
for _ in range(900):
    DEEP = [DEEP]
#: What no page of ours sends, and what JSON can hold all the same.
ODD: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 1, 0.5, 2, 2**53 + 1, 2**63, 10**400, -(10**400), 1e308, 5e-324),
    *(
        float("nan"),
        float("inf"),
        float("-inf"),
        "",
        "\0",
        "\ud800",
        "x" * 70_000,
        "p0",
        "a0",
        "chin",
        "ear",
        "student",
    ),
    *([], {}, DEEP, {"x": DEEP}, [0, 0, 1, 1], [[0]] * 5000, {f"n{i}": {"x": 0, "y": 0} for i in range(5000)}, {1: 2}),
)


@dataclass(frozen=True, kw_only=True)
class Door:
    """Where something comes in: what it does with it, what it may raise, what to start from, and what is made of the bytes.

    What the bytes are made into first, such as an odd bundle, is the fuzzing's own work and not watched.
    """

    open: Callable[[Any], object]
    may_raise: tuple[type[Exception], ...] = ()
    seeds: Callable[[], list[bytes]] = lambda: [bytes(range(n, n + 64)) for n in range(0, 192, 16)]
    made: Callable[[bytes], Any] = bytes


def forged(value: Any, data: bytes) -> Any:
    """The value with up to four parts of it left out, put in, or made into something odd, as the bytes say."""
    pick = atheris.FuzzedDataProvider(data)
    whole = [json.loads(json.dumps(value))]
    for _ in range(pick.ConsumeIntInRange(1, 4)):
        at: Any = whole
        while True:
            names = list(at) if isinstance(at, dict) else list(range(len(at)))
            name = names[pick.ConsumeIntInRange(0, len(names) - 1)] if names else None
            if name is not None and isinstance(at[name], dict | list) and pick.ConsumeIntInRange(0, 3):
                at = at[name]
                continue
            odd = ODD[pick.ConsumeIntInRange(0, len(ODD) - 1)]
            # A copy, since later parts may be forged within it; copy.deepcopy would give up at DEEP.
            new = marshal.loads(marshal.dumps(odd)) if pick.ConsumeBool() else pick.ConsumeFloat()
            if name is None or (at is not whole and pick.ConsumeIntInRange(0, 4) == 0):
                at.append(new) if isinstance(at, list) else at.update({pick.ConsumeUnicode(8): new})
            elif at is not whole and pick.ConsumeIntInRange(0, 4) == 0:
                del at[name]
            else:
                at[name] = new
            break
    return whole[0]


POINTS_SENT = {
    "edit": 3,
    "revision": 1,
    "points": {"chin": {"x": 0.5, "y": 0.25, "v": 2, "by": "student"}, "ear": {"x": 0.1, "y": 0.2, "v": 1, "by": "x"}},
    "yaw": {"deg": 80, "by": "student"},
    "pins": {"close": {"x": 0.5, "y": 0.5}},
    "box": [0.1, 0.1, 0.5, 0.5],
}
COVERS_SENT = {"edit": 1, "revision": 0, "areas": [COVER, COVER], "crop": [0, 0, 300, 300]}
LANDMARKS = {
    "landmarks": {
        name: {"x": x, "y": y, "sigma": 3, "visibility": 2, "by": "student"}
        for name, x, y in (
            *(("ear", 100, 100), ("nose_tip", 220, 110), ("chin", 190, 180), ("mouth_corner", 170, 140)),
            *(("upper_lip_edge", 215, 130), ("lower_lip_edge", 205, 160), ("shoulder", 90, 220), ("hip", 80, 480)),
            *(("areola_above", 240, 110), ("areola_below", 235, 170), ("breast_at_nose", 235, 105)),
            *(("breast_at_chin", 215, 180), ("scale_a", 5, 5), ("scale_b", 105, 5)),
        )
    },
    "head_yaw_deg": 85,
    "mm_per_pixel": 0.5,
    "camera_elevation_deg": 3,
    "body_view": "side",
    "gape_reading": {"deg": 120, "sigma_deg": 8, "by": "profile"},
}
BASE = LandmarkSet(points={"chin": Point(x=400, y=150, by="detector")}, head_yaw=HeadYaw(deg=80, sigma_deg=5, by="x"))


def _points(sent: object) -> None:
    value = read_points(sent, width=800, height=600, base=BASE)
    if value is not None:
        measure_all(landmarks_from_json(landmarks_to_json(value.landmarks)))


def _landmarks(value: object) -> None:
    read = landmarks_from_json(value)
    measure_all(read)
    json.dumps(landmarks_to_json(read), allow_nan=False)


def _ratings(data: bytes) -> None:
    table = ratings_from_csv(data)
    if len(table.raters) * len(table.rows) < 200:
        every_statistic(table.rows)


def _pictures() -> list[bytes]:
    picture = Image.effect_noise((72, 66), 60).convert("RGB")
    found = [(HERE / "data" / "doll.heic").read_bytes()]
    for kind, mode, options in (
        *(("JPEG", "RGB", {}), ("JPEG", "CMYK", {}), ("JPEG", "L", {"progressive": True}), ("PNG", "RGBA", {})),
        *(
            ("PNG", "P", {}),
            ("PNG", "I;16", {}),
            ("PNG", "1", {}),
            ("WEBP", "RGB", {}),
            ("WEBP", "RGBA", {"lossless": True}),
        ),
        *(("TIFF", "RGB", {}), ("TIFF", "RGB", {"compression": "tiff_lzw"}), ("TIFF", "CMYK", {"compression": "jpeg"})),
        *(("TIFF", "1", {"compression": "group4"}), ("TIFF", "LAB", {}), ("HEIF", "RGB", {"quality": 10})),
    ):
        stream = io.BytesIO()
        made = picture.convert("L").convert(mode) if mode == "I;16" else picture.convert("L" if mode == "1" else "RGB")
        try:
            (made if mode in ("I;16", "LAB") else made.convert(mode)).save(stream, kind, **options)
        except (OSError, KeyError, ValueError):
            continue  # this machine's Pillow cannot write that kind; the others remain
        found.append(stream.getvalue())
    return found


def _sound_bundle() -> bytes:
    from bundle_scene import a_published_set, sent, sqlite_scene_in

    with tempfile.TemporaryDirectory() as folder:
        scene = sqlite_scene_in(Path(folder) / "data")
        try:
            return sent(scene, a_published_set(scene).id)
        finally:
            scene.store.close()


def _bundle(data: bytes) -> None:
    with opened(io.BytesIO(data)) as bundle:
        checked_contents(bundle, TODAY)


def _odd_bundles() -> Callable[[bytes], bytes]:
    """Makes bundles that hold together but for what one of their texts says."""
    from bundle_scene import Parts

    sound = _sound_bundle()

    def made(data: bytes) -> bytes:
        parts = Parts.of(sound)
        name = ("manifest.json", "points.json", "keys.json")[data[0] % 3 if data else 0]
        try:
            return parts.edit(name, lambda value: forged(value, data[1:])).zipped()
        except UnicodeEncodeError:
            return sound

    return made


def _sound_backup() -> bytes:
    from alembic.script import ScriptDirectory

    from records.storage import schema

    head = ScriptDirectory.from_config(schema.config()).get_current_head()
    body = b"SQLite format 3\0" + bytes(84)
    held = {"records.sqlite3": Held(size=len(body), sha256=hashlib.sha256(body).hexdigest())}
    manifest = Manifest(made_at="2026-11-25", revision=str(head), journal_number=0, journal_sha256="", files=held)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as whole:
        whole.writestr(MANIFEST, manifest.to_bytes())
        whole.writestr("records.sqlite3", body)
    return stream.getvalue()


def _backup(data: bytes) -> None:
    with tempfile.NamedTemporaryFile(dir="/dev/shm" if Path("/dev/shm").is_dir() else None) as file:
        file.write(data)
        file.flush()
        with opened_backup(Path(file.name)):
            pass


def _text_seeds(*texts: str | Path) -> Callable[[], list[bytes]]:
    return lambda: [text.read_bytes() if isinstance(text, Path) else text.encode() for text in texts]


DOORS: dict[str, Callable[[], Door]] = {
    "photo": lambda: Door(open=lambda d: encode_jpeg(read_photo(d)), may_raise=(VisionError,), seeds=_pictures),
    "landmarks": lambda: Door(
        open=lambda data: _landmarks(parsed_json(data, "file")),
        may_raise=(VisionError,),
        seeds=_text_seeds(json.dumps(LANDMARKS), "[" * 5000),
    ),
    "landmarks_forged": lambda: Door(
        open=_landmarks, may_raise=(VisionError,), made=lambda data: forged(LANDMARKS, data)
    ),
    "points": lambda: Door(open=_points, made=lambda data: forged(POINTS_SENT, data)),
    "covers": lambda: Door(
        open=lambda sent: read_covers(sent, width=800, height=600), made=lambda data: forged(COVERS_SENT, data)
    ),
    "checklist": lambda: Door(
        open=lambda data: checklist_from_toml(data.decode("utf-8", "replace")),
        may_raise=(RubricError,),
        seeds=_text_seeds(
            SHIPPED_PATH, 'version = "1"\n[bands.gape_angle]\nnames = ["a", "b"]\nedges = [90]\nnote = "x"\n'
        ),
    ),
    "ratings": lambda: Door(
        open=_ratings,
        may_raise=(RubricError,),
        seeds=_text_seeds("item,Ann,Bo\na,seen,not_seen\nb,,seen\n", 'sep=;\nitem;A;B\n"a";1;2\nb;3;4\n'),
    ),
    "bundle": lambda: Door(open=_bundle, may_raise=(RecordsError,), seeds=lambda: [_sound_bundle()]),
    "bundle_texts": lambda: Door(open=_bundle, may_raise=(RecordsError,), made=_odd_bundles()),
    "backup": lambda: Door(open=_backup, may_raise=(RecordsError,), seeds=lambda: [_sound_backup()]),
}


def _peak_kb() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def watched(door: Door, folder: Path) -> Callable[[bytes], None]:
    """The door with the rule around it."""
    peak = [_peak_kb()]

    def one(data: bytes) -> None:
        given = door.made(data)
        began, said = time.process_time(), ""
        try:
            door.open(given)
        except door.may_raise:
            pass
        except Exception:
            said = traceback.format_exc()
        spent, before, peak[0] = time.process_time() - began, peak[0], _peak_kb()
        if spent > MOST_SECONDS:
            said = f"{spent:.1f} s of processor time"
        elif peak[0] - before > MOST_KB:
            said = f"{(peak[0] - before) // 1024} MB more than ever before"
        if said:
            place = [line for line in said.splitlines() if line.startswith("  File")] or [said.split()[-1]]
            name = hashlib.sha256("".join(place[-2:]).encode()).hexdigest()[:12]
            (folder / f"finding-{name}.bin").write_bytes(data)
            (folder / f"finding-{name}.txt").write_text(said, encoding="utf-8", errors="replace")

    return one


def main() -> None:
    """Fuzz one door."""
    name, folder, *options = sys.argv[1:]
    door = DOORS[name]()
    corpus = Path(folder) / "corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    for seed in door.seeds():
        (corpus / hashlib.sha256(seed).hexdigest()[:16]).write_bytes(seed)
    atheris.Setup([sys.argv[0], *options, str(corpus)], watched(door, Path(folder)))
    atheris.Fuzz()


if __name__ == "__main__":
    main()
