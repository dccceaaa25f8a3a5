"""The folders are the architecture: the arrows of DEVELOPERS.md hold, and each third party has its one door."""

import ast
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

PROJECT = Path(__file__).resolve().parent.parent
PACKAGES = ("vision", "rubric", "records", "screens")

#: third-party module -> files that may import it, as path prefixes
DOORS = {
    "mediapipe": ("vision/mediapipe_models.py",),
    "streamlit": ("app.py", "screens/"),
    "sqlalchemy": ("records/",),
    "alembic": ("records/",),
    "reportlab": (
        "vision/card/pdf.py",
        "screens/ledger/consent_form.py",
        "screens/sets/worksheet",
        "rubric/reports/pdf.py",
    ),
    "jsonschema": ("records/bundles/",),
    "xlsxwriter": ("rubric/reports/spreadsheets.py",),
    "fsrs": ("rubric/practice_plan.py",),
    "imagehash": ("vision/alike.py",),
    "matplotlib": ("vision/bench/",),
    "fsspec": ("records/photo/remote_files.py",),
    "argon2": ("records/identity/passwords.py",),
    "jinja2": ("screens/door/pages.py",),
    "PIL": ("vision/images.py", "vision/overlay.py", "vision/drawing/"),
}


def imported_modules(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found.update(name.name.split(".")[0] for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            found.add(node.module.split(".")[0])
    return found


def program_files() -> list[Path]:
    return [PROJECT / "app.py", *(file for package in PACKAGES for file in sorted((PROJECT / package).rglob("*.py")))]


def test_every_import_between_the_packages_follows_the_allowed_arrows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(PROJECT)
    assert lint_imports(config_filename="pyproject.toml", cache_dir=None) == 0


@pytest.mark.parametrize("module", DOORS)
def test_each_third_party_is_imported_only_behind_its_own_door(module: str) -> None:
    importers = [file.relative_to(PROJECT).as_posix() for file in program_files() if module in imported_modules(file)]
    assert importers, f"nobody imports {module}: the rule is out of date"
    assert [file for file in importers if not file.startswith(DOORS[module])] == []


def test_modules_stay_small() -> None:
    # A migration is a list of tables, read once.
    modules = [file for file in program_files() if "migrations" not in file.parts]
    long = {file.name: n for file in modules if (n := len(file.read_text(encoding="utf-8").splitlines())) > 300}
    assert long == {}
