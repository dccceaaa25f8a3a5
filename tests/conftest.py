"""Before any test: the one sentence where this Python cannot hold the packages."""

import sys
from pathlib import Path

import pytest
from hypothesis import settings

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from vision.machine import what_this_machine_lacks

# A busy machine is no broken promise.
settings.register_profile("no-deadline", deadline=None)
settings.load_profile("no-deadline")


def pytest_configure(config: pytest.Config) -> None:  # noqa: ARG001
    if lacking := what_this_machine_lacks():
        pytest.exit(lacking.replace("streamlit run app.py", "pytest"), returncode=2)
