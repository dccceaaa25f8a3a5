"""Pixels and geometry: photos in, landmarks, measures with intervals, and overlays out.

This package knows no checklist, no database and no Streamlit.
"""
