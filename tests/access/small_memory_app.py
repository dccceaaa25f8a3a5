"""The program's door and pages with little memory for what people send, for the test of where that ends."""

import sys
from pathlib import Path

import streamlit as st

PROJECT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(PROJECT))

from screens.door import waiting_files  # noqa: E402
from screens.door.middleware import DoorMiddleware  # noqa: E402
from screens.door.routes import door_routes  # noqa: E402

waiting_files.MOST_OF_ONE_PERSON, waiting_files.MOST_ALTOGETHER = 2 * 2**20, 3 * 2**20
app = st.App(str(PROJECT / "screens" / "main.py"), routes=door_routes(), middleware=[DoorMiddleware.entry()])
