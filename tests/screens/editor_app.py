"""The tiny app around editor_screen.py: two drawn pictures behind own routes, as the true app serves its photos."""

from functools import cache

import cv2
import numpy as np
import streamlit as st
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

WIDTH, HEIGHT = 1600, 1200


@cache
def picture(before: bool) -> bytes:
    """A few soft shapes where a head, a body and a breast would be; the numbers are pixels."""
    canvas = np.full((HEIGHT, WIDTH, 3), (196, 205, 214), np.uint8)
    breast = 1280 if before else 1160
    cv2.ellipse(canvas, (560, 900), (240, 340), 6, 0, 360, (188, 176, 138), -1, cv2.LINE_AA)
    cv2.ellipse(canvas, (660, 450), (250, 300), 0, 0, 360, (160, 187, 222), -1, cv2.LINE_AA)
    cv2.ellipse(canvas, (breast, 560), (300, 380), 0, 0, 360, (150, 176, 214), -1, cv2.LINE_AA)
    cv2.ellipse(canvas, (breast - 240, 565), (70, 100), 0, 0, 360, (104, 122, 170), -1, cv2.LINE_AA)
    cv2.ellipse(canvas, (610, 440), (40, 60), 0, 0, 360, (132, 158, 198), 6, cv2.LINE_AA)
    return bytes(cv2.imencode(".jpg", cv2.GaussianBlur(canvas, (0, 0), 2))[1])


def photo(request: Request) -> Response:
    return Response(picture(request.path_params["name"] == "before"), media_type="image/jpeg")


app = st.App("editor_screen.py", routes=[Route("/photos/{name}.jpg", photo)])
