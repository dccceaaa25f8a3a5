"""The gate before all pages: names that are not ours, pages of other addresses, files from nobody."""

import pytest

from screens.door import cookies, gate


def scope(**headers: str) -> dict[str, object]:
    pairs = [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()]
    return {"type": "http", "path": "/", "method": "GET", "headers": pairs, "client": ("127.0.0.1", 1)}


@pytest.mark.parametrize(
    "host",
    [
        "elsewhere.example",
        "elsewhere.example:8501",
        "127.0.0.1.elsewhere.example",
        "localhost.elsewhere.example",
        "[x",
        "a@b",
    ],
)
def test_a_name_that_another_site_gave_our_address_is_turned_away(host: str) -> None:
    refused = gate.refusal_of_host(scope(host=host))
    assert refused is not None
    assert refused.status == 421


@pytest.mark.parametrize("host", ["localhost:8501", "LOCALHOST", "127.0.0.1:1", "[::1]:8501", "10.1.2.3", "localhost."])
def test_this_computers_own_names_are_let_in(host: str) -> None:
    assert gate.refusal_of_host(scope(host=host)) is None


def test_behind_the_schools_proxy_the_proxy_knows_the_names(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(cookies.PROXY_VARIABLE, "1")
    assert gate.refusal_of_host(scope(host="latch.school.example")) is None


@pytest.mark.parametrize(
    ("origin", "elsewhere"),
    [
        ("http://localhost:8501", False),
        ("http://localhost:9999", True),
        ("http://127.0.0.1:8501", True),
        ("https://elsewhere.example", True),
        ("null", True),
        ("file://", True),
    ],
)
def test_a_socket_belongs_to_the_page_of_its_own_address(origin: str, elsewhere: bool) -> None:
    assert gate.opens_from_elsewhere(scope(host="localhost:8501", origin=origin)) is elsewhere


def test_the_counters_are_for_this_computer() -> None:
    asked = {**scope(), "path": gate.METRICS}
    assert not isinstance(gate.refusal_or_limit(asked), gate.Refusal)
    assert isinstance(gate.refusal_or_limit({**asked, "client": ("203.0.113.5", 1)}), gate.Refusal)
