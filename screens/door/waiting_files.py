"""How much of what people have sent waits in this program's memory, and when more is turned away.

Streamlit keeps each uploaded file in memory until its page is closed, as many as are sent. One person could fill the memory
of the computer with them, and so end the program for everyone.
"""

import threading

from streamlit import runtime
from streamlit.runtime.memory_uploaded_file_manager import MemoryUploadedFileManager

#: A hundred photos as cameras make them, or three bundles.
MOST_OF_ONE_PERSON = 1024 * 2**20
MOST_ALTOGETHER = 3 * MOST_OF_ONE_PERSON

_lock = threading.Lock()
_whose: dict[str, str] = {}


def has_room(person_id: str, page_id: str) -> bool:
    """Whether one more file of this person may come to the page that Streamlit calls so."""
    held = _bytes_by_page()
    with _lock:
        _whose[page_id] = person_id
        for gone in _whose.keys() - held.keys() - {page_id}:
            del _whose[gone]
        mine = sum(held[page] for page, whose in _whose.items() if whose == person_id and page in held)
    return mine < MOST_OF_ONE_PERSON and sum(held.values()) < MOST_ALTOGETHER


def _bytes_by_page() -> dict[str, int]:
    files = runtime.get_instance().uploaded_file_mgr if runtime.exists() else None
    if not isinstance(files, MemoryUploadedFileManager):
        return {}
    # Copies: other threads add and remove meanwhile.
    pages = {page: list(held.values()) for page, held in list(files.file_storage.items())}
    return {page: sum(len(one.data) for one in held) for page, held in pages.items()}
