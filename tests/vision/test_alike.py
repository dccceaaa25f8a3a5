"""Copies of one photo are found however they were turned, mirrored, shrunk or saved again; different photos are not."""

from functools import cache
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vision.alike import MOST_APART, find_alike, photo_hash
from vision.images import encode_jpeg, read_photo
from vision.photo import Photo, reduced

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_images").glob("*.jpg"))
DOLLS = {path.stem: path for path in SAMPLES}
POSITIONS = [(turn, mirrored) for mirrored in (False, True) for turn in range(4)]


@cache
def doll(name: str) -> Photo:
    return read_photo(DOLLS[name].read_bytes())


@cache
def doll_hash(name: str) -> str:
    return photo_hash(doll(name))


def copied(photo: Photo, *, turn: int = 0, mirrored: bool = False, share: float = 1.0) -> Photo:
    """Mirrored, turned clockwise by quarter turns, shrunk and saved as JPEG of quality 60."""
    pixels = photo.pixels[:, ::-1] if mirrored else photo.pixels
    there = Photo(pixels=np.rot90(pixels, -turn).copy())
    small = reduced(there, round(max(there.width, there.height) * share))
    return read_photo(encode_jpeg(small, quality=60))


@pytest.mark.parametrize("name", list(DOLLS))
def test_turned_mirrored_and_shrunk_copies_saved_again_are_duplicates_of_a_shipped_photo(name: str) -> None:
    hashes = {"own": doll_hash(name)}
    for turn, mirrored in POSITIONS:
        hashes[f"{turn} {mirrored}"] = photo_hash(copied(doll(name), turn=turn, mirrored=mirrored, share=0.5))
    (group,) = find_alike(hashes)
    own = [pair for pair in group.pairs if pair.first == "own"]
    assert len(own) == len(POSITIONS)
    # Measured: 4 bits at most.
    assert max(pair.distance for pair in own) <= 6


def test_different_photos_of_the_shipped_dolls_lie_twice_as_far_apart_as_duplicates_may() -> None:
    assert len(DOLLS) >= 26
    hashes = {name: doll_hash(name) for name in DOLLS}
    assert find_alike(hashes) == ()
    # Measured: 50 bits between the two nearest.
    assert find_alike(hashes, most_apart=2 * MOST_APART) == ()


def test_two_dolls_in_the_same_pose_are_not_duplicates() -> None:
    hashes = {name: doll_hash(name) for name in ("laid_back_side", "laid_back_face_in_frame")}
    assert find_alike(hashes, most_apart=2 * MOST_APART) == ()


@pytest.mark.parametrize(("turn", "mirrored"), POSITIONS)
def test_a_pair_says_how_the_second_photo_must_be_turned_to_lie_like_the_first(turn: int, mirrored: bool) -> None:
    first = doll("before_front")
    # The second is made from the first backwards: turned back, then mirrored.
    pixels = np.rot90(first.pixels, turn)
    second = Photo(pixels=(pixels[:, ::-1] if mirrored else pixels).copy())
    ((pair,),) = (group.pairs for group in find_alike({"first": photo_hash(first), "second": photo_hash(second)}))
    assert (pair.turn_deg, pair.mirrored) == (90 * turn, mirrored)


def test_a_brighter_copy_and_one_cut_by_a_hundredth_are_duplicates() -> None:
    for name in DOLLS:
        photo = doll(name)
        x, y = photo.width // 100, photo.height // 100
        cut = Photo(pixels=photo.pixels[y : photo.height - y, x : photo.width - x].copy())
        brighter = Photo(pixels=cv2.convertScaleAbs(photo.pixels, alpha=1.25, beta=10))
        (group,) = find_alike({"own": doll_hash(name), "cut": photo_hash(cut), "brighter": photo_hash(brighter)})
        assert {(pair.first, pair.second) for pair in group.pairs} >= {("own", "cut"), ("own", "brighter")}


def test_copies_hang_together_in_one_group_each_and_single_photos_in_none() -> None:
    hashes = {
        "a": doll_hash("close_up_side"),
        "b": doll_hash("dim_side"),
        "c": doll_hash("narrow_side"),
        "a again": photo_hash(copied(doll("close_up_side"), turn=1)),
        "b again": photo_hash(copied(doll("dim_side"), share=0.3)),
        "a once more": photo_hash(copied(doll("close_up_side"), mirrored=True)),
    }
    groups = find_alike(hashes)
    assert [group.names for group in groups] == [("a", "a again", "a once more"), ("b", "b again")]
    assert [len(group.pairs) for group in groups] == [3, 1]


@given(names=st.permutations(sorted(DOLLS)[:6]))
def test_the_order_of_the_photos_changes_no_distance(names: list[str]) -> None:
    def distances(order: list[str]) -> dict[frozenset[str], int]:
        groups = find_alike({name: doll_hash(name) for name in order}, most_apart=144)
        return {frozenset((pair.first, pair.second)): pair.distance for group in groups for pair in group.pairs}

    assert distances(names) == distances(sorted(names))
    assert len(distances(names)) == len(list(combinations(names, 2)))


def test_one_photo_or_none_has_no_duplicates() -> None:
    assert find_alike({}) == ()
    assert find_alike({"a": doll_hash("dim_side")}) == ()


@pytest.mark.parametrize("text", ["", "ffff", "phash12x8:", "phash8:" + "0" * 288, "phash12x8:" + "z" * 288])
def test_a_string_that_is_no_hash_of_this_version_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not made by this version"):
        find_alike({"a": text, "b": doll_hash("dim_side")})
