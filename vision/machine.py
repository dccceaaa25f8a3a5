"""What this machine lacks for the program to run, said in one sentence instead of a traceback.

Imports nothing heavy, and runs on Pythons older and newer than the program's own, so that it can speak before the
packages do.
"""

from __future__ import annotations

import sys
from importlib.util import find_spec

UV_LINE = "uv run --python 3.12 --with-requirements requirements.txt streamlit run app.py"
APT_LINE = "apt-get install --no-install-recommends libgl1 libglib2.0-0"
PIP_LINE = "pip install -r requirements.txt"

OLDEST, FIRST_TOO_NEW = (3, 11), (3, 13)
NEEDED = {"streamlit": "streamlit", "cv2": "opencv-python", "mediapipe": "mediapipe", "PIL": "pillow"}


def python_lack(version: tuple[int, ...]) -> str | None:
    """One sentence where this Python is too old or too new, else None.

    >>> python_lack((3, 12)) is None
    True
    >>> python_lack((3, 13))[:61]
    'This program needs Python 3.11 or 3.12 and this is Python 3.1'
    """
    if OLDEST <= version[:2] < FIRST_TOO_NEW:
        return None
    return (
        f"This program needs Python 3.11 or 3.12 and this is Python {version[0]}.{version[1]}; start it with: {UV_LINE}"
    )


def library_lack(error: ImportError) -> str:
    """One sentence for an ImportError of OpenCV.

    >>> library_lack(ImportError("libGL.so.1: cannot open shared object file"))[:55]
    'OpenCV needs libGL.so.1, which this machine lacks; on D'
    """
    text = str(error)
    if ".so" in text:
        return f"OpenCV needs {text.split(':')[0]}, which this machine lacks; on Debian or Ubuntu run: {APT_LINE}"
    return f"OpenCV cannot be loaded ({text}); run: {PIP_LINE}"


def what_this_machine_lacks() -> str | None:
    """The first thing that is missing, as one sentence, or None."""
    if lack := python_lack(sys.version_info[:2]):
        return lack
    for module, package in NEEDED.items():
        if find_spec(module) is None:
            return f"The package {package} is missing; run: {PIP_LINE}"
    try:
        import cv2  # noqa: F401
    except ImportError as error:
        return library_lack(error)
    return None
