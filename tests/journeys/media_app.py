"""A tiny app that hands Streamlit a picture, for tests/journeys/test_sign_in_media.py."""

import numpy as np
import streamlit as st

st.image(np.full((40, 60, 3), 120, np.uint8), caption="a picture")
