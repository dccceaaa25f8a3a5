"""The editors' own values written by hand, as a browser's developer tools can: refused in one sentence, and nothing is lost."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from streamlit.proto.Common_pb2 import FileUploaderState
from websockets.exceptions import ConnectionClosed

from records.attempt.attempts import resume
from records.photo.photos import list_photos
from tests.access.conftest import Besieged, people_of
from tests.access.forging import ForgingPage, editor_of, point, put
from tests.cover_sent import COVER
from tests.journeys.school import first_person, records_of
from tests.screens.set_scene import picture

WENT_WRONG = "Something went wrong here, and what it was is in the program's log. Nothing that you had saved is lost."
LEFT_OUT = "so this edit was left out"
NO_JSON = ["", "{", "no JSON", "[" * 50_000, "[" * 40 + "]" * 40, "1" * 5_000, f'"{"x" * 300_000}"', '{"edit": "text"}']


def edit_of(*covers: object, edit: object = 2, **more: object) -> str:
    return json.dumps({"edit": {"edit": edit, "revision": 0, "areas": list(covers), "crop": None, **more}})


def cover(**changes: object) -> dict[str, object]:
    return {**COVER, **changes}


#: What no cover editor of ours sends: numbers, kinds, counts, sizes, origins.
ODD_COVERS = [
    *NO_JSON,
    '{"edit": {"edit": 1, "revision": 0, "crop": null, "areas": [' + json.dumps(cover()).replace("80", "NaN", 1) + "]}}",
    '{"edit": {"edit": 1, "revision": 0, "crop": null, "areas": [' + json.dumps(cover()).replace("80", "1e999", 1) + "]}}",
    '{"edit": {"edit": 1, "revision": 0, "crop": null, "areas": [' + json.dumps(cover()).replace("80", "9" * 400, 1) + "]}}",
    *(edit_of(cover(**{name: value})) for name, value in {
        "x": 1e9, "y": "60", "w": 0, "h": True, "turn": 181, "kind": "latch", "shape": ["ellipse"], "open": 1, "from": "p0",
    }.items()),
    edit_of(*[cover()] * 61), edit_of(cover(open=True)), edit_of(7), edit_of(None), edit_of({}),
    edit_of(cover(), crop=[0, 0, 9000, 9000]), edit_of(cover(), crop=[-5, 0, 200, 200]), edit_of(cover(), crop=[0, 0, 1, 1]),
    edit_of(cover(), edit=-1), edit_of(cover(), edit=2**60), edit_of(cover(), edit="2"),
]  # fmt: skip


def told(page: ForgingPage, name: str) -> dict[str, Any]:
    """What the page last told the editor whose id ends like this."""
    [found] = [one for one in page.shows("bidi_component") if one.id.endswith(name)]
    return dict(json.loads(found.json))


def covers_of(page: ForgingPage) -> Any:
    """The cover editor that the page shows."""
    [found] = [one for one in page.shows("bidi_component") if "cover-" in one.id]
    return found


def at_the_covers(place: Besieged, handle: str) -> ForgingPage:
    """Someone's page with two uploads, the first of them open in the cover editor; nothing is stored yet."""
    page = ForgingPage.of(place.url).sign_in(handle)
    page.open("many-photos")
    [field] = page.shows("file_uploader")
    state = FileUploaderState()
    for number in (1, 2):
        name = f"{handle}-{number}"
        assert put(page, picture(number), name=name).status_code == 204
        info = state.uploaded_file_info.add()
        info.file_id, info.name, info.size = name, f"{name}.jpg", len(picture(number))
    page.values[field.id] = ("file_uploader_state_value", state)
    page.forge()
    page.press("Cut and cover")
    assert told(page, f"cover-{handle}-1")["areas"] == []
    return page


@pytest.fixture
def heron(besieged: Besieged) -> Iterator[ForgingPage]:
    """heron, who covers the first of two photos."""
    page = at_the_covers(besieged, "heron")
    yield page
    page.close()


def send(page: ForgingPage, name: str, text: str, kind: str = "json_value") -> None:
    """Send this as the value of the editor whose id ends like this, and rerun that part of the page."""
    [found] = [one for one in page.shows("bidi_component") if one.id.endswith(name)]
    page.values[found.id] = (kind, text)
    page.forge(fragment=page.fragments[found.id])


def stored(place: Besieged) -> list[str]:
    """The titles of heron's own photos."""
    with records_of(place.data) as store:
        return [one.title for one in list_photos(store, first_person(store)) if one.sample_id is None]


def test_forged_covers_are_named_and_leave_what_was_drawn(besieged: Besieged, heron: ForgingPage) -> None:
    before = stored(besieged)
    send(heron, "cover-heron-1", edit_of(COVER))
    assert len(told(heron, "cover-heron-1")["areas"]) == 1
    for odd in ODD_COVERS:
        send(heron, "cover-heron-1", odd)
        shown = told(heron, "cover-heron-1")
        assert heron.alerts() == "", odd[:200]
        assert str(shown["fault"]).endswith(LEFT_OUT), odd[:200]
        assert [(one["x"], one["kind"]) for one in shown["areas"]] == [(80, "name")], odd[:200]
    heron.forge()
    assert heron.alerts() == ""
    send(heron, "cover-heron-1", edit_of(cover(x=90), cover(x=300), edit=3))
    assert [one["x"] for one in told(heron, "cover-heron-1")["areas"]] == [90, 300]
    assert told(heron, "cover-heron-1")["fault"] is None
    assert stored(besieged) == before


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        ("string_value", "{"),
        ("string_value", "[" * 50_000),
        ("bytes_value", b"{"),
        ("double_value", float("nan")),
        ("int_value", 7),
        ("trigger_value", True),
        ("bool_value", True),
        ("json_trigger_value", "{"),
        ("string_array_value", ["a"]),
    ],
)
def test_values_of_another_kind_end_in_one_sentence_at_most_and_the_next_edit_counts(
    heron: ForgingPage, kind: str, value: object
) -> None:
    send(heron, "cover-heron-1", edit_of(COVER))
    editor = covers_of(heron)
    fragment = heron.fragments[editor.id]
    heron.forge({editor.id: (kind, value)}, fragment=fragment)
    assert heron.alerts() in ("", WENT_WRONG)
    heron.forge({editor.id: ("json_value", edit_of(COVER, cover(x=300), edit=3))}, fragment=fragment)
    assert heron.alerts() == ""
    assert [one["x"] for one in told(heron, "cover-heron-1")["areas"]] == [80, 300]


def test_covers_of_one_photo_sent_for_another_stay_off_it(besieged: Besieged, heron: ForgingPage) -> None:
    send(heron, "cover-heron-1", edit_of(COVER))
    first = covers_of(heron)
    other = first.id.replace("heron-1", "heron-2")
    heron.forge({other: ("json_value", edit_of(cover(x=500), edit=4))})
    assert heron.alerts() == ""
    assert [one["x"] for one in told(heron, "cover-heron-1")["areas"]] == [80]
    [_, second] = [one for one in heron.shows("button") if one.label == "Cut and cover"]
    heron.forge({second.id: ("trigger_value", True)})
    assert told(heron, "cover-heron-2")["areas"] == []
    lark = at_the_covers(besieged, "lark")
    lark.forge({first.id: ("json_value", edit_of(cover(x=700), edit=5))}, fragment=heron.fragments[first.id])
    assert "Traceback" not in lark.alerts()
    lark.close()
    heron.forge()
    heron.press("Cut and cover")
    assert [one["x"] for one in told(heron, "cover-heron-1")["areas"]] == [80]


def test_keeping_is_not_pressed_before_all_is_said(besieged: Besieged, heron: ForgingPage) -> None:
    before = stored(besieged)
    [keep] = [one for one in heron.shows("button") if one.label.startswith("Keep 2")]
    assert keep.disabled
    heron.forge({keep.id: ("trigger_value", True)})
    assert heron.alerts() == ""
    assert stored(besieged) == before


def test_a_page_with_covers_that_changed_hands_shows_none_of_them(besieged: Besieged, heron: ForgingPage) -> None:
    send(heron, "cover-heron-1", edit_of(COVER))
    editor = covers_of(heron)
    fragment = heron.fragments[editor.id]
    lark = ForgingPage.of(besieged.url).sign_in("lark")
    heron.take_up(lark)
    lark.close()
    for asked in (fragment, ""):
        heron.elements.clear()
        heron.forge({editor.id: ("json_value", edit_of(cover(x=700), edit=9))}, fragment=asked)
        assert not [one for one in heron.shows("bidi_component") if "cover-" in one.id]
        assert "heron-1" not in heron.everything().replace(editor.id, "")
        assert "Choose a password" not in heron.everything()
        assert ("opened by someone else" in heron.everything()) == bool(asked)


def test_text_that_is_no_json_leaves_the_points_and_the_page_as_they_are(
    besieged: Besieged, at_the_editor: tuple[ForgingPage, str]
) -> None:
    page, attempt_id = at_the_editor
    editor = editor_of(page)
    edits = {
        name: {"edit": {"edit": n, "revision": 0, "points": {name: point(0.5, 0.25)}}}
        for n, name in enumerate(("chin", "ear"), 1)
    }
    send(page, editor.id, json.dumps(edits["chin"]))
    for odd in NO_JSON:
        send(page, editor.id, odd)
        assert page.alerts() == "", odd[:200]
        assert str(told(page, editor.id)["fault"]).endswith(LEFT_OUT), odd[:200]
        assert points_of(besieged, attempt_id) == {"chin"}
    send(page, editor.id, json.dumps(edits["ear"]))
    assert told(page, editor.id)["fault"] is None
    assert points_of(besieged, attempt_id) == {"ear"}


def points_of(place: Besieged, attempt_id: str) -> set[str]:
    """The points that wren's attempt holds."""
    with records_of(place.data) as store:
        return set(resume(store, people_of(store)["wren"], attempt_id).landmarks(1).points)


@pytest.mark.parametrize("megabytes", [5, 21])
def test_a_message_longer_than_any_page_sends_ends_that_page_alone(
    besieged: Besieged, stranger: ForgingPage, megabytes: int
) -> None:
    stranger.open()
    with pytest.raises(ConnectionClosed):
        stranger.forge({"$$ID-x-y": ("json_value", "x" * megabytes * 10**6)})
    other = ForgingPage.of(besieged.url).sign_in("wren")
    other.open()
    assert not other.errors
    other.close()
