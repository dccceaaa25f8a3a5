"""The cover editor: crop a photo and cover what must not be shown, before anything of it is stored.

`cover_editor` mounts it and `CoverEditorValue` is what comes back. A Streamlit component in plain HTML, CSS and
JavaScript like the landmark editor, whose view, helpers and styles it uses.

- `component.py` registers and mounts it; `reading.py` reads with suspicion what the browser answers; `value.py` holds
  what comes back; `assets.py` joins the files.
- The browser only draws where covers will be. What burns them into the photo is `vision.cover.cover`, on the server,
  in the photo's own pixels.
- One finger or the mouse draws on the photo; two fingers zoom and move it. Everything can be done by keyboard too: Tab
  reaches each cover, arrows move it, Delete removes it, and fields beside the photo set its size and turn.
"""

from screens.cover_editor.component import cover_editor
from screens.cover_editor.value import CoverEditorValue

__all__ = ["CoverEditorValue", "cover_editor"]
