"""The choice of language under every page, and the page's own note of it for readers aloud and spelling checkers."""

from html import escape
from urllib.parse import urlencode, urlsplit

import streamlit as st

from records.errors import RecordsError
from screens import data
from screens.door.cookies import MARK, form_token
from screens.door.visitor import secret_of
from screens.language import LANGUAGES, _, current

_JS = """
export default function ({ data }) {
  document.documentElement.lang = data.language;
}
"""


def tell_the_browser() -> None:
    """Say in the document which language it is in; call it once a page."""
    st.components.v2.component("latch_and_line_language", js=_JS)(
        key="page-language", data={"language": current()}, height="content"
    )


def offer() -> None:
    """Each language by its own name; a form, because only an answer of the server can set the cookie."""
    try:
        token = form_token(secret_of(data.store()), data.cookie(MARK) or "")
    except RecordsError:
        # The page says already that the records are away; then no form can be checked.
        return
    st.html(
        f'<form class="ll-languages" method="post" action="/language" aria-label="{escape(_("Language"), quote=True)}">'
        f'<input type="hidden" name="form_token" value="{token}">'
        f'<input type="hidden" name="back" value="{escape(_here(), quote=True)}">{_buttons()}</form>'
    )


def _buttons() -> str:
    here = current()
    return "".join(
        f'<button type="submit" name="language" value="{code}" lang="{code}"'
        f"{' aria-current=true' if code == here else ''}>{escape(name)}</button>"
        for code, name in LANGUAGES.items()
    )


def _here() -> str:
    address = st.context.url
    path = urlsplit(address).path if isinstance(address, str) else "/"
    asked = urlencode(st.query_params.to_dict())
    return f"{path}?{asked}" if asked else path
