"""Reports of an exam: what the board reads, what a station's team reads, what one candidate reads."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from io import BytesIO

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from fabella.assess import (
    About,
    Basis,
    CutMethod,
    Estimates,
    Flag,
    GradeScale,
    Marks,
    Rules,
    alternatives,
    analyse,
    compare,
    decide,
    read_marks,
)
from fabella.assess.borderline_regression import fit_line
from fabella.assess.classical import alpha
from fabella.exam import Station, blueprint_of, plain_stations
from fabella.papers import Analysed, Cohort, board_report, feedback, feedback_files, station_report
from fabella.papers.batch import file_names
from fabella.papers.charts import dependability_chart, drawn, grades_chart
from fabella.papers.reliability import limits_words
from fabella.papers.words import (
    basis_words,
    beside,
    effect_words,
    flag_words,
    known,
    sems_words,
    with_sign,
)
from fabella.report import Document, as_pdf, as_text
from fabella.report.document import Table
from tests.assess.made import made_blueprint, made_rows, read_rows
from tests.assess.worked_tables import table
from tests.cli.make_exam_example import HEADER, RULES, rows, stations

DAY = date(2031, 5, 6)
MADE = stations()
CODES = {f"C{n:02}" for n in range(1, 61)}


@pytest.fixture(scope="module")
def marks() -> Marks:
    """The marks of the invented exam."""
    return read_marks("\n".join([HEADER, *rows(MADE), ""]), blueprint=blueprint_of(MADE))


@pytest.fixture(scope="module")
def analysed(marks: Marks) -> Analysed:
    """The invented exam, analysed and with its methods compared."""
    return Analysed(
        title="An invented exam",
        held_on=DAY,
        analysis=analyse(marks, RULES),
        alternatives=compare(marks, alternatives(RULES)),
        target=0.8,
        version="0",
    )


@pytest.fixture(scope="module")
def cohort(marks: Marks) -> Cohort:
    """The invented exam as feedback needs it."""
    return Cohort(
        exam="An invented exam", held_on=DAY, marks=marks, results=decide(marks, RULES), stations=MADE
    )


def words(document: Document) -> str:
    """What a document says, with single spaces."""
    return " ".join(as_text(document).split())


def test_the_board_reads_decisions_with_what_they_rest_on(analysed: Analysed) -> None:
    """Pass mark with interval and source, effects of rules, missing marks and digests stand there."""
    text = words(board_report(analysed))
    results = analysed.analysis.results
    for says in (
        "60 candidates: 45 passed, 14 did not pass, 1 not decided.",
        f"{results.pass_mark.cut.estimate:.2f}%, 95% interval",
        "Wood, Humphrey-Murto and Norman 2006",
        "319 sheets, 11 left out",
        "critical items failed 11 6",
        "Cohen 51.9%",
        "C08 fails",
        "16 station void, 40 absent",
        "Nothing missing counts as 0",
        "did worse in the rest, which may be chance where sheets are few – station S4: extends",
        results.marks_digest,
    ):
        assert says in text, says


def test_the_board_reads_no_league_table(analysed: Analysed) -> None:
    """Examiners stand in the order of their codes with an interval each, and no rank is written."""
    document = board_report(analysed)
    section = next(each for each in document.sections if each.heading == "Examiners")
    shown = next(
        block for block in section.blocks if isinstance(block, Table) and block.caption.startswith("Severity")
    )
    names = [row[0] for row in shown.rows]
    assert names == sorted(names)
    assert all(" to " in row[3] for row in shown.rows)
    assert "rank" not in words(document).replace("for ranking", "")


def test_the_figure_says_in_words_what_it_shows(analysed: Analysed) -> None:
    """The curve of dependability has a description with the numbers that it draws."""
    figure = board_report(analysed).figure
    assert figure is not None
    study = analysed.analysis.dependability.value
    assert study is not None
    assert f"{study.curve[4].dependability.phi:.2f}" in figure.alt
    assert f"{study.needed[0].phi} stations with one examiner at each" in figure.alt
    one = replace(study, needed=tuple(replace(each, phi=1) for each in study.needed))
    told = dependability_chart(one, stations=1, target=0.8)
    assert "1 station with one examiner" in told.subtitle
    assert "With 1 station Phi" in told.description


def test_a_station_report_has_its_items_and_its_line(analysed: Analysed, marks: Marks) -> None:
    """Every item stands there in its words, and the line of the pass mark is drawn."""
    document = station_report(analysed, marks, MADE[3], 3)
    text = words(document)
    assert all(item.words.split()[0] in text for item in MADE[3].items)
    assert "Those who had it did worse in the rest" in text
    here = marks.station == 3
    line = analysed.analysis.results.pass_mark.lines[3]
    both = ~np.isnan(marks.grade[here]) & ~np.isnan(analysed.analysis.results.scores.of_sheet[here])
    assert document.figure is not None
    assert line.n == both.sum()
    assert document.figure.svg.count("<circle") == line.n + 1  # a dot a sheet, and the pass mark


def test_a_chart_stands_where_the_line_does() -> None:
    """The cut of a constructed table, 14.26718404 of 30 in R 4.2.2 `lm`, is drawn at its place."""
    data = np.array(table("brm_constructed_40.csv"))
    grade, score = data[:, 1].astype(float), 100 * data[:, 2].astype(float) / 30
    line = fit_line(score, grade, borderline=1, values=(0, 1, 2, 3, 4))
    chart = grades_chart("S1", score, grade, line, GradeScale())
    assert chart.rule is not None
    y, says = chart.rule
    assert says == "47.6%"
    forty, sixty = chart.y_ticks[2][0], chart.y_ticks[3][0]
    assert y == pytest.approx(forty + (sixty - forty) * (100 * 14.26718404 / 30 - 40) / 20, abs=0.01)
    assert drawn(chart).count("<circle") == len(score) + 1


@pytest.mark.parametrize("place", range(0, 60, 7))
def test_feedback_names_nobody_else(cohort: Cohort, place: int) -> None:
    """A page has its own candidate's code, no other's, no examiner's and no rank."""
    text = words(feedback(cohort, place))
    own = cohort.marks.candidates[place]
    found = set(text.replace(",", " ").replace(".", " ").split())
    assert own in found
    assert not (CODES - {own}) & found
    assert not {f"E{n:02}" for n in range(1, 11)} & found
    assert "rank" not in text


def test_every_score_comes_with_its_error(cohort: Cohort) -> None:
    """The whole score has the error that decides, a station's the residual of candidates by stations."""
    text = words(feedback(cohort, 1))
    assert f"measurement error of ±{cohort.results.sem:.1f}%" in text
    table = cohort.results.scores.station
    whole = table[~np.isnan(table).any(axis=1)]
    # of a crossed table the SEM of the mean is the error of one station over the root of their number
    assert cohort.station_error == pytest.approx(alpha(whole).sem * np.sqrt(whole.shape[1]), rel=1e-9)
    assert f"± {cohort.station_error:.1f}%" in text


@given(st.floats(0, 100), st.floats(-1, 1), st.sampled_from([0, 1]))
def test_a_printed_score_is_below_the_pass_mark_if_and_only_if_it_failed(
    bar: float, off: float, digits: int
) -> None:
    """However near a score lies to its pass mark, what is printed says the same as the decision."""
    for score in (max(bar + off / part, 0.0) for part in (1, 100, 10_000)):
        told, to_pass = map(float, beside(score, bar, digits=digits))
        assert (told >= to_pass) == (round(score, 6) >= round(bar, 6))


def test_who_fails_by_a_little_reads_by_how_little(marks: Marks) -> None:
    """A score two hundredths below the pass mark is not printed as the pass mark, on no page."""
    total = decide(marks, Rules(method=CutMethod.FIXED, fixed_cut=50)).decisions[4].total
    cut = next(each for each in (total + 0.02, total + 0.002) if f"{each:.1f}" == f"{total:.1f}")
    analysis = analyse(marks, Rules(method=CutMethod.FIXED, fixed_cut=cut))
    cohort = Cohort(exam="An exam", held_on=DAY, marks=marks, results=analysis.results, stations=MADE)
    exam = Analysed(title="An exam", held_on=DAY, analysis=analysis, alternatives=(), target=0.8, version="0")
    own = words(feedback(cohort, 4))
    assert "You did not pass." in own
    told, to_pass = re.findall(r"score is ([\d.]+)%.*?pass mark is ([\d.]+)%", own)[0]
    assert float(told) < float(to_pass)
    review = next(each for each in board_report(exam).sections if each.heading == "Second look")
    row = next(
        row
        for block in review.blocks
        if isinstance(block, Table)
        for row in block.rows
        if row[0] == marks.candidates[4]
    )
    assert float(row[1].split(" ± ")[0]) < float(row[2])


def test_each_station_reads_as_passed_or_below_by_its_numbers(marks: Marks) -> None:
    """At every station of every page the printed score is below the pass mark just where it says so."""
    scores = decide(marks, Rules(method=CutMethod.FIXED, fixed_cut=50)).scores.station
    cut = next(each + 0.1 for each in scores[~np.isnan(scores)] if 0.1 < each % 1 < 0.3)
    results = decide(marks, Rules(method=CutMethod.FIXED, fixed_cut=cut))
    cohort = Cohort(exam="An exam", held_on=DAY, marks=marks, results=results, stations=MADE)
    near = 0
    for place in range(marks.n_candidates):
        shown = next(each for each in feedback(cohort, place).sections if each.heading == "Stations")
        (table_of_stations,) = shown.blocks
        assert isinstance(table_of_stations, Table)
        for _, own, to_reach, verdict, _ in table_of_stations.rows:
            if own != "–":
                told, bar = float(own.split(" ")[0].rstrip("%")), float(to_reach.rstrip("%"))
                assert (told < bar) == (verdict == "below")
                near += round(told) == round(bar) and verdict == "below"
    assert near


def test_subscores_that_say_nothing_more_are_not_shown(cohort: Cohort) -> None:
    """No domain of this exam tells more than the whole (Haberman 2008, from memory): none is shown."""
    assert cohort.domains == {}
    assert "KINDS OF ITEM" not in as_text(feedback(cohort, 1))


def test_few_candidates_are_not_described_as_a_cohort(marks: Marks) -> None:
    """Below five candidates a range of the middle half would tell of persons, and is left out."""
    few = [row for row in rows(MADE) if row[:3] in {"C02", "C03", "C04"}]
    three = read_marks("\n".join([HEADER, *few, ""]), blueprint=marks.blueprint)
    small = Cohort(
        exam="An invented exam",
        held_on=DAY,
        marks=three,
        results=decide(three, Rules(method=CutMethod.FIXED, fixed_cut=50)),
        stations=MADE,
    )
    text = words(feedback(small, 0))
    assert "Half of all candidates" not in text
    assert "nan" not in text


def test_a_station_that_nobody_sat_is_told_by_dashes(marks: Marks) -> None:
    """Where there is no number, no report says that there is one."""
    kept = [row for row in rows(MADE) if ",S5," not in row]
    void = sorted({",".join(row.split(",")[:4]) for row in rows(MADE) if ",S5," in row})
    kept += [f"{who},,station_void,station_void,,," for who in void]
    broken = read_marks("\n".join([HEADER, *kept, ""]), blueprint=marks.blueprint)
    found = Analysed(
        title="An invented exam",
        held_on=DAY,
        analysis=analyse(broken, RULES),
        alternatives=(),
        target=0.8,
        version="0",
    )
    results = found.analysis.results
    cohort = Cohort(exam="E", held_on=DAY, marks=broken, results=results, stations=MADE)
    said = [feedback(cohort, 1), board_report(found), station_report(found, broken, MADE[4], 4)]
    assert [each for each in said if "nan" in words(each).split() or "nan " in words(each)] == []
    assert "Void for a whole circuit: S5" in words(said[1])


def test_the_board_reads_who_declared_allotment_at_random(analysed: Analysed) -> None:
    """The sentence given stands among the examiners, and none where nobody was asked."""
    declared = "Candidates were allotted to circuits at random, as Ada said."
    assert declared not in words(board_report(analysed))
    report = board_report(replace(analysed, allotted=declared))
    assert declared in words(report)
    assert any(declared in getattr(each, "text", "") for each in report.sections[5].blocks)
    assert report.sections[5].heading == "Examiners"


def test_an_item_marked_twice_is_told_once(cohort: Cohort) -> None:
    """A candidate whom two examiners marked reads of each item once, by the lower mark."""
    sections = {each.heading: each.blocks for each in feedback(cohort, 0).sections}
    points = [
        text.split(" – ")[0].rstrip(".")
        for heading in ("Done well", "To practise")
        for block in sections.get(heading, ())
        for text in getattr(block, "texts", ())
    ]
    assert len(points) == len(set(points))


def test_what_was_not_seen_is_neither_done_nor_missed(cohort: Cohort) -> None:
    """A candidate who was absent reads of no item, and is told that this is no failure."""
    text = words(feedback(cohort, 58))
    assert "no failure" in text
    assert "DONE WELL" not in text
    assert "TO PRACTISE" not in text


def test_files_are_the_same_whoever_makes_them(cohort: Cohort) -> None:
    """One process or two make the same files to the last byte, in the order of the marks."""
    alone = dict(feedback_files(cohort, written_on=DAY, processes=1))
    shared = dict(feedback_files(cohort, written_on=DAY, processes=2))
    assert alone == shared
    assert list(alone) == [f"{each}.pdf" for each in cohort.marks.candidates]
    assert PdfReader(BytesIO(alone["C02.pdf"])).metadata is not None


def test_file_names_are_safe_and_different() -> None:
    """Codes become file names that any system takes, and no two are the same there."""
    names = file_names(("a/b", "a:b", "..x", "A_B", "é 1", ""))
    assert names == ("a_b.pdf", "a_b-2.pdf", "x.pdf", "A_B-3.pdf", "é_1.pdf", "candidate.pdf")
    assert len({name.casefold() for name in names}) == len(names)
    long = file_names(("ż" * 300, "ż" * 299, "\N{OPEN BOOK}" * 300))
    assert len(set(long)) == 3
    assert all(len(name.encode()) <= 255 for name in long)


def test_a_comment_that_no_font_can_print_leaves_a_page(cohort: Cohort) -> None:
    """What was typed on a tablet may hold any sign: one that cannot be printed is a box, the rest stays."""
    signs = "\U0001f44d\U0001f3fc, \u5c71\u7530, \u0e44\u0e17\u0e22, 45° – \u03b1"
    who = cohort.marks.candidates[0]
    spoken = replace(cohort, comments={who: ((MADE[0].id, f"Calm {signs} hands"),)})
    made = as_pdf(feedback(spoken, 0), written_on=DAY)
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(made)).pages).split())
    assert "Calm □□, □□, □□□, 45° – α hands" in text
    assert made == as_pdf(feedback(spoken, 0), written_on=DAY)


def test_stations_known_by_codes_alone_have_feedback_too(marks: Marks) -> None:
    """From a blueprint items are called by their codes and marks by their number."""
    plain = plain_stations(marks.blueprint)
    assert [each.id for each in plain] == [each.id for each in MADE]
    bare = Cohort(exam="E", held_on=DAY, marks=marks, results=decide(marks, RULES), stations=plain)
    text = words(feedback(bare, 1))
    assert "Station S1: asks pain" in text
    assert "1 of 2" in text
    assert isinstance(plain[0], Station)


POORLY = {
    "one candidate": [("C1", "north", (2, 1, 2), "2")],
    "one a circuit": [("C1", "north", (2, 1, 2), "2"), ("C2", "south", (0, 1, 2), "1")],
    "all alike": [(f"C{n}", "north", (1, 1, 1), str(n % 3)) for n in range(6)],
    "no grades": [(f"C{n}", "north", (n % 3, 1, n % 2), "not_observed") for n in range(6)],
    "all full": [(f"C{n}", ("north", "south")[n % 2], (2, 2, 2), "4") for n in range(6)],
}


@pytest.mark.parametrize("stations", [1, 3])
@pytest.mark.parametrize("told", POORLY)
def test_what_cannot_be_worked_out_is_never_printed_as_a_number(told: str, stations: int) -> None:
    """Of exams that tell little every report says what there is, by every method that gives a pass mark."""
    blueprint = made_blueprint(stations=stations, items=3)
    lines = [
        f"{who},{circuit},{station.code},{circuit},{item.code},{mark},{grade}"
        for who, circuit, given, grade in POORLY[told]
        for station in blueprint.stations
        for item, mark in zip(station.items, given, strict=True)
    ]
    marks = read_rows(lines, blueprint)
    fixed = Rules(method=CutMethod.FIXED, fixed_cut=50, resamples=200, review_sems=2)
    for rules in alternatives(fixed):
        compared = compare(marks, (rules, fixed))
        if compared[0].results is None:
            continue
        found = analyse(marks, rules)
        exam = Analysed(
            title="An exam", held_on=DAY, analysis=found, alternatives=compared, target=0.8, version="0"
        )
        plain = plain_stations(blueprint)
        cohort = Cohort(exam="An exam", held_on=DAY, marks=marks, results=found.results, stations=plain)
        documents = [
            board_report(exam),
            *(station_report(exam, marks, each, place) for place, each in enumerate(plain)),
            *(feedback(cohort, place) for place in range(marks.n_candidates)),
        ]
        for document in documents:
            assert not re.search(r"\b(nan|inf|None)\b", words(document))
            assert "nan" not in (document.figure.alt if document.figure else "")


def test_the_board_reads_where_the_error_of_the_pass_mark_comes_from(marks: Marks) -> None:
    """A fixed pass mark has no error, judges' is the spread between them, all others' are resampled."""
    judged = Estimates(
        judges=("a", "b", "c"),
        items=marks.blueprint.station_codes,
        share=tuple((share,) * marks.n_stations for share in (0.5, 0.55, 0.65)),
        max_mark=(1.0,) * marks.n_stations,
    )
    told = {}
    for rules in (
        Rules(method=CutMethod.FIXED, fixed_cut=50),
        Rules(method=CutMethod.ANGOFF, estimates=(judged,)),
        Rules(method=CutMethod.COHEN),
    ):
        exam = Analysed(
            title="", held_on=DAY, analysis=analyse(marks, rules), alternatives=(), target=0.8, version="0"
        )
        told[rules.method] = words(board_report(exam))
    assert "standard error" not in told[CutMethod.FIXED].split("The pass mark was fixed beforehand")[0]
    assert "from the judges’ spread" in told[CutMethod.ANGOFF].replace("'", "’")
    assert "by resampling" in told[CutMethod.COHEN]
    for method in (CutMethod.FIXED, CutMethod.ANGOFF):
        assert "resampling" not in told[method]
        assert "would have moved the pass mark" not in told[method]


def test_a_number_of_one_is_told_as_one() -> None:
    """One candidate, one standard error; one and a half are several."""
    assert basis_words(Basis(estimator="REML", n=1, dropped=0, of="candidates")) == "REML, 1 candidate"
    assert (
        basis_words(Basis(estimator="REML", n=1200, dropped=3, of="sheets"))
        == "REML, 1,200 sheets, 3 left out"
    )
    assert sems_words(1) == "1 standard error of measurement"
    assert sems_words(1.5) == "1.5 standard errors of measurement"


def test_the_board_reads_why_no_share_of_right_decisions_is_told() -> None:
    """With nine candidates the report says that they are too few, in the terminal as well as on paper."""
    blueprint = blueprint_of(MADE)
    text = [row for row in rows(MADE) if row.startswith(tuple(f"C0{n}" for n in range(1, 10)))]
    marks = read_marks("\n".join([HEADER, *text, ""]), blueprint=blueprint)
    fixed = Rules(method=CutMethod.FIXED, fixed_cut=50)
    found = Analysed(
        title="Nine",
        held_on=DAY,
        analysis=analyse(marks, fixed),
        alternatives=compare(marks, [fixed]),
        target=0.8,
        version="0",
    )
    told = words(board_report(found))
    assert "cannot be told: Candidates are too few to tell how true scores lie" in told


def test_many_people_of_one_flag_are_counted() -> None:
    """Twelve are named and the others counted; a slash in a name parts nothing."""
    flags = [Flag(about=About.CANDIDATE, code=f"n/{n}", says="no_sheet") for n in range(15)]
    (told,) = flag_words(flags)
    assert told.endswith("candidate n/10; candidate n/11; and 3 more")


def test_a_candidate_named_like_a_station_is_no_flag_of_it(analysed: Analysed, marks: Marks) -> None:
    """What is told of candidate S1 stands on no page of station S1."""
    flag = Flag(about=About.CANDIDATE, code="S1", says="no_sheet")
    found = replace(analysed.analysis, flags=(*analysed.analysis.flags, flag))
    text = as_text(station_report(replace(analysed, analysis=found), marks, MADE[0], 0))
    assert "sheet lost" not in text
    assert "sheet lost" in as_text(board_report(replace(analysed, analysis=found)))


def test_reports_are_the_same_again(analysed: Analysed) -> None:
    """The same exam gives the same PDF; another version says so in it."""
    one = as_pdf(board_report(analysed), written_on=DAY)
    assert one == as_pdf(board_report(analysed), written_on=DAY)
    assert one != as_pdf(board_report(replace(analysed, version="1")), written_on=DAY)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("station*circuit", "station by circuit"),
        (
            "the variance of circuit*examiner:station is at",
            "the variance of circuit by examiner within station is at",
        ),
        ("the search did not end: do not use it", "the search did not end: do not use it"),
    ],
)
def test_effects_of_a_design_are_said_in_words(text: str, words: str) -> None:
    """Crossing is "by" and nesting "within"; a colon of a sentence stays."""
    assert effect_words(text) == words


def test_numbers_below_zero_have_a_true_minus_sign() -> None:
    """With and without a plus sign for those above it."""
    assert (known(-0.375), known(float("nan")), with_sign(-24.31), with_sign(2.7)) == (
        "−0.38",
        "–",
        "−24.3",
        "+2.7",
    )
    assert (with_sign(-1e-9), with_sign(0.04), known(-0.001), with_sign(0.05, digits=2)) == (
        "0.0",
        "0.0",
        "0.00",
        "+0.05",
    )


def test_the_report_of_the_board_is_written_alike(analysed: Analysed) -> None:
    """Percent signs stand close to their numbers, and no effect is given in symbols."""
    text = words(board_report(analysed))
    assert re.search(r"\d %", text) is None
    assert re.search(r"\w\*\w|\s-\d", text) is None
    assert "station by circuit" in text


@pytest.mark.parametrize(("candidates", "says"), [(4, True), (9, True), (10, False)])
def test_a_board_is_told_that_few_candidates_hardly_tell_g_and_phi(candidates: int, *, says: bool) -> None:
    """From four candidates Phi comes out anywhere: exams drawn alike gave 0.00 to 0.94, told bare."""
    blueprint = made_blueprint(stations=5, items=6)
    fixed = Rules(method=CutMethod.FIXED, fixed_cut=50, resamples=200)
    phi = []
    for seed in range(6):
        lines = made_rows(blueprint, candidates=candidates, circuits=1, seed=seed)
        found = analyse(read_rows(lines, blueprint), fixed)
        assert found.dependability.value is not None
        phi.append(found.dependability.value.dependability.phi)
        told = " ".join(limits_words(found))
        assert (f"there were {candidates} candidates: so few hardly tell" in told) == says
    if candidates == 4:
        assert max(phi) - min(phi) > 0.5
