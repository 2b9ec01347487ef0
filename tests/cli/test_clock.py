"""The day of a command."""

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from fabella.cli.clock import today


@pytest.fixture(params=["Pacific/Kiritimati", "Nowhere/Nowhere", "XXX-24:59", "XXX99"])
def zone(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A time zone, real or mistyped."""
    monkeypatch.setenv("TZ", request.param)
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.usefixtures("zone")
def test_there_is_a_day_in_every_time_zone() -> None:
    """A mistyped one, too, gives a day, at most five from that in Greenwich."""
    there = datetime.fromtimestamp(time.clock_gettime(time.CLOCK_REALTIME), tz=UTC).date()
    assert abs(today() - there) <= timedelta(days=5)
