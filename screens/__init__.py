"""What a person sees: one file a screen, and `editor/` for the landmark editor.

May import `records`, `vision` and `rubric`; Streamlit is imported here and in app.py, nowhere else.
"""
