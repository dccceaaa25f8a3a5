"""Whatever is wrong with a bundle, it is refused in one sentence and leaves nothing behind."""

import hashlib
import json
import stat
import struct
import zipfile
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from bundle_scene import Parts, a_published_set, dirty_jpeg, received, screen_copy, sent, sqlite_scene_in, state_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from records_scene import Scene, clean_jpeg, is_one_sentence

from records.bundles import form, take_in
from records.bundles.opening import OpenBundle
from records.bundles.packing import entry
from records.bundles.strict_json import MAX_DEPTH, strict_json
from records.errors import BundleRefused
from vision.errors import VisionError

PHOTO = "photos/001.jpg"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A bundle as it should be."""
    scene = sqlite_scene_in(tmp_path_factory.mktemp("origin") / "data")
    try:
        return sent(scene, a_published_set(scene).id)
    finally:
        scene.store.close()


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scene]:
    """A data folder into which nothing may get; the tests share it and each sees that it is as it was."""
    scene = sqlite_scene_in(tmp_path_factory.mktemp("target") / "data")
    yield scene
    scene.store.close()


def raw(files: dict[str, bytes], infos: dict[str, zipfile.ZipInfo] | None = None) -> bytes:
    return Parts(files=files).zipped(infos=infos)


def renamed(parts: Parts, old: str, new: str) -> bytes:
    return raw({new if name == old else name: data for name, data in parts.files.items()})


def with_file(name: str, data: bytes = b"x") -> Callable[[Parts], bytes]:
    return lambda parts: raw({**parts.files, name: data})


def without_file(name: str) -> Callable[[Parts], bytes]:
    return lambda parts: raw({kept: data for kept, data in parts.files.items() if kept != name})


def with_text(name: str, data: bytes) -> Callable[[Parts], bytes]:
    return lambda parts: raw({**parts.files, name: data})


def edited(name: str, change: Callable[[Any], Any]) -> Callable[[Parts], bytes]:
    return lambda parts: parts.edit(name, change).zipped()


def manifest(path: str, value: object) -> Callable[[Parts], bytes]:
    """The manifest with one value changed, named by its path; `DROP` takes it out."""

    def change(whole: Any) -> None:
        *steps, last = [int(step) if step.isdigit() else step for step in path.split("/")]
        at = whole
        for step in steps:
            at = at[step]
        if value is DROP:
            del at[last]
        else:
            at[last] = value

    return edited("manifest.json", change)


DROP = object()


def photo_bytes(data: bytes) -> Callable[[Parts], bytes]:
    """Another picture, with hashes and seal left as they were unless the check comes before."""

    def put(parts: Parts) -> bytes:
        parts.files[PHOTO] = data
        return parts.zipped()

    return put


def packed(parts: Parts) -> bytes:
    """The whole as an ordinary packed zip, which other programs make."""
    parts.files["SHA256SUMS"] = b"".join(
        f"{hashlib.sha256(data).hexdigest()}  {name}\n".encode()
        for name, data in parts.files.items()
        if name != "SHA256SUMS"
    )
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as whole:
        for name, data in parts.files.items():
            whole.writestr(name, data)
    return stream.getvalue()


def bomb(parts: Parts) -> bytes:
    """A picture of 50 MB of zeros in some kilobytes."""
    info = entry(PHOTO)
    info.compress_type = zipfile.ZIP_DEFLATED
    parts.files[PHOTO] = bytes(50 * 1024 * 1024)
    return raw(parts.files, {PHOTO: info})


def patched(bundle: bytes, name: str, *, offset: int, form: str, value: int) -> bytes:
    """The zip with one number of a file's line in the directory changed."""
    at = bundle.rindex(name.encode()) - 46
    assert bundle[at : at + 4] == b"PK\x01\x02"
    place = at + offset
    return bundle[:place] + struct.pack(form, value) + bundle[place + struct.calcsize(form) :]


def says_longer(parts: Parts) -> bytes:
    """A file that says that it is 4 GB long, packed and unpacked."""
    whole = patched(parts.zipped(), "SHA256SUMS", offset=20, form="<I", value=0xFFFFFFF0)
    return patched(whole, "SHA256SUMS", offset=24, form="<I", value=0xFFFFFFF0)


def says_longer_when_unpacked(parts: Parts) -> bytes:
    return patched(parts.zipped(), PHOTO, offset=24, form="<I", value=1_000_000)


def says_shorter(parts: Parts) -> bytes:
    whole = patched(parts.zipped(), PHOTO, offset=20, form="<I", value=10)
    return patched(whole, PHOTO, offset=24, form="<I", value=10)


def overlapping(parts: Parts) -> bytes:
    """Two lines of the directory that point to the same file."""
    whole = parts.zipped()
    first = whole.index(b"photos/001.jpg") - 30
    return patched(whole, "photos/002.jpg", offset=42, form="<I", value=first)


def encrypted(parts: Parts) -> bytes:
    return patched(parts.zipped(), PHOTO, offset=8, form="<H", value=1)


def damaged(parts: Parts) -> bytes:
    whole = parts.zipped()
    at = whole.index(parts.files[PHOTO]) + 50
    return whole[:at] + bytes([whole[at] ^ 0xFF]) + whole[at + 1 :]


def link(parts: Parts) -> bytes:
    info = entry(PHOTO)
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    return raw(parts.files, {PHOTO: info})


def twice(parts: Parts) -> bytes:
    stream = BytesIO(parts.zipped())
    with pytest.warns(UserWarning, match="Duplicate name"), zipfile.ZipFile(stream, "a") as whole:
        whole.writestr(entry(PHOTO), parts.files[PHOTO])
    return stream.getvalue()


def with_extra_field(parts: Parts) -> bytes:
    info = entry(PHOTO)
    # A kind that no version of zipfile reads itself.
    info.extra = struct.pack("<HH4s", 0xCAFE, 4, b"note")
    return raw(parts.files, {PHOTO: info})


def with_name_that_is_no_text(parts: Parts) -> bytes:
    """The directory promises a UTF-8 name, and before the file itself stand other bytes (found by fuzzing)."""
    whole = bytearray(parts.zipped())
    directory = whole.index(b"PK\x01\x02")
    for flags in (6, directory + 8):
        whole[flags + 1] |= 0x08
    whole[30] = 0xA4
    return bytes(whole)


def with_zip_comment(parts: Parts) -> bytes:
    stream = BytesIO(parts.zipped())
    with zipfile.ZipFile(stream, "a") as whole:
        whole.comment = b"hello"
    return stream.getvalue()


def with_gap(parts: Parts) -> bytes:
    """Bytes between the last file and the directory that no line names."""
    whole = parts.zipped()
    directory = whole.index(b"PK\x01\x02")
    end = len(whole) - 22
    moved = struct.pack("<I", directory + 4)
    return whole[:directory] + b"more" + whole[directory:end] + whole[end : end + 16] + moved + whole[end + 20 :]


def other_hash(parts: Parts) -> bytes:
    sums = parts.files["SHA256SUMS"]
    parts.files["SHA256SUMS"] = (b"1" if sums[:1] == b"0" else b"0") + sums[1:]
    return parts.zipped(right_sums=False)


def sums(change: Callable[[bytes], bytes]) -> Callable[[Parts], bytes]:
    def put(parts: Parts) -> bytes:
        parts.files["SHA256SUMS"] = change(parts.files["SHA256SUMS"])
        return parts.zipped(right_sums=False)

    return put


def other_picture_of_the_same_size(parts: Parts) -> bytes:
    """Every list of hashes is made to fit, so only the seal tells."""
    parts.files[PHOTO] = clean_jpeg(shade=200)
    digest = hashlib.sha256(parts.files[PHOTO]).hexdigest()
    return parts.edit("manifest.json", lambda whole: whole["photos"][0].update(sha256=digest)).zipped()


def doubled_photo(whole: Any) -> None:
    whole["photos"][1]["origin_id"] = whole["photos"][0]["origin_id"]


def two_words_on_one_consent(whole: Any) -> None:
    whole["photos"][1]["consent"]["record"] = whole["photos"][0]["consent"]["record"]


def first_point(change: Callable[[dict[str, Any]], None]) -> Callable[[Parts], bytes]:
    return edited("points.json", lambda whole: change(whole["annotations"][0]))


def raw_json(name: str, old: bytes, new: bytes) -> Callable[[Parts], bytes]:
    """A JSON file with its text changed, so that it need not be JSON any more."""

    def put(parts: Parts) -> bytes:
        assert old in parts.files[name]
        parts.files[name] = parts.files[name].replace(old, new, 1)
        return parts.zipped()

    return put


NEST = b"[" * 100_000 + b"]" * 100_000

BROKEN: dict[str, tuple[Callable[[Parts], bytes], str]] = {
    # the zip itself
    "no zip": (lambda _: b"PK but no zip", "not a whole zip"),
    "empty file": (lambda _: b"", "not a whole zip"),
    "cut short": (lambda parts: parts.zipped()[:-30], "not a whole zip"),
    "cut in the middle": (lambda parts: parts.zipped()[:4000], "not a whole zip"),
    "text before it": (lambda parts: b"#!/bin/sh\n" + parts.zipped(), "more than its files"),
    "text after it": (lambda parts: parts.zipped() + b"more", "more than its files|not a whole zip"),
    "a comment of the zip": (with_zip_comment, "more than its files"),
    "an extra field": (with_extra_field, "more than its files"),
    "a gap before the directory": (with_gap, "more than its files"),
    "files that overlap": (overlapping, "overlap"),
    "packed": (packed, "is packed"),
    "a bomb": (bomb, "is packed"),
    "says 4 GB": (says_longer, "longer than 8 MB"),
    "says longer unpacked": (says_longer_when_unpacked, "is packed"),
    "says shorter": (says_shorter, "overlap|more than its files"),
    "encrypted": (encrypted, "encrypted"),
    "a flipped bit": (damaged, "is damaged"),
    "too many files": (
        lambda parts: raw({**parts.files, **{f"photos/{number}": b"" for number in range(300)}}),
        "at most 205",
    ),
    # names
    "a parent folder": (with_file("../evil.py"), "outside itself"),
    "a parent folder inside": (with_file("photos/../../evil.jpg"), "outside itself"),
    "an absolute path": (with_file("/etc/evil"), "outside itself"),
    "a backslash": (with_file("photos\\001.jpg"), "outside itself"),
    "a parent by backslash": (with_file("..\\evil"), "outside itself"),
    "a drive letter": (with_file("C:/evil.jpg"), "outside itself"),
    "a drive without a slash": (with_file("C:evil.jpg"), "outside itself"),
    "a line break in a name": (with_file("photos/001.jpg\nx"), "outside itself"),
    "a zero in a name": (
        lambda parts: renamed(parts, PHOTO, "photos/001.jpg").replace(b"photos/002.jpg", b"photos/002.jp\0"),
        "outside itself",
    ),
    "a link": (link, "a link"),
    "a name twice": (twice, "twice"),
    "a name in other letters": (with_file("Photos/001.JPG"), "twice"),
    "a folder": (with_file("photos/", b""), "does not belong"),
    "a file that nobody asked for": (with_file("run.sh"), "does not belong"),
    "a picture too many": (with_file("photos/004.jpg", clean_jpeg()), "not those that its manifest.json names"),
    "photo number 000": (with_file("photos/000.jpg", clean_jpeg()), "does not belong"),
    "no manifest": (without_file("manifest.json"), "lacks manifest.json"),
    "no points": (without_file("points.json"), "lacks points.json"),
    "no keys": (without_file("keys.json"), "lacks keys.json"),
    "a photo missing": (without_file(PHOTO), "not those that its manifest.json names"),
    # hashes
    "wrong hashes": (other_hash, "list of hashes says"),
    "no hashes": (sums(lambda _: b""), "exactly the files"),
    "a hash too few": (sums(lambda old: b"\n".join(old.splitlines()[:-1]) + b"\n"), "exactly the files"),
    "a hash for a file elsewhere": (sums(lambda old: old + b"0" * 64 + b"  ../x\n"), "exactly the files"),
    "hashes that are none": (sums(lambda old: old + b"hello\n"), "SHA256SUMS cannot be read"),
    "hashes twice": (sums(lambda old: old + old), "SHA256SUMS cannot be read"),
    "another picture, all hashes fitting": (other_picture_of_the_same_size, "seal does not fit"),
    # the manifest
    "another format": (manifest("format", "something-else"), "no teaching set of this program"),
    "form 2": (manifest("format_version", 2), "form '2', and this version of the program reads form 1"),
    "form true": (manifest("format_version", True), "has form 'True'"),
    "no JSON": (with_text("manifest.json", b"{"), "not valid JSON"),
    "not UTF-8": (with_text("manifest.json", b"\xff\xfe{\0}\0"), "not text in UTF-8"),
    "a list for a manifest": (with_text("manifest.json", b"[]"), "no teaching set"),
    "nested deep": (with_text("manifest.json", NEST), "nests deeper"),
    "a manifest of 9 MB": (with_text("manifest.json", b" " * (9 * 2**20) + b"{}"), "longer than 8 MB"),
    "a key twice": (raw_json("manifest.json", b'"title":', b'"title": "other", "title":'), "names something twice"),
    "an unknown entry": (manifest("script", "x"), "breaks its schema at the top"),
    "no title": (manifest("title", DROP), "breaks its schema at the top"),
    "a title that is a number": (manifest("title", 7), "breaks its schema at title"),
    "a title of control signs": (manifest("title", "a\x1b[31m"), "cannot be kept"),
    "an endless note": (manifest("notes", "x" * 2001), "breaks its schema at notes"),
    "difficulty 9": (manifest("photos/0/difficulty", 9), "breaks its schema at photos/0/difficulty"),
    "no photos": (manifest("photos", []), "breaks its schema at photos"),
    "photos out of order": (
        edited("manifest.json", lambda whole: whole["photos"].reverse()),
        "not numbered one after the other",
    ),
    "one photo twice": (edited("manifest.json", doubled_photo), "one photo twice"),
    "a day that does not exist": (manifest("published_on", "2026-02-30"), "a day that does not exist"),
    "an origin that is no id": (manifest("photos/0/origin_id", "../../x"), "breaks its schema at photos/0/origin_id"),
    "another seal": (manifest("seal", "0" * 64), "seal does not fit"),
    "a changed note, seal kept": (manifest("photos/0/note", "other"), "seal does not fit"),
    # consents
    "no consent": (manifest("photos/0/consent", DROP), "breaks its schema at photos/0"),
    "a consent without export": (
        manifest("photos/1/consent/scopes", ["teaching_sets"]),
        "breaks its schema at photos/1/consent/scopes",
    ),
    "a consent for a class elsewhere": (
        manifest("photos/1/consent/scopes", ["teaching_sets", "printed", "own_class"]),
        "breaks its schema at photos/1/consent",
    ),
    "a person whose face is open": (manifest("photos/1/consent/faces_covered", False), "breaks its schema at photos/1"),
    "a person without a last day": (manifest("photos/1/consent/expires_on", None), "breaks its schema at photos/1"),
    "a consent that ends before it begins": (
        manifest("photos/1/consent/expires_on", "2001-01-01"),
        "ends before it begins",
    ),
    "two words on one consent": (edited("manifest.json", two_words_on_one_consent), "two different things"),
    # points and keys
    "NaN": (raw_json("points.json", b"444.0625", b"NaN"), "holds NaN, which is no number"),
    "infinity by digits": (raw_json("points.json", b"444.0625", b"1e999"), "too large"),
    "a number of 5000 digits": (raw_json("points.json", b"444.0625", b"9" * 5000), "not valid JSON"),
    "a point far away": (first_point(lambda one: one["keypoints"].__setitem__(0, 1e9)), "points of photos/001.jpg"),
    "an unknown point": (
        edited("points.json", lambda whole: whole["categories"][0]["keypoints"].__setitem__(0, "navel")),
        "unknown landmark 'navel'",
    ),
    "an annotation of another photo": (first_point(lambda one: one.update(image_id=2)), "does not fit photos/001.jpg"),
    "points of a larger photo": (
        edited("points.json", lambda whole: whole["images"][0].update(width=4800)),
        "does not fit photos/001.jpg",
    ),
    "an annotation missing": (
        edited("points.json", lambda whole: whole["annotations"].clear()),
        "exactly one annotation",
    ),
    "a key missing": (edited("keys.json", lambda whole: whole["keys"].__delitem__(PHOTO)), "exactly one key"),
    "a key that says nothing": (
        edited("keys.json", lambda whole: whole["keys"][PHOTO].update(answers={})),
        "answers no sign",
    ),
    "an answer that is none": (
        edited("keys.json", lambda whole: whole["keys"][PHOTO]["answers"]["stays_wide"].update(answer="perfect")),
        "cannot be read",
    ),
    "a why without end": (
        edited("keys.json", lambda whole: whole["keys"][PHOTO]["answers"]["stays_wide"].update(why="x" * 3000)),
        "cannot be read",
    ),
    # pictures
    "a JPEG with a comment": (photo_bytes(dirty_jpeg()), "more than its pixels"),
    "a JPEG with text behind it": (photo_bytes(clean_jpeg() + b"<script>"), "more than its pixels"),
    "a PNG": (photo_bytes(b"\x89PNG\r\n\x1a\n" + bytes(100)), "no clean JPEG"),
    "a picture of another size": (photo_bytes(clean_jpeg(50, 32)), "manifest says otherwise"),
    "nothing for a picture": (photo_bytes(b""), "no clean JPEG"),
}


def test_a_file_before_which_stands_a_name_that_is_no_text_is_refused_in_one_sentence(sound: bytes) -> None:
    with zipfile.ZipFile(BytesIO(with_name_that_is_no_text(Parts.of(sound)))) as whole:
        first = whole.infolist()[0].filename
        with pytest.raises(BundleRefused, match="is damaged") as refused:
            OpenBundle(whole).read_unchecked(first)
    assert is_one_sentence(refused.value)


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_bundle_is_refused_in_one_sentence_and_leaves_nothing(name: str, sound: bytes, empty: Scene) -> None:
    breaking, told = BROKEN[name]
    broken = breaking(Parts.of(sound))
    before = state_of(empty)
    with pytest.raises(BundleRefused, match=told) as refused:
        received(empty, broken)
    assert is_one_sentence(refused.value)
    assert state_of(empty) == before


def test_there_are_enough_broken_bundles_and_all_differ_from_the_sound_one(sound: bytes) -> None:
    broken = {name: breaking(Parts.of(sound)) for name, (breaking, _) in BROKEN.items() if name != "a name twice"}
    assert len(set(broken.values()) - {sound}) == len(broken) >= 30


def test_a_picture_that_only_looks_like_a_jpeg_is_refused(sound: bytes, empty: Scene) -> None:
    def cannot(_: bytes) -> bytes:
        raise VisionError("cannot be decoded")

    before = state_of(empty)
    with pytest.raises(BundleRefused, match="cannot be shown as a picture") as refused:
        take_in(empty.store, empty.person, BytesIO(sound), screen_copy=cannot)
    assert is_one_sentence(refused.value)
    with pytest.raises(BundleRefused, match="cannot be shown as a picture"):
        take_in(empty.store, empty.person, BytesIO(sound), screen_copy=lambda _: dirty_jpeg())
    assert state_of(empty) == before


def test_a_bundle_above_the_limit_is_not_even_opened(empty: Scene) -> None:
    class Endless(BytesIO):
        """Says that it is longer than a bundle may be, and breaks when anyone reads it."""

        def seek(self, offset: int, whence: int = 0) -> int:
            return form.MAX_BUNDLE_BYTES + 1 if whence == 2 else super().seek(offset, whence)

        def read(self, *_: object) -> bytes:
            raise AssertionError("a byte was read")

    before = state_of(empty)
    with pytest.raises(BundleRefused, match="larger than 300 MB"):
        take_in(empty.store, empty.person, Endless(), screen_copy=screen_copy)
    assert state_of(empty) == before


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_flipped_byte_gets_anything_in(data: st.DataObject, sound: bytes, empty: Scene) -> None:
    """Any one byte of a bundle may be changed: it is refused, or it was one that says nothing, such as a version number."""
    at = data.draw(st.integers(0, len(sound) - 1))
    changed = sound[:at] + bytes([sound[at] ^ data.draw(st.integers(1, 255))]) + sound[at + 1 :]
    before = state_of(empty)
    with pytest.raises(BundleRefused) as refused:
        take_in(empty.store, empty.person, BytesIO(changed), screen_copy=stop_here)
    assert is_one_sentence(refused.value)
    assert state_of(empty) == before


def stop_here(_: bytes) -> bytes:
    """Refuses every picture, so that nothing enters even where the changed byte said nothing."""
    raise VisionError("this test takes nothing in")


@given(
    value=st.recursive(
        st.none() | st.booleans() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
        max_leaves=12,
    )
)
def test_json_that_is_plain_comes_through_unchanged_or_is_told_to_be_deep(value: object) -> None:
    data = json.dumps(value).encode()
    try:
        assert strict_json(data, "x.json") == value
    except BundleRefused as refused:
        assert "nests deeper" in str(refused)  # noqa: PT017
        assert deep(value) > MAX_DEPTH


def deep(value: object) -> int:
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else None
    return 0 if inner is None else 1 + max((deep(one) for one in inner), default=0)


def test_brackets_inside_texts_do_not_count_as_nesting() -> None:
    text = json.dumps({"a": "[" * 1000 + '\\"{' * 1000}).encode()
    assert strict_json(text, "x.json") == {"a": "[" * 1000 + '\\"{' * 1000}


def test_a_bomb_is_refused_before_it_is_unpacked(sound: bytes, empty: Scene) -> None:
    small = bomb(Parts.of(sound))
    assert len(small) < 200_000
    with zipfile.ZipFile(BytesIO(small)) as whole:
        info = whole.getinfo(PHOTO)
    assert info.file_size > 500 * info.compress_size
    with pytest.raises(BundleRefused, match="is packed"):
        received(empty, small)


def test_nothing_was_written_outside_the_data_folder(empty: Scene) -> None:
    around = {path.name for path in Path(empty.folder).parent.iterdir()}
    assert around <= {"data", "data-journal"}
