"""The door: who a browser belongs to. Own plain pages for signing in and out, and the cookies that they set.

These pages are HTML without any script, served by own routes, because only an answer of the server can set a cookie
that no script can read. What happens behind the door is Streamlit's.
"""
