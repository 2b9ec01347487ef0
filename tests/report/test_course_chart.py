import itertools
import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.anatomy import load_lesions
from fabella.follow import Chart, Kind, charts_of, follow
from fabella.record import Examination, ProcedureName, Total
from fabella.report.chart_words import changed, description
from fabella.report.course_chart import HEIGHT_MM, WIDTH_MM, Drawing, build_chart, render_chart
from fabella.report.labels import width_mm
from fabella.report.plate import PALETTE
from fabella.workup import run_workup
from tests.follow.notation import EDITION, LEFT, PROTOCOL, followed, graded, operation, read, visit

SVG = "{http:" + "//www.w3.org/2000/svg}"
DOT_MM = 2.0
REPLACED = operation(ProcedureName.TOTAL_KNEE_REPLACEMENT, weeks=1)


def charts(*visits: Examination) -> tuple[Chart, ...]:
    """The charts of these visits."""
    return charts_of(followed(*visits), edition=EDITION)


def drawing(chart: Chart) -> Drawing:
    """A chart laid out."""
    return build_chart(chart, protocol=PROTOCOL, lesions=load_lesions())


def drawn(chart: Chart) -> ET.Element:
    """A chart as an XML tree; a drawing that is no XML fails here."""
    return ET.fromstring(render_chart(drawing(chart)))  # noqa: S314  our own drawing


def recovery() -> Chart:
    """Flexion before and after a replacement, with the other knee beside it."""
    values = ((0, 112), (3, 75), (9, 103), (53, 118))
    (chart, _) = charts(
        *(
            visit(
                weeks,
                read("passive_flexion", value, method="goniometer"),
                read("passive_flexion", 130, side=LEFT, method="goniometer"),
                procedure=REPLACED if weeks else None,
            )
            for weeks, value in values
        )
    )
    return chart


def test_the_text_equivalent_says_everything_that_is_drawn() -> None:
    """Each reading with its day, the other knee, what has changed, the operation, the published numbers."""
    # Kornuijt 2019: median 110 at 8 weeks after the operation, that is on 10 March 2025.
    said = description(recovery(), protocol=PROTOCOL, lesions=load_lesions())
    for part in (
        "Passive flexion of the right knee: 112° on 6 January 2025, 75° on 27 January 2025",
        "The left side: 130° on 6 January 2025",
        "Truly changed since the first: 75° on 27 January 2025.",
        "Total knee replacement on 13 January 2025.",
        "Usual (median), Kornuijt 2019: 80° on 20 January 2025 and 110° on 10 March 2025.",
        "At least this (threshold), Kornuijt 2019: 90° on 10 March 2025.",
    ):
        assert part in said
    tree = drawn(recovery())
    assert (tree.findtext(f"{SVG}title"), tree.findtext(f"{SVG}desc")) == (
        "Passive flexion of the right knee",
        said,
    )
    assert tree.get("role") == "img"
    assert tree.get("aria-labelledby") == "chart-title chart-desc"


def shared_day(*weeks_and_values: tuple[float, float]) -> Drawing:
    """Flexion of the right knee at visits some of which are on one day, laid out; the left knee beside it."""
    visits = (
        visit(weeks, read("passive_flexion", value), read("passive_flexion", 130, side=LEFT))
        for weeks, value in weeks_and_values
    )
    return drawing(charts(*visits)[0])


def test_visits_of_one_day_stand_side_by_side() -> None:
    """No point or value hides another; the day is one date over joined ticks, its middle to scale."""
    page = shared_day((0, 95), (6, 95), (6, 95), (6, 118), (20, 130))
    xs = [dot.at[0] for dot in page.dots]
    assert all(then - x > DOT_MM for x, then in itertools.pairwise(xs))
    assert [x for x, _ in page.other_places] == xs == [round(x, 2) for x in page.ticks]
    assert [(round(x, 2), round(to, 2)) for x, to in page.shared] == [(xs[1], xs[3])]
    assert [says for _, _, says in page.days] == ["6 Jan 2025", "17 Feb 2025", "26 May 2025"]
    middle = page.days[1][0]
    assert (middle - xs[0]) / (xs[4] - xs[0]) == pytest.approx(6 / 20, abs=0.001)
    assert "95° on 6 January 2025, 95°, then 95°, then 118° on 17 February 2025 and 130°" in page.description
    assert ("shared", ("visits of one day",)) in [(each.symbol, each.lines) for each in page.key]


def test_visits_of_a_single_day_fill_the_field_in_their_order() -> None:
    """Without a span of time there is one date in the middle, and the band lies under every point."""
    page = shared_day((0, 95), (0, 96), (0, 118))
    first, middle, last = (dot.at[0] for dot in page.dots)
    assert middle - first == pytest.approx(last - middle, abs=0.02)
    assert last - first > WIDTH_MM / 2
    assert [(round(x, 2), says) for x, _, says in page.days] == [(middle, "6 Jan 2025")]
    assert [dot.ringed for dot in page.dots] == [False, False, True]
    corners = [float(x) for x in re.findall(r"[ML]([\d.]+) ", page.band)]
    assert (min(corners), max(corners)) == pytest.approx((first, last), abs=0.01)


def test_a_crowd_of_days_keeps_their_order() -> None:
    """However many visits a day has, it never reaches into the next one."""
    page = shared_day(*((weeks, 90 + turn) for weeks in (0, 1, 2, 200) for turn in range(6)))
    xs = list(page.ticks)
    assert xs == sorted(set(xs))
    assert [each.symbol for each in page.key].count("shared") == 1


def test_days_without_company_have_no_joined_ticks() -> None:
    """A course with one visit a day has nothing of it, neither at the axis nor in the key."""
    page = drawing(recovery())
    assert page.shared == ()
    assert "shared" not in [each.symbol for each in page.key]


def test_a_ring_is_drawn_where_the_verdict_is_a_true_change() -> None:
    """Rings stand at readings whose change since the first exceeds the error, and nowhere else."""
    chart = recovery()
    rings = [node for node in drawn(chart).iter(f"{SVG}circle") if node.get("fill") == "none"]
    assert [False, True, False, False] == [changed(chart, mark) for mark in chart.points]
    assert len(rings) == 1 + 1  # and one in the key


def test_without_a_known_error_no_band_is_drawn_and_it_is_said() -> None:
    """Two tools that nobody compared leave no hatching, and no reading is called changed."""
    tools = ("by hand", "arthrometer")
    (chart,) = charts(
        *(visit(n, read("lachman", 12 - 8 * n, unit="mm", method=t)) for n, t in enumerate(tools))
    )
    assert (drawing(chart).band, drawing(chart).hatch) == ("", "")
    assert "no band is drawn" in drawing(chart).description
    assert "hatch" not in render_chart(drawing(chart))


def test_the_hatching_is_cut_to_the_band() -> None:
    """The ribbon is clipped to the band, whose ends are the first reading and its error to either side."""
    # Hancock 2018 J Exp Orthop 5:46: 10 degrees about 112.
    chart = recovery()
    assert {(102.0, 122.0)} == {(band.low, band.high) for band in chart.band}
    tree = drawn(chart)
    clips = {node.get("id") for node in tree.iter(f"{SVG}clipPath")}
    used = {node.get("clip-path") for node in tree.iter() if node.get("clip-path")}
    assert used == {f"url(#{each})" for each in clips}


def test_only_paper_ink_accent_and_one_soft_tone_are_used() -> None:
    """Meaning is carried by shape and words: the drawing has one accent and reads in grey."""
    colours = set(re.findall(r"#[0-9a-f]{6}", render_chart(drawing(recovery()))))
    assert colours == set(PALETTE.values())


def test_letters_on_the_chart_are_explained_in_the_key() -> None:
    """Every published series has its letter, in the field and in the key."""
    page = drawing(recovery())
    letters = [each.letter for each in page.expected]
    assert letters == sorted(set(letters))
    assert letters == [entry.symbol for entry in page.key if len(entry.symbol) == 1]


@given(st.lists(st.tuples(st.integers(0, 300), st.floats(0, 170)), min_size=2, max_size=9), st.booleans())
@settings(max_examples=60)
def test_any_course_can_be_drawn_on_its_page(readings: list[tuple[int, float]], other: bool) -> None:
    """Whatever was measured and when, the drawing is sound XML and nothing leaves the page."""
    visits = (
        visit(
            weeks,
            read("passive_flexion", value),
            *([read("passive_flexion", 120, side=LEFT)] if other else []),
            procedure=REPLACED if weeks else None,
        )
        for weeks, value in sorted(readings)
    )
    for chart in charts(*visits):
        page = drawing(chart)
        ET.fromstring(render_chart(page))  # noqa: S314  our own drawing
        for dot in page.dots:
            assert 0 < dot.at[0] < WIDTH_MM
            assert 8 < dot.says_y < HEIGHT_MM
        rows: dict[float, list[tuple[float, float]]] = {}
        for x, y, says in page.days:
            if says:
                rows.setdefault(y, []).append((x - width_mm(says) / 2, x + width_mm(says) / 2))
        for row in rows.values():
            assert all(before[1] <= after[0] for before, after in itertools.pairwise(row))
        last = page.key[-1]
        assert last.y + 2.75 * len(last.lines) < HEIGHT_MM
        assert all(110 + width_mm(line) < WIDTH_MM for entry in page.key for line in entry.lines)


@pytest.mark.parametrize("kind", Kind)
def test_each_kind_of_series_is_drawn(kind: Kind) -> None:
    """Measurements, totals and lesions all have a chart with a title and values at the axis."""
    totals = (Total(score="oks", value=20),), (Total(score="oks", value=40),)
    levels = ("3+", "0")
    visits = [
        visit(26 * n, read("passive_flexion", 90 + 30 * n), graded("lachman", levels[n]), totals=totals[n])
        for n in (0, 1)
    ]
    course = follow([run_workup(each) for each in visits], edition=EDITION, protocol=PROTOCOL)
    chart = next(each for each in charts_of(course, edition=EDITION) if each.kind is kind)
    page = drawing(chart)
    drawn(chart)
    assert page.title[0].isupper()
    marks = {Kind.MEASURE: "100°", Kind.TOTAL: "40", Kind.LESION: "100%"}
    assert marks[kind] in [says for _, says in page.values]
    assert not {dot.says for dot in page.dots} & {"0%", "100%"}


def test_the_same_course_gives_the_same_drawing() -> None:
    """Nothing in the drawing is left to chance, and two may share a page under their own ids."""
    once, twice = (render_chart(drawing(recovery()), ident="first") for _ in range(2))
    assert once == twice
    assert all(each.startswith("first-") for each in re.findall(r' id="([^"]+)"', once))
