"""The words of a PDF, read by another program than the one that wrote it."""

import shutil
import subprocess

import pytest


def words_of(pdf: bytes) -> str:
    """All text of a PDF, pages parted by form feeds; skips the test where poppler is not installed."""
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("reading a PDF needs Debian's poppler-utils")
    return subprocess.run([reader, "-layout", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()
