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
