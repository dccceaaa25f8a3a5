"""What the cover editor's browser sends is read with suspicion: nonsense is named and leaves everything as it was."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screens.cover_editor.reading import MAX_AREAS, read_value
from screens.cover_editor.value import CoverEditorValue
from vision.covering.areas import CoverArea, CoverKind, CoverShape

WIDTH, HEIGHT = 1600, 1200
CARD = CoverArea(kind=CoverKind.NAME, shape=CoverShape.RECTANGLE, x=100.257, y=200, width=80, height=40, turn_deg=30)
FACE = CoverArea(
    kind=CoverKind.FACE, shape=CoverShape.ELLIPSE, x=1500, y=-20, width=300, height=400, why="a face", by="face finder"
)


def read(sent: object) -> CoverEditorValue | None:
    return read_value(sent, width=WIDTH, height=HEIGHT, areas=[CARD], proposals=[FACE], crop=(0, 0, 800, 600))


def one(**changes: Any) -> dict[str, Any]:
    plain = {"from": None, "kind": "screen", "shape": "ellipse", "x": 800, "y": 600.129, "w": 90, "h": 45, "turn": -90}
    return {**plain, "open": False, **changes}


def sent(*areas: object, **changes: Any) -> dict[str, Any]:
    return {"edit": 7, "revision": 3, "areas": list(areas), "crop": None, **changes}


def as_sent(area: CoverArea, source: str, **changes: Any) -> dict[str, Any]:
    places = {"x": area.x, "y": area.y, "w": area.width, "h": area.height, "turn": area.turn_deg}
    return one(**{"from": source}, kind=str(area.kind), shape=str(area.shape), **{**places, **changes})


def test_a_cover_that_was_drawn_is_the_educators_to_a_hundredth_of_a_pixel() -> None:
    value = read(sent(one(), crop=[10, 20, 300, 400]))
    assert value is not None
    assert value.fault is None
    assert value.areas == (
        CoverArea(kind=CoverKind.SCREEN, shape=CoverShape.ELLIPSE, x=800, y=600.13, width=90, height=45, turn_deg=-90),
    )
    assert (value.edit, value.revision, value.crop) == (7, 3, (10, 20, 300, 400))


def test_an_accepted_proposal_keeps_its_maker_and_an_undecided_one_stays_a_proposal() -> None:
    accepted = read(sent(as_sent(FACE, "p0")))
    undecided = read(sent(as_sent(FACE, "p0", open=True), as_sent(CARD, "a0")))
    assert accepted is not None
    assert (accepted.areas, accepted.proposals) == ((FACE,), ())
    assert undecided is not None
    assert (undecided.areas, undecided.proposals) == ((CARD,), (FACE,))


def test_a_cover_that_was_moved_is_the_educators_own() -> None:
    value = read(sent(as_sent(FACE, "p0", x=1400)))
    assert value is not None
    assert (value.areas[0].by, value.areas[0].why, value.areas[0].x) == ("educator", "", 1400)


NONSENSE: list[object] = [
    [],
    7,
    {},
    {1: 2},
    sent(edit=-1),
    sent(revision=True),
    sent(areas=None),
    sent(areas={}),
    sent(areas="xx"),
    sent(*[one()] * (MAX_AREAS + 1)),
    sent(7),
    sent({}),
    sent(one(kind="latch")),
    sent(one(kind=7)),
    sent(one(kind=["face"])),
    sent(one(shape="star")),
    sent(one(x="800")),
    sent(one(x=True)),
    sent(one(x=float("nan"))),
    sent(one(x=10**400)),
    sent(one(turn=-(10**400))),
    sent(crop=[0, 0, 10**400, 100]),
    sent(one(y=float("inf"))),
    sent(one(x=3 * WIDTH)),
    sent(one(w=0)),
    sent(one(w=3.9)),
    sent(one(h=4 * WIDTH)),
    sent(one(turn=180.1)),
    sent(one(open=1)),
    sent(one(open=True)),
    sent(one(**{"from": "p9"})),
    sent(one(**{"from": 0})),
    sent(as_sent(CARD, "a0", open=True)),
    sent(crop=[0, 0, 100]),
    sent(crop="0000"),
    sent(crop=[0, 0, 63, 100]),
    sent(crop=[1500, 0, 200, 200]),
    sent(crop=[-1, 0, 200, 200]),
    sent(crop=[0, 0, None, 200]),
]


@pytest.mark.parametrize("nonsense", NONSENSE, ids=range(len(NONSENSE)))
def test_nonsense_is_named_and_changes_nothing(nonsense: object) -> None:
    value = read(nonsense)
    assert value is not None
    assert value.fault is not None
    assert value.fault.endswith("so this edit was left out")
    assert (value.areas, value.proposals, value.crop) == ((CARD,), (FACE,), (0, 0, 800, 600))


def test_nothing_edited_is_no_value() -> None:
    assert read(None) is None


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(["areas", "crop", "edit", "revision", *one()]), inner, max_size=9)
    ),
    max_leaves=30,
)


@given(raw=JSON | st.builds(lambda area, crop: sent(area, crop=crop), JSON, JSON))
def test_whatever_comes_is_a_value_or_none_and_never_an_exception(raw: object) -> None:
    value = read(raw)
    assert (value is None) == (raw is None)
    assert value is None or json.dumps(value.revision)
