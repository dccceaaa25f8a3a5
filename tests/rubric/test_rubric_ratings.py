"""Reading a ratings table as spreadsheet programs write it, and the command line."""

import csv
import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rubric.__main__ import main
from rubric.checklist import shipped_checklist
from rubric.errors import InvalidRatings
from rubric.ratings import MAX_BYTES, RatingsTable, ratings_from_csv, read_ratings, without_ask_items

PLAIN = RatingsTable(
    items=("close", "lips_out"), raters=("Ann", "Bo"), rows=(("seen", "not_seen"), ("cant_tell", None))
)


@pytest.mark.parametrize(
    "data",
    [
        b"item,Ann,Bo\nclose,seen,not_seen\nlips_out,cant_tell,\n",
        b"\xef\xbb\xbfitem,Ann,Bo\r\nclose,seen,not_seen\r\nlips_out,cant_tell,\r\n",
        b"item;Ann;Bo\r\nclose;seen;not_seen\r\nlips_out;cant_tell;\r\n",
        b"sep=;\r\nitem;Ann;Bo\r\nclose;seen;not_seen\r\nlips_out;cant_tell;\r\n",
        b"item\tAnn\tBo\nclose\tseen\tnot_seen\nlips_out\tcant_tell\t\n",
        b"sep=\t\nitem\tAnn\tBo\nclose\tseen\tnot_seen\nlips_out\tcant_tell\t",
        b"\n Item , Ann,Bo \n\nclose,Seen ,NOT_SEEN\n,,\nlips_out,cant_tell,  \n,,\n",
        b'Ann,"item",Bo\nseen,"close","not_seen"\ncant_tell,lips_out,""',
    ],
)
def test_a_table_reads_the_same_however_a_spreadsheet_writes_it(data):
    assert ratings_from_csv(data) == PLAIN


def test_a_separator_within_quotes_is_no_separator():
    table = ratings_from_csv(b'"item";"Ann, midwife, 1";"Bo, nurse, 2"\nclose;seen;seen\n')
    assert table.raters == ("Ann, midwife, 1", "Bo, nurse, 2")


NAMES = st.lists(
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1, max_size=8).filter(
        lambda name: name == name.strip() and name.casefold() not in {"item", "sep="}
    ),
    min_size=2,
    max_size=4,
    unique=True,
)
CELLS = st.sampled_from(["seen", "not_seen", "cant_tell", None])


@given(NAMES, NAMES, st.data(), st.sampled_from(",;\t"))
def test_a_table_written_as_csv_comes_back_as_it_was(items, raters, data, separator):
    rows = tuple(tuple(data.draw(CELLS) for _ in raters) for _ in items)
    file = io.StringIO()
    writer = csv.writer(file, delimiter=separator, quoting=csv.QUOTE_ALL)
    writer.writerow(["item", *raters])
    writer.writerows([item, *(cell or "" for cell in row)] for item, row in zip(items, rows, strict=True))
    table = RatingsTable(items=tuple(items), raters=tuple(raters), rows=rows)
    assert ratings_from_csv(file.getvalue().encode()) == table


def _table_or_refusal(data):
    try:
        return ratings_from_csv(data)
    except InvalidRatings as refusal:
        return str(refusal)


@given(st.binary(max_size=60) | st.text("item,;\t\"'\nab=\0", max_size=60).map(str.encode))
def test_any_bytes_are_a_table_or_refused_in_one_short_sentence(data):
    result = _table_or_refusal(data)
    if isinstance(result, str):
        assert 0 < len(result) < 300
    else:
        assert len(result.raters) >= 2
        assert len(result.items) == len(result.rows) >= 1


BROKEN = [
    (b"", "the file is empty"),
    (b" \n\n", "the file is empty"),
    (b"item,Ann,Bo\n", "there are no items below the header"),
    (b"name,Ann,Bo\nclose,seen,seen\n", "needs one column named item, got name, Ann, Bo"),
    (b"item,item,Ann,Bo\nclose,a,seen,seen\n", "needs one column named item"),
    (b"item,Ann\nclose,seen\n", "at least two columns of ratings beside item, got 1"),
    (b"item\nclose\n", "at least two columns of ratings beside item, got 0"),
    (b"item,Ann,Ann\nclose,seen,seen\n", "every rater must stand there once, got Ann"),
    (b"item,Ann,\nclose,seen,seen\n", "every rater needs a name, number 2 has none"),
    (b"item,Ann,Bo\nclose,seen,seen\nclose,seen,seen\n", "every item must stand there once, got close"),
    (b"item,Ann,Bo\n,seen,seen\n", "every item needs a name, number 1 has none"),
    (b"item,Ann,Bo\nclose,seen,seen\n\nlips_out,seen\n", "line 4 has 2 cells, the header has 3"),
    (b"sep=;\nitem;Ann;Bo\nclose;seen\n", "line 3 has 2 cells, the header has 3"),
    (b"item,Ann,Bo\nclose,seen,seen,seen\n", "line 2 has 4 cells, the header has 3"),
    (b'item,Ann,Bo\nclose,"seen"x,seen\n', "line 2 is not CSV"),
    (b'item,Ann,Bo\nclose,"seen,seen\n', "is not CSV"),
    (b"item,Ann,Bo\nclose,seen,\xe9\n", "not UTF-8 text; save it as CSV UTF-8"),
    ("item,Ann,Bo\nclose,seen,seen\n".encode("utf-16"), "not UTF-8 text; save it as CSV UTF-8"),
    (b"item,Ann,Bo\nclose,seen,\0\n", "the file is not text"),
    (b"item,Ann,Bo\n" + b"x" * MAX_BYTES, "at most 20 MB"),
]


@pytest.mark.parametrize(("data", "rule"), BROKEN, ids=[rule[:40] for _, rule in BROKEN])
def test_a_table_that_breaks_a_rule_is_refused_with_the_rule(data, rule):
    with pytest.raises(InvalidRatings) as caught:
        ratings_from_csv(data)
    assert rule in str(caught.value)


def test_ask_items_are_dropped_because_they_would_inflate_agreement():
    table = RatingsTable(
        items=("ask_comfort", "close", "ask_intake"),
        raters=("Ann", "Bo"),
        rows=(("cant_tell", "cant_tell"), ("seen", "seen"), ("cant_tell", "cant_tell")),
    )
    kept = without_ask_items(table, shipped_checklist())
    assert (kept.items, kept.rows, kept.raters) == (("close",), (("seen", "seen"),), ("Ann", "Bo"))


def test_a_file_that_cannot_be_opened_is_refused_by_its_name(tmp_path):
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(InvalidRatings, match=f"cannot read {path}"):
            read_ratings(path)


def _file(folder: Path, data: bytes) -> str:
    path = folder / "ratings.csv"
    path.write_bytes(data)
    return str(path)


def _teaching_table(folder: Path, extra: str = "") -> str:
    """A table with kappa 0.4 of 50 items, as in many texts: [[20, 5], [10, 15]]."""
    pairs = [("seen", "seen")] * 20 + [("seen", "not_seen")] * 5
    pairs += [("not_seen", "seen")] * 10 + [("not_seen", "not_seen")] * 15
    lines = [f"photo {n};{first};{second}" for n, (first, second) in enumerate(pairs)]
    return _file(folder, ("item;Ann;Bo\n" + "\n".join(lines) + "\n" + extra).encode())


def _refuse_constant(name: str) -> None:
    raise AssertionError(f"{name} is not JSON")


def test_the_command_gives_percent_and_kappa_as_json(tmp_path, capsys):
    assert main(["agreement", _teaching_table(tmp_path), "--json"]) == 0
    out = json.loads(capsys.readouterr().out, parse_constant=_refuse_constant)
    assert list(out) == ["percent_agreement", "cohen_kappa", "fleiss_kappa", "krippendorff_alpha", "gwet_ac1"]
    assert all(list(entry) == ["value", "low", "high", "n_items", "n_raters", "reason"] for entry in out.values())
    assert out["percent_agreement"]["value"] == pytest.approx(0.7)
    kappa = out["cohen_kappa"]
    assert (kappa["value"], kappa["n_items"], kappa["n_raters"], kappa["reason"]) == (pytest.approx(0.4), 50, 2, None)
    # 0.126996: standard error of this table, recomputed
    assert kappa["low"] == pytest.approx(0.4 - 1.959964 * 0.126996, abs=1e-5)


def test_the_command_gives_kappa_null_with_a_reason_for_three_raters(tmp_path, capsys):
    path = _file(tmp_path, b"item,Ann,Bo,Cy\nclose,seen,seen,seen\nlips_out,seen,not_seen,\n")
    assert main(["agreement", path, "--json"]) == 0
    out = json.loads(capsys.readouterr().out, parse_constant=_refuse_constant)
    assert out["cohen_kappa"]["value"] is None
    assert out["cohen_kappa"]["reason"] == "Cohen's kappa compares two raters, got 3"
    assert out["percent_agreement"]["value"] == 0.5


# Shrout & Fleiss 1979, Psychol Bull 86:420-428: 6 targets, 4 judges, with a judge's blank in a target of its own.
NUMBERS = b"item,a,b,c,d\n1,9,2,5,8\n2,6,1,3,2\n3,8,4,6,8\n4,7,1,2,6\n5,10,5,6,9\n6,6,2,4,7\n7,6,,4,7\n"


def test_the_command_gives_correlations_of_numbers_as_json(tmp_path, capsys):
    assert main(["agreement", _file(tmp_path, NUMBERS), "--level", "interval", "--json"]) == 0
    out = json.loads(capsys.readouterr().out, parse_constant=_refuse_constant)
    assert list(out)[5:] == ["icc_1_1", "icc_2_1", "icc_3_1", "icc_1_k", "icc_2_k", "icc_3_k", "bland_altman"]
    assert out["icc_2_1"]["value"] == pytest.approx(0.289764, abs=5e-7)
    assert (out["icc_2_1"]["n_items"], out["icc_2_1"]["n_raters"]) == (6, 4)
    assert out["bland_altman"] == {
        "value": None,
        "low": None,
        "high": None,
        "n_items": 0,
        "n_raters": 4,
        "reason": "Bland-Altman compares two raters, got 4",
        "limits": {end: {"value": None, "low": None, "high": None} for end in ("lower", "upper")},
    }


def test_the_command_gives_bland_altman_of_two_raters_with_its_limits(tmp_path, capsys):
    # Bland & Altman 1986, Lancet i:307-310: the first three subjects of each meter; figures from the definition
    path = _file(tmp_path, b"item;large;mini\n1;494;512\n2;395;430\n3;516;520\n4;;500\n")
    assert main(["agreement", path, "--json"]) == 0
    out = json.loads(capsys.readouterr().out, parse_constant=_refuse_constant)["bland_altman"]
    sd = ((1 + 256 + 225) / 2) ** 0.5
    assert (out["value"], out["n_items"]) == (-19, 3)
    assert out["limits"]["upper"]["value"] == pytest.approx(-19 + 1.96 * sd)
    assert out["limits"]["lower"]["low"] < out["limits"]["lower"]["value"] < out["limits"]["lower"]["high"]


def test_numbers_that_are_written_differently_are_the_same(tmp_path, capsys):
    assert main(["agreement", _file(tmp_path, b"item,a,b\nx,90,90.0\ny,80,8e1\n"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["percent_agreement"]["value"] == 1


def test_ordinal_labels_are_read_in_the_order_given(tmp_path, capsys):
    path = _file(tmp_path, b"item,a,b\n1,Low,low\n2,high,middle\n3,high,high\n4,low,low\n5,middle,middle\n")
    alphas = []
    for order in ("low,middle,high", "middle, LOW ,high"):
        assert main(["agreement", path, "--level", "ordinal", "--order", order, "--json"]) == 0
        alphas.append(json.loads(capsys.readouterr().out)["krippendorff_alpha"]["value"])
    # the one disagreement is between neighbours in the first order only
    assert alphas[0] > alphas[1]


@pytest.mark.parametrize(
    ("options", "rule"),
    [
        (["--level", "ordinal"], "ordinal labels need their order"),
        (["--level", "interval"], "this needs numbers, got seen"),
        (["--order", "seen,not_seen"], "an order goes with --level ordinal"),
        (["--level", "ordinal", "--order", "seen"], "names two labels or more, each once"),
        (["--level", "ordinal", "--order", "seen,seen"], "names two labels or more, each once"),
        (["--level", "ordinal", "--order", "seen,other"], "a rating must be one of seen, other, got not_seen"),
    ],
)
def test_a_level_that_the_ratings_do_not_have_ends_in_2_with_one_sentence(tmp_path, capsys, options, rule):
    assert main(["agreement", _teaching_table(tmp_path), "--json", *options]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert rule in printed.err
    assert printed.err.count("\n") == 1


def test_the_command_leaves_ask_items_out_and_says_so(tmp_path, capsys):
    path = _teaching_table(tmp_path, extra="ask_comfort;cant_tell;cant_tell\n")
    assert main(["agreement", path, "--json"]) == 0
    printed = capsys.readouterr()
    assert json.loads(printed.out)["percent_agreement"]["n_items"] == 50
    assert printed.err == "Left out, because no photo shows it: ask_comfort.\n"


def test_the_command_prints_a_table_for_people(tmp_path, capsys):
    assert main(["agreement", _teaching_table(tmp_path)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[1].split() == ["Percent", "agreement", "0.700", "0.562", "to", "0.809", "50", "2"]
    assert lines[2].split() == ["Cohen's", "kappa", "0.400", "0.151", "to", "0.649", "50", "2"]


def test_the_table_for_people_says_why_a_number_is_missing(tmp_path, capsys):
    path = _file(tmp_path, b"item,Ann,Bo\nclose,seen,seen\n")
    assert main(["agreement", path]) == 0
    out = capsys.readouterr().out
    assert "Cohen's kappa: no variation: all ratings fall in one category." in out
    assert "nan" not in out.lower()


@pytest.mark.parametrize(("data", "rule"), BROKEN[:-1], ids=[rule[:40] for _, rule in BROKEN[:-1]])
def test_a_broken_file_ends_in_2_with_one_sentence(tmp_path, capsys, data, rule):
    assert main(["agreement", _file(tmp_path, data), "--json"]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert rule in printed.err
    assert printed.err.count("\n") == 1


@pytest.mark.parametrize(
    "arguments", [[], ["agreement"], ["agree", "x.csv"], ["agreement", "x.csv", "--level"], ["agreement", "x", "y"]]
)
def test_wrong_usage_ends_in_2_with_one_sentence(arguments, capsys):
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_the_command_runs_as_a_module_and_warns_of_nothing(tmp_path):
    """As a user runs it; warnings of a library would land on stderr."""
    path = _file(tmp_path, b"item,Ann,Bo\nclose,seen,seen\nlips_out,seen,not_seen\n")
    command = [sys.executable, "-W", "error", "-m", "rubric", "agreement", path, "--json"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["cohen_kappa"]["value"] == 0
    missing = subprocess.run([*command[:-2], "none.csv"], capture_output=True, text=True, timeout=60, check=False)
    assert (missing.returncode, missing.stdout) == (2, "")
    assert missing.stderr == "cannot read none.csv: No such file or directory\n"
