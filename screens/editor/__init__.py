"""The landmark editor: a Streamlit component in plain HTML, CSS and JavaScript, with no build step and no iframe.

`landmark_editor` mounts it and `EditorValue` is what comes back. How the pieces hang together:

- `component.py` registers and mounts it; `payload.py` is what the browser is told; `reading.py` reads what it
  answers; `value.py` holds the values of both ways.
- `assets.py` joins the files of `js/` into the one module that Streamlit wants, in the order written there.
- The browser keeps the state of an editor while it is on screen. It adopts points from Python only when `revision`
  changes, and in mid-drag not before the release. It sends shares of the photo's width and height, never pixels.
- One finger scrolls the page over the photo as long as the whole photo is in sight. A tap places, a press held for a
  moment opens the magnifier, two fingers zoom, and once the photo is enlarged one finger moves it.
"""

from screens.editor.component import landmark_editor
from screens.editor.value import EditorValue, Pin, PinItem

__all__ = ["EditorValue", "Pin", "PinItem", "landmark_editor"]
