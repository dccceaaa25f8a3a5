"""The tiny app around cover_editor_screen.py: a shipped photo behind an own route, as the true app serves its photos."""

from pathlib import Path

import streamlit as st
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

PHOTO = Path(__file__).resolve().parents[2] / "sample_images" / "laid_back_face_in_frame.jpg"


def photo(_request: Request) -> Response:
    return Response(PHOTO.read_bytes(), media_type="image/jpeg")


app = st.App("cover_editor_screen.py", routes=[Route("/photos/photo.jpg", photo)])
