"""What is scored and how well people agree.

This package knows no pixels, no database and no Streamlit.
"""
