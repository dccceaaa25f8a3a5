"""Nothing that a user reads stands in the screens unmarked: a sentence outside `_`, `_n`, `N_` or `Said` fails here."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from jinja2 import Environment, nodes

SCREENS = Path(__file__).resolve().parents[2] / "screens"
MARKS = {"_", "_n", "N_", "Said"}
#: What these are handed is a place in the program or a name for a log, and shown to nobody.
QUIET = {"to_top"}
#: (file, text): why it stands there unmarked.
ALLOWED = {
    ("classes/example_class.py", "Linden Room (example)"): "an invented class is called as it is called",
    ("classes/example_class.py", "Doll photos (example)"): "so is its set, which everyone finds by one name",
    ("frame/component.py", "Latch and Line"): "the program's name",
    ("main.py", "Latch and Line"): "the program's name",
    ("language.py", "English"): "a language by its own name",
    ("language.py", "Deutsch"): "a language by its own name",
    ("language.py", "language of this request"): "the name of a variable",
    ("ledger/consent_form.py", "Vera"): "a font",
    ("ledger/consent_form.py", "VeraBd"): "a font",
    ("sets/worksheet_parts.py", "Vera"): "a font",
    ("sets/worksheet_parts.py", "VeraBd"): "a font",
    ("door/cookies.py", "HttpOnly"): "part of a header",
    ("door/cookies.py", "Secure"): "part of a header",
    ("photo_routes.py", "private, no-store"): "a header",
    ("uploads/point_worker.py", "no points could be proposed for photo %s"): "goes to the log",
    ("review/habits.py", "Halo"): "a key; its words are marked where it is a value",
    ("review/habits.py", "Scoring the number"): "a key; its words are marked where it is a value",
    ("ledger/page.py", "People"): "a choice by its word, marked where it is shown",
    ("ledger/page.py", "Dolls"): "a choice by its word, marked where it is shown",
    ("ledger/page.py", "Both"): "a choice by its word, marked where it is shown",
    ("classes/example_class.py", "student x"): "a key of the simulation",
    ("review/work.py", "expert x"): "a key; experts stand on no page by it",
    ("review/points.py", "Mx xHxMx xVx"): "a path of SVG",
    ("editor/__init__.py", "EditorValue"): "a name for import",
    ("editor/__init__.py", "Pin"): "a name for import",
    ("editor/__init__.py", "PinItem"): "a name for import",
    ("cover_editor/__init__.py", "CoverEditorValue"): "a name for import",
}


def reads_like_words(text: str) -> bool:
    """Whether a text has two words in a row, or is one word with a capital; markup and code set aside.

    >>> [reads_like_words(text) for text in ("Hand in", "Save", "width: 3px;", "person_id", '<p class="a b">', "left")]
    [True, True, False, False, False, False]
    """
    plain = re.sub(r'[\w-]+="[^"]*"?', " ", re.sub(r"<[^>]*>", " ", text))
    if re.search(r"[{};]|::|=>|https?:", plain) and not re.search(r"\{\w+\}", plain):
        return False
    words = re.findall(r"[A-Za-z]{2,}", plain)
    alone = len(words) == 1 and plain.strip().rstrip(".:?!") == words[0] and words[0][0].isupper()
    return bool(re.search(r"[A-Za-z]{2,}[,.:;?!]? [A-Za-z]", plain)) or (alone and not words[0].isupper())


def unmarked(tree: ast.AST) -> Iterator[str]:
    """The texts that read like words and stand outside a mark, a docstring, an error and a comparison."""
    if isinstance(tree, ast.Raise | ast.Assert | ast.Import | ast.ImportFrom | ast.Compare):
        return
    if isinstance(tree, ast.Expr) and isinstance(tree.value, ast.Constant):
        return
    if isinstance(tree, ast.Call) and isinstance(tree.func, ast.Name) and tree.func.id in MARKS | QUIET:
        return
    if isinstance(tree, ast.AnnAssign | ast.arg):
        inside = [tree.value] if isinstance(tree, ast.AnnAssign) and tree.value else []
    elif isinstance(tree, ast.FunctionDef | ast.AsyncFunctionDef):
        inside = [*tree.body, *tree.args.defaults, *(one for one in tree.args.kw_defaults if one)]
    elif isinstance(tree, ast.JoinedStr):
        whole = "".join(one.value if isinstance(one, ast.Constant) else "x" for one in tree.values)  # type: ignore[misc]
        yield from [whole] if reads_like_words(whole) else []
        inside = [one.value for one in tree.values if isinstance(one, ast.FormattedValue)]
    else:
        if isinstance(tree, ast.Constant) and isinstance(tree.value, str) and reads_like_words(tree.value):
            yield tree.value
        inside = list(ast.iter_child_nodes(tree))
    for one in inside:
        yield from unmarked(one)


def test_every_sentence_in_the_screens_is_marked() -> None:
    found = {
        (path.relative_to(SCREENS).as_posix(), text)
        for path in sorted(SCREENS.rglob("*.py"))
        for text in unmarked(ast.parse(path.read_text(encoding="utf-8")))
    }
    assert found - set(ALLOWED) == set()
    assert set(ALLOWED) - found == set(), "what no longer stands there needs no leave"


@pytest.mark.parametrize("path", sorted((SCREENS / "door" / "templates").glob("*.html")), ids=lambda path: path.stem)
def test_every_sentence_of_the_doors_templates_is_marked(path: Path) -> None:
    parsed = Environment().parse(path.read_text(encoding="utf-8"))
    plain = "".join(one.data for one in parsed.find_all(nodes.TemplateData))
    shown = re.sub(r"<[^>]*>", " ", plain).replace("Latch and Line", "")
    assert re.findall(r"[A-Za-z]{2,}", shown) == []


@pytest.mark.parametrize(
    "source",
    ["st.write('Hand in now')", "st.button(f'Photo {n} of {total}')", "look.table(['Sign', _('Day')], rows, _('Days'))",
     "def f(head='Your answer'): ...", "st.html(f'<p>Go on {escape(name)}</p>')"],
)  # fmt: skip
def test_an_unmarked_sentence_is_found(source: str) -> None:
    assert list(unmarked(ast.parse(source)))


@pytest.mark.parametrize(
    "source",
    ["st.write(_('Hand in now'))", "st.write(_n('one photo', 'many photos', n))", "WORDS = N_('Hand in now')",
     "if kind == 'Hand in now': ...", "st.html(f'<p class=\"ll-quiet\">{escape(text)}</p>')", "raise Gone('Hand in now')"],
)  # fmt: skip
def test_a_marked_sentence_and_what_nobody_reads_is_passed_over(source: str) -> None:
    assert list(unmarked(ast.parse(source))) == []
