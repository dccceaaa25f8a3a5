"""The cover editor's files, read from disk and joined; view, helpers and styles are the landmark editor's."""

from functools import cache
from pathlib import Path

from screens.editor import assets as landmark_editor

FOLDER = Path(__file__).parent

#: Of the landmark editor: none of these knows a landmark until it is called.
SHARED_JS: tuple[str, ...] = ("words.js", "geometry.js", "view.js", "markers.js")
#: Order matters: each file may use names of the files before it, and only functions may look forward.
JS_FILES: tuple[str, ...] = ("areas.js", "state.js", "stage.js", "hands.js", "keys.js", "panel.js", "main.js")


@cache
def html() -> str:
    """The skeleton."""
    return (FOLDER / "cover_editor.html").read_text(encoding="utf-8")


@cache
def css() -> str:
    """The landmark editor's styles, and then its own."""
    return "\n".join((landmark_editor.css(), (FOLDER / "cover_editor.css").read_text(encoding="utf-8")))


@cache
def js() -> str:
    """All scripts in order, as one module; only main.js exports."""
    shared = [landmark_editor.FOLDER / "js" / name for name in SHARED_JS]
    return "\n".join(path.read_text(encoding="utf-8") for path in (*shared, *(FOLDER / "js" / n for n in JS_FILES)))
