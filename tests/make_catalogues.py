"""Collects every sentence that a user sees into `screens/locale`, keeps what is translated, and compiles it.

    python tests/make_catalogues.py             collect anew, update each language, compile
    python tests/make_catalogues.py --list      print every sentence once, to be read
    python tests/make_catalogues.py --left de   print what nobody has translated yet

Sources: `_`, `_n`, `N_` and `Said` in Python, `_` in the door's templates, the same in the editors' JavaScript (a catalogue of
its own), the words of the checklist, the reasons in the keys of the shipped photos, and what is raised as one whole
sentence. Babel does the collecting; the program itself needs only Python's gettext.
"""

import ast
import json
import re
import sys
import tomllib
from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

PROJECT = Path(__file__).resolve().parent.parent
LOCALE = PROJECT / "screens" / "locale"
KEYWORDS = {"_": None, "N_": None, "Said": None, "_n": (1, 2)}
#: What stands in the checklist for people to read; the rest are ids and switches.
CHECKLIST_WORDS = ("text", "group", "guidance", "cant_tell_when", "explain", "caution")
#: Whatever is raised here may reach a page.
RAISING = ("records", "vision", "rubric", "screens")
#: Not part of the program that a user meets.
ASIDE = ("vision/training", "vision/bench", "records/migrations", "rubric/simulation", "vision/commands")

#: The files carry no moment, so that they change only where a sentence does.
_ALWAYS = datetime(2026, 1, 1, tzinfo=UTC)

Found = tuple[str | tuple[str, str], str]


def found_messages() -> dict[str, list[Found]]:
    """Domain -> (sentence, or singular and plural; the file where it stands), in the order of the files."""
    return {
        "messages": [
            *_of_python(),
            *_of_templates(),
            *_of_checklist(),
            *_of_shipped_keys(),
            *_of_errors(),
            *_of_refusal_parts(),
        ],
        "browser": [*_of_browser()],
        "refusals": [*_of_errors(filled_in=True)],
    }


def _of_python() -> Iterator[Found]:
    for folder in ("screens", "rubric", "vision"):
        for path in _files(folder, "*.py"):
            # Not Babel's own reader: on Python 3.11 it does not look into f-strings.
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and (message := _marked(node)):
                    yield message, path.relative_to(PROJECT).as_posix()


def _marked(call: ast.Call) -> str | tuple[str, str] | None:
    if not isinstance(call.func, ast.Name) or call.func.id not in KEYWORDS:
        return None
    texts = [one.value for one in call.args if isinstance(one, ast.Constant) and isinstance(one.value, str)]
    if call.func.id == "_n":
        return (texts[0], texts[1]) if len(texts) == 2 else None
    return texts[0] if texts else None


def _of_templates() -> Iterator[Found]:
    yield from _by_babel("jinja2.ext:babel_extract", "screens/door/templates", "*.html")


def _of_browser() -> Iterator[Found]:
    for folder in ("screens/editor", "screens/cover_editor"):
        yield from _by_babel("javascript", folder, "*.js")


def _by_babel(method: str, folder: str, pattern: str) -> Iterator[Found]:
    for path in _files(folder, pattern):
        source = BytesIO(path.read_bytes())
        for _line, message, _comments, _context in extract(method, source, KEYWORDS, options={"encoding": "utf-8"}):
            if message:
                yield message, path.relative_to(PROJECT).as_posix()


def _of_checklist() -> Iterator[Found]:
    path = PROJECT / "rubric" / "checklist.toml"
    whole = tomllib.loads(path.read_text(encoding="utf-8"))
    for item in whole["item"]:
        for name in CHECKLIST_WORDS:
            if item.get(name):
                yield item[name], "rubric/checklist.toml"
    for bands in whole.get("bands", {}).values():
        for text in (*bands.get("names", ()), *([bands["note"]] if bands.get("note") else [])):
            yield text, "rubric/checklist.toml"
    for text in whole["sources"].values():
        yield text, "rubric/checklist.toml"


def _of_shipped_keys() -> Iterator[Found]:
    """What the keys of the shipped photos give as reasons."""
    for path in sorted((PROJECT / "sample_images").glob("*.json")):
        for given in json.loads(path.read_text(encoding="utf-8"))["key"]["answers"].values():
            if given["why"]:
                yield given["why"], "sample_images"


def _of_errors(*, filled_in: bool = False) -> Iterator[Found]:
    for folder in RAISING:
        for path in _files(folder, "*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                # What `records` tells without raising it goes to a page as well.
                spoken = ast.Raise | ast.Return | ast.Yield | ast.Assign if folder == "records" else ast.Raise
                if isinstance(node, spoken) and (sentence := _raised(node, filled_in)):
                    yield sentence, path.relative_to(PROJECT).as_posix()


def _of_refusal_parts() -> Iterator[Found]:
    """What fills the places of refusals: the rights by their words, and what a text is asked for."""
    for node in ast.walk(ast.parse((PROJECT / "records" / "rights.py").read_text(encoding="utf-8"))):
        if isinstance(node, ast.ClassDef) and node.name == "Right":
            for line in node.body:
                if isinstance(line, ast.Assign) and isinstance(line.value, ast.Constant):
                    yield str(line.value.value), "records/rights.py"
    for path in _files("records", "*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("required_text") and node.args:
                first = node.args[0]
                if isinstance(first, ast.Constant):
                    yield str(first.value), path.relative_to(PROJECT).as_posix()


def _raised(node: ast.Raise | ast.Return | ast.Yield | ast.Assign, filled_in: bool) -> str | None:
    """The sentence of `raise Error("A sentence.")`, or of `raise Error(f"One with {places}.")`; for people it ends as one."""
    if isinstance(node, ast.Raise):
        if not isinstance(node.exc, ast.Call) or not node.exc.args:
            return None
        first: ast.expr | None = node.exc.args[0]
    else:
        first = node.value
    if filled_in:
        sentence = _with_places(first) if isinstance(first, ast.JoinedStr) else ""
        return sentence if sentence.endswith(".") and " " in sentence and sentence[0] != "{" else None
    if (
        isinstance(first, ast.Constant)
        and isinstance(first.value, str)
        and first.value.endswith((".", "!", "?"))
        and " " in first.value
    ):
        return first.value
    return None


def _with_places(text: ast.JoinedStr) -> str:
    """An f-string as a pattern with named places; a place is called after the last name in its expression."""
    made: list[str] = []
    taken: dict[str, str] = {}
    for part in text.values:
        if isinstance(part, ast.Constant):
            made.append(str(part.value).replace("{", "{{").replace("}", "}}"))
        elif isinstance(part, ast.FormattedValue):
            code = ast.unparse(part.value)
            words = re.findall(r"[A-Za-z][A-Za-z_]*", code)
            name = (words[-1] if words else "value").lower()
            while taken.setdefault(name, code) != code:
                name += "_2"
            # The same thing twice would be one group twice, which no pattern may have.
            made.append(f"{{{name}}}" if f"{{{name}}}" not in made else f"{{{name}_again}}")
    return "".join(made)


def _files(folder: str, pattern: str) -> Iterator[Path]:
    for path in sorted((PROJECT / folder).rglob(pattern)):
        if not path.relative_to(PROJECT).as_posix().startswith(ASIDE):
            yield path


def template(messages: list[Found], language: str | None = None) -> Catalog:
    """A catalogue without translations; each sentence once, with the files in which it stands."""
    made = Catalog(locale=language, project="Latch and Line", charset="utf-8", fuzzy=False, creation_date=_ALWAYS)
    made.revision_date = _ALWAYS
    made.header_comment = "# Sentences of Latch and Line. Made by tests/make_catalogues.py."
    for message, file in messages:
        # Only sentences with places in braces are filled in, and by `str.format`; a per cent sign is a per cent sign.
        made.add(message, locations=[(file, 0)], flags={"python-brace-format"} if "{" in str(message) else ())
        made[message].flags.discard("python-format")
    return made


def read(language: str, domain: str) -> Catalog:
    """A language's catalogue as it lies in `screens/locale`; empty where there is none."""
    path = LOCALE / language / "LC_MESSAGES" / f"{domain}.po"
    if not path.is_file():
        return Catalog(locale=language)
    with path.open("rb") as source:
        return read_po(source, locale=language, domain=domain)


def updated(old: Catalog, messages: list[Found], language: str) -> Catalog:
    """The sentences as they stand in the sources now, with the translations that still fit."""
    new = template(messages, language)
    for message in new:
        before = old.get(message.id) if message.id else None
        if before is not None and before.id == message.id and before.string:
            message.string = before.string
    return new


def as_po(catalogue: Catalog) -> bytes:
    """A catalogue as a file without moments and line numbers, so that it changes only where a sentence does."""
    out = BytesIO()
    write_po(out, catalogue, width=120, include_lineno=False, sort_output=False, omit_header=False)
    kept = [line for line in out.getvalue().decode().splitlines() if not line.startswith(_MOMENTS)]
    return ("\n".join(kept).strip() + "\n").encode()


_MOMENTS = (
    '"POT-Creation-Date',
    '"PO-Revision-Date',
    '"Last-Translator',
    '"Language-Team',
    '"Report-Msgid',
    '"Generated-By',
)


def as_mo(catalogue: Catalog) -> bytes:
    """The same as Python's gettext reads it."""
    out = BytesIO()
    write_mo(out, catalogue)
    return out.getvalue()


def languages() -> list[str]:
    """The languages that have a folder."""
    return sorted(path.parent.name for path in LOCALE.glob("*/LC_MESSAGES"))


def untranslated(catalogue: Catalog) -> list[str]:
    """The sentences that have no translation yet."""
    return [str(message.id) for message in catalogue if message.id and not _whole(message.string)]


def _whole(text: object) -> bool:
    return all(text) if isinstance(text, tuple | list) else bool(text)


def write_all() -> None:
    """Bring `screens/locale` up to date."""
    LOCALE.mkdir(exist_ok=True)
    for domain, messages in found_messages().items():
        (LOCALE / f"{domain}.pot").write_bytes(as_po(template(messages)))
        for language in languages():
            made = updated(read(language, domain), messages, language)
            folder = LOCALE / language / "LC_MESSAGES"
            (folder / f"{domain}.po").write_bytes(as_po(made))
            (folder / f"{domain}.mo").write_bytes(as_mo(made))
            n = sum(1 for message in made if message.id)
            print(f"{language} {domain}: {n - len(untranslated(made))} of {n} sentences")


if __name__ == "__main__":
    if "--list" in sys.argv:
        for name, there in found_messages().items():
            for sentence in dict.fromkeys(sentence for sentence, _file in there):
                print(f"{name}: {sentence}")
    elif "--left" in sys.argv:
        for name in found_messages():
            print(*untranslated(read(sys.argv[-1], name)), sep="\n")
    else:
        write_all()
