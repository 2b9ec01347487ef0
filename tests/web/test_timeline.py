from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.store.clinic.lines import PatientLine, VisitLine
from fabella.web.timeline import FROM, TO, timeline

TODAY = date(2026, 11, 25)
NOBODY = PatientLine(
    id=1, number="K-1", label="Ida Invented", birth_date=None, age_years=None, sex=None, is_invented=True
)


def visit(day: date) -> VisitLine:
    """A visit on a day."""
    return VisitLine(id=1, patient=NOBODY, day=day, setting=None, complaint=None, is_signed=False, version=0)


def test_the_line_runs_from_the_first_visit_to_today() -> None:
    """The first visit stands at the beginning, today's at the end, one in the middle of the time between."""
    days = [date(2024, 11, 25), date(2025, 11, 25), TODAY]
    line = timeline([visit(day) for day in days], TODAY)
    assert [mark.x for mark in line.marks] == [FROM, (FROM + TO) / 2, TO]
    assert [(tick.year, tick.named) for tick in line.ticks] == [(2025, True), (2026, True)]


def test_one_visit_today_does_not_stretch_over_the_line() -> None:
    """The line is at least a year long, and a single visit of today stands at its end."""
    line = timeline([visit(TODAY)], TODAY)
    assert [(mark.x, mark.dated) for mark in line.marks] == [(TO, True)]
    assert [tick.year for tick in line.ticks] == [2026]


def test_no_visit_has_no_line() -> None:
    """Without visits there is nothing to draw."""
    assert timeline([], TODAY).marks == ()


@given(st.lists(st.integers(0, 20_000), min_size=1, max_size=40))
def test_dates_never_cover_each_other(ages: list[int]) -> None:
    """However many visits there are: they are in order, on the line, and dates keep their distance."""
    days = sorted(TODAY - timedelta(days=age) for age in ages)
    marks = timeline([visit(day) for day in days], TODAY).marks
    places = [mark.x for mark in marks]
    assert places == sorted(places)
    assert all(FROM <= place <= TO for place in places)
    dated = [mark.x for mark in marks if mark.dated]
    assert all(later - earlier >= 20 for earlier, later in pairwise(dated))
    assert marks[-1].dated
    assert [mark.number for mark in marks] == list(range(1, len(days) + 1))


@pytest.mark.parametrize("day", [date(2026, 12, 1), TODAY])
def test_a_visit_after_today_is_still_on_the_line(day: date) -> None:
    """A clock that is wrong cannot push a visit off the page."""
    assert timeline([visit(day)], TODAY).marks[0].x <= TO


def test_looks_stand_on_the_same_line() -> None:
    """Each day on which a knee was looked into has its place once, by time, between the ends of the line."""
    days = [TODAY - timedelta(days=ago) for ago in (300, 10, 300)]
    line = timeline([visit(TODAY - timedelta(days=400)), visit(TODAY)], TODAY, days)
    first, last = (mark.x for mark in line.marks)
    assert len(line.looks) == 2
    assert first < line.looks[0] < line.looks[1] < last
    assert timeline([], TODAY, days).looks == ()
