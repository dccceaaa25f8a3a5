"""The program as in the journeys, for those who go through it by key, by ear, or in large letters."""

from tests.journeys.conftest import page, run_program  # noqa: F401
from tests.screens.conftest import editor_url, open_editor  # noqa: F401
