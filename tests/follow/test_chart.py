import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.follow import (
    LESION_FROM,
    BandKind,
    ChangeVerdict,
    Chart,
    DatedTotal,
    Expectation,
    Kind,
    charts_of,
    follow,
)
from fabella.follow.chart import ticks
from fabella.record import Examination, ProcedureName, Total
from fabella.report.chart_words import changed
from fabella.workup import run_workup
from tests.follow.notation import (
    EDITION,
    LEFT,
    PROTOCOL,
    RIGHT,
    START,
    followed,
    graded,
    operation,
    read,
    visit,
)


def charts(*visits: Examination) -> tuple[Chart, ...]:
    """The charts of these visits."""
    return charts_of(followed(*visits), edition=EDITION)


def test_the_band_is_the_error_about_the_first_reading() -> None:
    """A reading outside the band is what the verdict since the first visit calls a true change."""
    # Hancock 2018 J Exp Orthop 5:46: goniometer 10 degrees.
    values = (95, 103, 118)
    (chart,) = charts(*(visit(6 * n, read("passive_flexion", value)) for n, value in enumerate(values)))
    assert (chart.kind, chart.band_kind, chart.unit) == (Kind.MEASURE, BandKind.SINCE_FIRST, "deg")
    assert [(0, 85, 105), (42, 85, 105), (84, 85, 105)] == [(b.day, b.low, b.high) for b in chart.band]
    assert [(0, 95), (42, 103), (84, 118)] == [(mark.day, mark.value) for mark in chart.points]


def test_readings_of_one_day_keep_the_order_of_their_visits() -> None:
    """Each mark knows which visit of its day it is of, and the band has the error of that one."""
    knees = read("passive_flexion", 100), read("passive_flexion", 140, side=LEFT)
    chart, _ = charts(visit(0, *knees), visit(6, *knees[:1]), visit(6, *knees))
    assert [(mark.day, mark.turn) for mark in chart.points] == [(0, 0), (42, 0), (42, 1)]
    assert [(mark.day, mark.turn) for mark in chart.other] == [(0, 0), (42, 1)]
    assert [(band.day, band.turn) for band in chart.band] == [(0, 0), (42, 0), (42, 1)]


def test_a_total_by_post_comes_behind_that_of_a_visit_of_its_day() -> None:
    """Two totals of one day are two marks."""
    visits = [visit(weeks, totals=(Total(score="oks", value=20),)) for weeks in (0, 6)]
    sent = DatedTotal(day=visits[1].examined_on or START, total=Total(score="oks", value=30))
    course = follow(visits, edition=EDITION, protocol=PROTOCOL, totals=(sent,))
    (chart,) = charts_of(course, edition=EDITION)
    assert [(mark.turn, mark.value) for mark in chart.points] == [(0, 20), (0, 20), (1, 30)]


def test_without_an_error_there_is_no_band() -> None:
    """Two tools that nobody compared leave the band away."""
    tools = ("by hand", "arthrometer")
    (chart,) = charts(*(visit(n, read("lachman", 9 - n, unit="mm", method=t)) for n, t in enumerate(tools)))
    assert chart.band == ()


def test_the_other_knee_stands_beside_and_one_reading_alone_has_no_chart() -> None:
    """The other knee's readings are on the chart of this one; a single one has no chart of its own."""
    first = visit(0, read("passive_flexion", 95), read("passive_flexion", 140, side=LEFT))
    (chart,) = charts(first, visit(6, read("passive_flexion", 118)))
    assert (chart.side, [mark.value for mark in chart.other]) == (RIGHT, [140])


def test_published_points_stand_at_their_weeks_after_the_operation() -> None:
    """Medians of week 1 and 8 after a replacement stand 7 and 56 days after it, joined by a straight line."""
    # Kornuijt 2019 Musculoskelet Surg 103:289-297: 80 at 1 week, 110 at 8; below 90 at 8 weeks insufficient.
    done = operation(ProcedureName.TOTAL_KNEE_REPLACEMENT, weeks=1)
    values = ((0, 112), (2, 75), (10, 108))
    (chart,) = charts(
        *(visit(w, read("passive_flexion", v), procedure=done if w >= 1 else None) for w, v in values)
    )
    found = {(each.source, each.expectation): each for each in chart.expected}
    usual = found["Kornuijt 2019", Expectation.USUAL]
    assert [(14, 80), (63, 110)] == [(mark.day, mark.value) for mark in usual.marks]
    assert usual.line == usual.marks
    needed = found["Kornuijt 2019", Expectation.AT_LEAST]
    assert ([(63, 90)], ()) == ([(mark.day, mark.value) for mark in needed.marks], needed.line)
    assert chart.operations == ((7, ProcedureName.TOTAL_KNEE_REPLACEMENT),)


def test_a_line_ends_where_the_chart_does() -> None:
    """Of a line from week 2 to week 52 a chart of 27 weeks shows the first half."""
    # Growth model 2018: 100 at 2 weeks, 117 at 52.
    done = operation(ProcedureName.TOTAL_KNEE_REPLACEMENT)
    (chart,) = charts(*(visit(w, read("passive_flexion", 100), procedure=done) for w in (2, 27)))
    model = next(each for each in chart.expected if "Growth" in each.source)
    assert [0, 175] == [mark.day for mark in model.line]
    assert [mark.value for mark in model.line] == pytest.approx([100, 108.5])


def test_a_total_has_its_own_band_within_its_range() -> None:
    """A band about 46 of 48 points ends at 48."""
    # Beard 2015: MDC90 of 4 points.
    (chart,) = charts(*(visit(n, totals=(Total(score="oks", value=46 - n),)) for n in (0, 26)))
    assert (chart.kind, chart.unit) == (Kind.TOTAL, "points")
    assert {(42, 48)} == {(each.low, each.high) for each in chart.band}


def test_a_lesion_has_its_interval_as_band() -> None:
    """A lesion that was ever likely has a chart from 0 to 1, with its 90 % interval."""
    visits = visit(0, graded("lachman", "3+")), visit(26, graded("lachman", "0"))
    course = follow([run_workup(each) for each in visits], edition=EDITION, protocol=PROTOCOL)
    found = [chart for chart in charts_of(course, edition=EDITION) if chart.kind is Kind.LESION]
    assert found
    for chart in found:
        assert (chart.low, chart.high, chart.band_kind) == (0, 1, BandKind.INTERVAL)
        assert all(b.low <= p.value <= b.high for b, p in zip(chart.band, chart.points, strict=True))
        assert max(point.value for point in chart.points) >= LESION_FROM


@given(st.floats(-200, 200), st.floats(-200, 200))
def test_ticks_are_round_even_and_hold_everything(one: float, other: float) -> None:
    """Values between the ends of the axis, at even steps of 1, 2 or 5 times a power of ten, and few."""
    low, high = sorted((one, other))
    found = ticks(low, high)
    assert found[0] <= low + 1e-6
    assert high - 1e-6 <= found[-1]
    assert 2 <= len(found) <= 8
    steps = [later - earlier for earlier, later in pairwise(found)]
    assert max(steps) == pytest.approx(min(steps), rel=1e-3, abs=1e-9)
    digit = steps[0] / 10 ** math.floor(math.log10(steps[0]) + 1e-6)
    assert min(abs(digit - each) for each in (1, 2, 5)) < 0.01


@given(st.lists(st.tuples(st.integers(0, 400), st.floats(0, 170)), min_size=2, max_size=8))
def test_everything_lies_within_the_axes(readings: list[tuple[int, float]]) -> None:
    """Points, bands and published values all lie between the ends of both axes."""
    done = operation(ProcedureName.TOTAL_KNEE_REPLACEMENT)
    visits = (visit(w, read("passive_flexion", value), procedure=done) for w, value in sorted(readings))
    for chart in charts(*visits):
        marks = [*chart.points, *chart.other]
        marks += [mark for each in chart.expected for mark in (*each.marks, *each.line)]
        assert all(0 <= mark.day <= chart.days for mark in marks)
        assert all(chart.low - 1e-6 <= mark.value <= chart.high + 1e-6 for mark in marks)
        assert all(chart.low - 1e-6 <= b.low <= b.high <= chart.high + 1e-6 for b in chart.band)


@pytest.mark.parametrize(("first", "last"), [(32.7, 31.7), (64.9, 63.9), (32.2, 31.2), (45.0, 46.0)])
def test_a_reading_at_the_edge_of_the_band_is_within_it_as_in_words(first: float, last: float) -> None:
    """A change of exactly the error bears no ring beside a sentence that calls it unchanged."""
    # Jakobsen 2010: 1.0 cm by one examiner (from memory in the tables).
    girths = (read("thigh_girth", value, unit="cm", method="tape") for value in (first, last))
    course = followed(*(visit(week, girth, examiner="A") for week, girth in enumerate(girths)))
    assert course.measures[0].steps[0].verdict is ChangeVerdict.NO_LARGER_THAN_MEASUREMENT_ERROR
    (chart,) = charts_of(course, edition=EDITION)
    assert not changed(chart, chart.points[-1])
