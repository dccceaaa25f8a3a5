"""The shipped checklist and the reading of an edited one."""

from dataclasses import FrozenInstanceError
from itertools import product

import pytest

from rubric.answers import Phase, Settles, View
from rubric.checklist import Band, checklist_from_toml, load_checklist, shipped_checklist
from rubric.errors import InvalidChecklist
from rubric.evidence import PLAIN_NAMES

SMALL = """
version = "1"
[sources]
C = "common practice"
[[item]]
id = "close"
text = "No gap shows."
group = "How the baby lies"
phases = ["before"]
views = ["side"]
evidence = ["gape_angle"]
basis = ["C"]
guidance = "Look."
cant_tell_when = "Covered."
settles = "side"
[bands.gape_angle]
names = ["narrow", "medium", "wide"]
edges = [90, 120]
note = "a convention"
"""

#: The trade's items: id -> (phases, views, measures shown beside it, basis).
BOTH, BEFORE, AT = {"before", "at_breast"}, {"before"}, {"at_breast"}
SIDE, ANY = {"side"}, {"side", "oblique", "front", "back"}
EXPECTED = {
    "body_line": (BOTH, SIDE, ("alignment_angle", "head_deviation"), "W/C"),
    "no_twist": (BOTH, {"oblique", "back"}, (), "W"),
    "faces_breast": (BOTH, {"oblique", "back"}, (), "W"),
    "close": (BOTH, ANY, (), "W"),
    "supported": (BOTH, ANY, (), "W"),
    "nose_level": (BEFORE, SIDE, (), "W"),
    "opens_wide": (BEFORE, SIDE, ("gape_angle", "mouth_opening"), "W"),
    "chin_first": (BEFORE, SIDE, ("chin_gap", "nose_gap", "head_deviation"), "C"),
    "adult_relaxed": (BOTH, ANY, (), "C"),
    "hands_clear": (BOTH, {"oblique"}, (), "C"),
    "stays_wide": (AT, SIDE, ("gape_angle",), "W"),
    "lips_out": (AT, {"side", "oblique"}, (), "W"),
    "chin_touch": (AT, SIDE, ("chin_gap",), "W"),
    "nose_free": (AT, SIDE, ("nose_gap",), "W"),
    "areola_above": (AT, SIDE, ("areola_balance",), "W"),
    "cheeks_round": (AT, {"side", "oblique"}, (), "W"),
    "ask_comfort": (set(), set(), (), "C"),
    "ask_rhythm": (set(), set(), (), "W"),
    "ask_after": (set(), set(), (), "C"),
    "ask_intake": (set(), set(), (), "W"),
}


def _faults(text: str) -> tuple[str, ...]:
    with pytest.raises(InvalidChecklist) as caught:
        checklist_from_toml(text)
    return caught.value.faults


def test_the_shipped_checklist_has_every_item_with_its_phases_views_evidence_and_basis():
    found = {
        item.id: ({*map(str, item.phases)}, {*map(str, item.views)}, item.evidence, item.basis)
        for item in shipped_checklist().items
    }
    assert found == EXPECTED


def test_only_items_that_apply_are_asked_and_the_ask_group_never_is():
    checklist = shipped_checklist()
    for phase, view in product(Phase, View):
        asked = {item.id for item in checklist.items_for(phase, view)}
        assert asked == {name for name, (phases, views, _, _) in EXPECTED.items() if phase in phases and view in views}


def test_the_ask_items_are_the_four_that_no_photo_shows():
    ask = shipped_checklist().ask_items()
    assert {item.id for item in ask} == {"ask_comfort", "ask_rhythm", "ask_after", "ask_intake"}
    assert {item.settles for item in ask} == {Settles.NO_PHOTO}
    assert all(not item.visible for item in ask)


def test_each_word_of_the_trade_is_explained_in_the_item_where_any_view_meets_it_first():
    checklist = shipped_checklist()
    for phase, view, word in product(Phase, View, ("areola", "nipple", "latch")):
        items = checklist.items_for(phase, view)
        first = next((item for item in items if word in f"{item.group} {item.text}".lower()), None)
        assert first is None or word in first.explain.lower(), (first.id, word)


def test_items_with_which_somebody_could_be_hurt_carry_a_caution():
    checklist = shipped_checklist()
    cautious = {item.id for item in checklist.items if item.caution}
    assert {"nose_free", "supported", "ask_comfort", "ask_after", "ask_intake"} <= cautious
    assert "breathing" in checklist.get("nose_free").caution
    assert "clean finger" in checklist.get("nose_free").caution


def test_who_is_cited_with_its_number_and_common_practice_is_called_so():
    checklist = shipped_checklist()
    for item in checklist.items:
        assert ("978 92 4 159749 4" in item.source) == ("W" in item.basis)
        assert ("common practice" in item.source) == ("C" in item.basis)


def test_every_band_has_a_note_and_the_gape_note_says_that_no_study_was_found():
    checklist = shipped_checklist()
    assert set(checklist.bands) == set(checklist.band_notes)
    assert "no study" in checklist.band_notes["gape_angle"]
    assert [(band.name, band.low, band.high) for band in checklist.bands["gape_angle"]] == [
        ("narrow", None, 90),
        ("medium", 90, 120),
        ("wide", 120, None),
    ]


def test_every_measure_with_bands_is_evidence_of_some_item():
    checklist = shipped_checklist()
    assert set(checklist.bands) <= {name for item in checklist.items for name in item.evidence} <= set(PLAIN_NAMES)


def test_a_band_holds_its_lower_edge_and_not_its_upper():
    medium = Band(name="medium", low=90, high=120)
    assert [medium.meets(value, value) for value in (89.9, 90, 119.9, 120)] == [False, True, True, False]


def test_the_shipped_checklist_is_read_once_and_cannot_be_changed():
    checklist = shipped_checklist()
    assert shipped_checklist() is checklist
    with pytest.raises(TypeError):
        checklist.bands["gape_angle"] = ()
    with pytest.raises(FrozenInstanceError):
        checklist.items[0].text = "other"


def test_a_small_edited_file_is_read_with_its_own_edges():
    checklist = checklist_from_toml(SMALL.replace("[90, 120]", "[80, 140.5]"))
    assert [band.high for band in checklist.bands["gape_angle"]] == [80, 140.5, None]
    assert checklist.get("close").source == "common practice"
    assert checklist.get("nothing") is None


def test_all_faults_of_a_file_are_told_at_once():
    broken = (
        SMALL.replace('text = "No gap shows."', 'text = " "')
        .replace("[90, 120]", "[120, 90]")
        .replace('views = ["side"]', 'views = ["sideways"]')
        .replace('basis = ["C"]', 'basis = ["X"]')
        .replace('version = "1"', "")
    )
    text = "; ".join(_faults(broken))
    for part in (
        "no version",
        "item 1 (close): no text",
        "unknown sideways; known are side, oblique, front, back",
        "basis: unknown X; known are C",
        "gape_angle band edges must rise, got 120, 90",
    ):
        assert part in text


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('id = "close"', 'id = "Close!"', "id must be lower-case letters"),
        ('settles = "side"', 'settles = "moon"', "settles must be one of side"),
        ('settles = "side"', 'settles = "side"\ncolour = "red"', "unknown entry 'colour'"),
        ('version = "1"', 'version = "1"\ncolour = "red"', "unknown entry 'colour'"),
        ('evidence = ["gape_angle"]', 'evidence = ["grin"]', "evidence: unknown grin"),
        ('evidence = ["gape_angle"]', 'evidence = "gape_angle"', "evidence must be a list of texts"),
        ('phases = ["before"]', 'phases = ["before", "before"]', "phases names before twice"),
        ('phases = ["before"]', "", "a visible item needs phases and views"),
        ('phases = ["before"]', 'phases = ["before"]\nvisible = false', "one that no photo shows has neither"),
        ('phases = ["before"]', 'phases = ["before"]\nvisible = "no"', "visible must be true or false, got 'no'"),
        ('basis = ["C"]', "basis = []", "no basis"),
        ('guidance = "Look."', "guidance = 3", "guidance must be text, got 3"),
        ("[90, 120]", "[90]", "need one name more than edges, got 3 names and 1 edges"),
        ("[90, 120]", "[90, nan]", "edges must be numbers"),
        ("[90, 120]", "[90, true]", "edges must be numbers"),
        ("[90, 120]", "[90, 1" + "0" * 400 + "]", "edges must be numbers, got [90, 1000"),
        ("[90, 120]", "[90, 0x" + "f" * 20_000 + "]", "edges must be numbers, got a number too long to show"),
        ('guidance = "Look."', "guidance = 0x" + "f" * 20_000, "guidance must be text, got a number too long to show"),
        ("[90, 120]", "[90, 90]", "must rise, got 90, 90"),
        ("bands.gape_angle", "bands.grin", "bands: unknown grin"),
        ('note = "a convention"', "", "gape_angle bands: no note"),
        ('[sources]\nC = "common practice"', "", "no [sources]"),
    ],
)
def test_a_file_that_breaks_a_rule_is_refused_with_the_rule(old, new, fault):
    assert old in SMALL
    assert any(fault in found for found in _faults(SMALL.replace(old, new)))


def test_an_id_used_twice_is_told():
    item = SMALL[SMALL.index("[[item]]") : SMALL.index("[bands")]
    assert _faults(SMALL.replace("[bands", item + "[bands")) == ("item id close is used 2 times",)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("version = ", "not TOML"),
        ("version = " + "[" * 20_000, "brackets nest too deep"),
        ("version = " + "1" * 20_000, "a number in the file is too long"),
        ("version = '1'\nitem = 3", "no items"),
        ("version = '1'\nbands = 3", "bands must be tables"),
        ("version = '1'\n[bands]\ngape_angle = 3", "must be a table with names"),
    ],
)
def test_a_file_of_another_shape_is_refused(text, fault):
    assert any(fault in found for found in _faults(text))


def test_a_file_that_is_missing_or_no_text_is_refused_in_one_sentence(tmp_path):
    with pytest.raises(InvalidChecklist, match="cannot read"):
        load_checklist(tmp_path / "none.toml")
    (tmp_path / "latin.toml").write_bytes(b'version = "\xe9"')
    with pytest.raises(InvalidChecklist, match="not UTF-8 text, first at byte 11"):
        load_checklist(tmp_path / "latin.toml")


def test_a_byte_order_mark_is_passed_over(tmp_path):
    (tmp_path / "marked.toml").write_text(SMALL, encoding="utf-8-sig")
    assert load_checklist(tmp_path / "marked.toml") == checklist_from_toml(SMALL)
