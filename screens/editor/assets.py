"""The editor's files, read from disk and joined: Streamlit takes one string each of HTML, CSS and JavaScript."""

from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent

#: Order matters: each file may use names of the files before it, and only functions may look forward.
JS_FILES: tuple[str, ...] = (
    "words.js",
    "geometry.js",
    "sigmas.js",
    "measures.js",
    "landmarks.js",
    "drawings.js",
    "heads.js",
    "view.js",
    "state.js",
    "markers.js",
    "overlay.js",
    "fan.js",
    "loupe.js",
    "gestures.js",
    "keyboard.js",
    "panel.js",
    "guide.js",
    "tools.js",
    "beside.js",
    "main.js",
)
CSS_FILES: tuple[str, ...] = ("frame.css", "stage.css", "panel.css")


@cache
def html() -> str:
    """The editor's skeleton."""
    return (FOLDER / "editor.html").read_text(encoding="utf-8")


@cache
def css() -> str:
    """All style sheets in order."""
    return "\n".join((FOLDER / "css" / name).read_text(encoding="utf-8") for name in CSS_FILES)


@cache
def js() -> str:
    """All scripts in order, as one module; only main.js exports."""
    return "\n".join((FOLDER / "js" / name).read_text(encoding="utf-8") for name in JS_FILES)
