"""The installation guide is tried as it stands: its nginx lines, TLS, two processes of the program, one PostgreSQL."""

import re
import shutil
import ssl
import subprocess
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import httpx
import psutil
import pytest
from playwright.sync_api import Browser, expect

from records.store import Store
from screens.guide.texts import text_of
from tests import postgres
from tests.journeys.people import PASSWORD, settle
from tests.journeys.school import give, open_school, student
from tests.served import free_port, serve, stop
from tests.talking import TalkingPage

pytestmark = pytest.mark.skipif(
    not (shutil.which("nginx") and shutil.which("openssl") and postgres.programs()),
    reason="wants Debian's packages nginx-light, openssl and postgresql",
)


@dataclass
class Installation:
    """A school behind its proxy: the address, what checks its certificate, the processes, the work given."""

    address: str
    tls: ssl.SSLContext
    apps: list[subprocess.Popen[bytes]]
    work: str


def certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate of our own for localhost."""
    made, key = folder / "certificate.pem", folder / "key.pem"
    said = ["-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost", "-days", "2", "-nodes"]
    kind = ["-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1"]
    command = ["openssl", "req", *kind, *said, "-keyout", str(key), "-out", str(made)]
    subprocess.run(command, check=True, capture_output=True)
    return made, key


def nginx_of_the_guide(folder: Path, ports: list[int], port: int) -> list[str]:
    """The command that runs nginx with the guide's own lines; only places and ports are filled in."""
    made, key = certificate(folder)
    (lines,) = re.findall(r"```\n(upstream .*?)```", text_of("school"), re.DOTALL)
    for told, ours in zip((8601, 8602), ports, strict=True):
        assert f"server 127.0.0.1:{told};" in lines
        lines = lines.replace(f"127.0.0.1:{told}", f"127.0.0.1:{ours}")
    for told, ours in (("443 ssl", f"127.0.0.1:{port} ssl"), ("YOUR.HOST", "localhost")):
        assert told in lines
        lines = lines.replace(told, ours)
    lines = lines.replace("CERTIFICATE.pem", str(made)).replace("KEY.pem", str(key))
    places = "".join(
        f"{what}_temp_path {folder}/{what};\n" for what in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    config = folder / "nginx.conf"
    config.write_text(
        f"daemon off;\npid {folder}/nginx.pid;\nerror_log {folder}/nginx.log;\nevents {{}}\n"
        f"http {{\naccess_log off;\n{places}{lines}\n}}\n"
    )
    return ["nginx", "-p", str(folder), "-c", str(config), "-e", f"{folder}/nginx.log"]


@pytest.fixture
def installation(tmp_path: Path) -> Iterator[Installation]:
    with postgres.Server.running(tmp_path / "pg" / "server") as server:
        url = server.url(server.new_database())
        data = tmp_path / "data"
        data.mkdir()
        store = Store.open(data, url=url)
        school = open_school(store, ("cradle_side", "medium_side"))
        student(store, school, "wren")
        work = give(store, school)
        ports, port = [free_port(), free_port()], free_port()
        environment = {
            "LATCH_AND_LINE_DATA": str(data),
            "LATCH_AND_LINE_DATABASE": url,
            "LATCH_AND_LINE_JOURNAL": str(tmp_path / "journal"),
            "LATCH_AND_LINE_BEHIND_PROXY": "1",
        }
        apps = [serve("app.py", tmp_path / f"{at}.log", environment, at)[1] for at in ports]
        (tmp_path / "nginx").mkdir()
        proxy = subprocess.Popen(nginx_of_the_guide(tmp_path / "nginx", ports, port))
        tls = ssl.create_default_context(cafile=str(tmp_path / "nginx" / "certificate.pem"))
        address = f"https://localhost:{port}"
        try:
            answers(address, tls)
            yield Installation(address=address, tls=tls, apps=apps, work=work)
        finally:
            proxy.terminate()
            proxy.wait(timeout=20)
            for app in apps:
                stop(app)
            store.close()


def answers(address: str, tls: ssl.SSLContext) -> None:
    """Wait until the proxy answers for the program."""
    for _ in range(100):
        try:
            if httpx.get(f"{address}/sign-in", verify=tls).status_code == 200:
                return
        except httpx.TransportError:
            pass
        time.sleep(0.2)
    raise AssertionError("nginx did not answer")


def signed_in(there: Installation) -> TalkingPage:
    page = TalkingPage.of(there.address, there.tls)
    token = re.search(r'name="form_token" value="([^"]+)"', page.client.get("/sign-in").text)
    assert token is not None
    sent = {"form_token": token[1], "handle": "wren", "password": PASSWORD}
    page.client.post("/sign-in", data=sent, headers={"Origin": there.address}).raise_for_status()
    return page


def talks(app: subprocess.Popen[bytes]) -> bool:
    """Whether this process holds a page's connection."""
    return any(
        one.status == psutil.CONN_ESTABLISHED and one.laddr.port == int(port)
        for one in psutil.Process(app.pid).net_connections("tcp")
        for port in re.findall(r"--server.port=(\d+)", " ".join(map(str, app.args)))
    )


def test_signed_in_over_tls_the_work_goes_on_in_the_other_process_when_one_is_killed(
    installation: Installation, browser: Browser
) -> None:
    page = signed_in(installation)
    cookies = [cookie for cookie in page.client.cookies.jar if cookie.name.startswith("latch_and_line")]
    assert cookies
    assert all(cookie.secure for cookie in cookies)

    page.open("my-work", work=installation.work)
    page.press("Begin with photo 1")
    for group, option in (("When was it taken?", "At the breast: the mouth is on it"), ("From where?", "Side: square")):
        page.choose(
            group, next(o for e in page.shows("radio") if e.label == group for o in e.options if o.startswith(option))
        )
    page.choose(next(label for label in page.labels("radio") if label.startswith("1. ")), "Seen")
    assert page.errors == []

    (serving,) = [app for app in installation.apps if talks(app)]
    serving.kill()
    serving.wait()
    page.open("my-work", work=installation.work)
    page.press("Go on with photo 1")
    assert page.errors == []
    (first,) = [one for one in page.shows("radio") if one.label.startswith("1. ")]
    assert first.options[first.default] == "Seen"
    page.close()

    context = browser.new_context(ignore_https_errors=True, viewport={"width": 1180, "height": 820})
    tab = context.new_page()
    tab.goto(f"{installation.address}/sign-in")
    tab.get_by_label("Name you go by here").fill("wren")
    tab.get_by_label("Password", exact=True).fill(PASSWORD)
    tab.get_by_role("button", name="Sign in", exact=True).click()
    expect(tab.get_by_text("Signed in as wren")).to_be_visible(timeout=60_000)
    settle(tab)
    context.close()
