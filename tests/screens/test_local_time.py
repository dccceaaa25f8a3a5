"""Moments are told in the reader's own time, and what a reader types is understood in it."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from screens.local_time import here, moment_here, now_here, zone_called


@pytest.mark.parametrize("name", ["", None, 5, "Nowhere/Land", "../../etc/passwd", "/etc/passwd", "a\0b", "x" * 300])
def test_a_zone_that_a_browser_makes_up_is_none_and_breaks_nothing(name: object) -> None:
    assert zone_called(name) is None


def test_a_zone_by_its_name_is_that_zone_summer_and_winter() -> None:
    zone = zone_called("Europe/Zurich")
    assert zone == ZoneInfo("Europe/Zurich")
    assert [datetime(2026, month, 1, 12, tzinfo=UTC).astimezone(zone).hour for month in (1, 7)] == [13, 14]


def test_without_a_page_it_is_this_computer_s_time() -> None:
    at = datetime(2026, 7, 1, 12, tzinfo=UTC)
    assert here(at) == at
    assert here(at).utcoffset() == at.astimezone().utcoffset()
    meant = moment_here(date(2026, 7, 1), time(18, 30))
    assert (meant.date(), meant.time()) == (date(2026, 7, 1), time(18, 30))
    assert meant.utcoffset() == datetime(2026, 7, 1, 18, 30).astimezone().utcoffset()
    assert abs((now_here() - datetime.now(UTC)).total_seconds()) < 5
