"""Why no photo is handed to Streamlit: what it serves under /media is open to whoever has the address."""

import urllib.request
from pathlib import Path

from playwright.sync_api import Browser

from tests.served import serve, stop

HERE = Path(__file__).resolve().parent


def test_streamlit_gives_its_media_to_anyone_without_a_cookie(browser: Browser, tmp_path: Path) -> None:
    """Once this fails, the program's own routes may be thought over."""
    url, process = serve(str(HERE / "media_app.py"), tmp_path / "server.log", {})
    context = browser.new_context()
    try:
        page = context.new_page()
        page.goto(url)
        address = page.get_by_role("img").first.evaluate("image => image.src")
        assert "/media/" in address
        context.close()
        with urllib.request.urlopen(address) as answer:
            assert answer.status == 200
            assert len(answer.read()) > 50
    finally:
        context.close()
        stop(process)
