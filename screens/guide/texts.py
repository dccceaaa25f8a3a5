"""The texts of the guides, one Markdown file each. On a code host their pictures are found beside them, here by a route."""

import re
from functools import cache
from pathlib import Path

from screens.language import N_, SOURCE_LANGUAGE

FOLDER = Path(__file__).parent
PICTURES = FOLDER / "pictures"
ADDRESS = "/guide-pictures"

#: file name -> what it is called on the page
GUIDES = {
    "practising": N_("Practising"),
    "class": N_("Running a class"),
    "sets": N_("Building a set"),
    "safety": N_("Safety and care"),
    "school": N_("Installing for a school"),
}


def is_translated(name: str, language: str) -> bool:
    """Whether a guide is there in this language."""
    return (FOLDER / language / f"{name}.md").is_file()


@cache
def text_of(name: str, language: str = SOURCE_LANGUAGE) -> str:
    """A guide as Markdown with addresses of this program, in English where nobody has translated it. Raises KeyError."""
    if name not in GUIDES:
        raise KeyError(name)
    spoken = language if is_translated(name, language) else SOURCE_LANGUAGE
    path = FOLDER / spoken / f"{name}.md"
    return re.sub(r"\(\.\./pictures/(\w+\.webp)\)", rf"({ADDRESS}/\1)", path.read_text(encoding="utf-8"))
