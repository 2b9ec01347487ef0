"""Exams on the command line: analysed, compared, reported, planned; refused with everything that is wrong."""

from __future__ import annotations

import csv
import json
import re
from io import BytesIO
from pathlib import Path

import pytest
from pyarrow.csv import read_csv
from pyarrow.parquet import write_table
from pypdf import PdfReader

from fabella.assess import decide, digest, read_blueprint, read_marks, read_rules, write_results
from tests.cli.make_exam_example import FOLDER, files
from tests.cli.running import Left, call

MARKS, STATIONS, RULES = FOLDER / "marks.csv", FOLDER / "stations", FOLDER / "rules.json"
EXAM = (MARKS, "--stations", STATIONS, "--rules", RULES)


def test_the_example_is_what_its_maker_makes() -> None:
    """The invented exam in the examples is made anew to the last byte."""
    there = {
        path.relative_to(FOLDER).as_posix(): path.read_text("utf-8")
        for path in FOLDER.rglob("*")
        if path.is_file()
    }
    assert there == files()


@pytest.fixture(scope="module")
def page() -> Left:
    """The page of the example."""
    return call("exam", "analyse", *EXAM)


def test_a_page_tells_pass_mark_decisions_reliability_and_examiners(page: Left) -> None:
    """The page has what the board asks first, with intervals, and says what was left out."""
    assert (page.code, page.err) == (0, "")
    for words in (
        "pass mark",
        "95% interval",
        "borderline regression, 319 sheets, 11 left out",
        "45 passed, 14 did not pass, 1 not decided",
        "For a second look",
        "Phi",
        "in the order of their codes",
        "did worse in the rest, which may be chance where sheets are few – station S4: extends",
    ):
        assert words in " ".join(page.out.split()), words


def test_examiners_are_never_ranked(page: Left) -> None:
    """Examiners stand in the order of their codes, whatever their severity."""
    codes = [line.split()[0] for line in page.out.splitlines() if line.strip().startswith("E")]
    named = [code for code in codes if code[1:].isdigit()]
    assert named == sorted(named)
    assert len(named) == 10


def test_judges_of_a_pass_mark_are_told(tmp_path: Path) -> None:
    """Where Angoff's method sets the pass mark its judges stand in the page and the data: 50, 60 and 55 %."""
    share = [[each] * 4 + [each + 0.05] for each in (0.49, 0.59, 0.54)]
    estimates = {"judges": ["Alder", "Birch", "Cedar"], "items": ["S1", "S2", "S3", "S4", "S5"]}
    (round_,) = [{**estimates, "share": share, "max_mark": [1] * 5, "seen_impact": False}]
    rules = tmp_path / "rules.json"
    rules.write_text(
        json.dumps({**json.loads(RULES.read_text("utf-8")), "method": "angoff", "estimates": [round_]})
    )
    exam = (MARKS, "--stations", STATIONS, "--rules", rules)
    page = call("exam", "analyse", *exam)
    assert (page.code, page.err) == (0, "")
    lines = [line.split() for line in page.out.splitlines()]
    assert ["Birch", "60.0", "+5.0", "52.5"] in [line[:4] for line in lines]
    assert "with performances graded borderline" in " ".join(page.out.split())
    (told,) = json.loads(call("exam", "analyse", *exam, "--json").out)["pass_mark"]["rounds"]
    assert (told["cut"], told["judge_cuts"]) == (55, [50, 60, 55])
    assert None not in told["consistency"]


def test_what_was_frozen_gives_the_same_again(tmp_path: Path) -> None:
    """From the files written, the same decisions follow to the last byte, and so does the whole folder."""
    one, two = tmp_path / "one", tmp_path / "two"
    assert call("exam", "analyse", *EXAM, "--out", one).code == 0
    marks = read_marks(
        (one / "marks.csv").read_bytes(),
        blueprint=read_blueprint((one / "blueprint.json").read_text("utf-8")),
    )
    results = decide(marks, read_rules((one / "rules.json").read_text("utf-8")))
    assert write_results(results) == (one / "results.json").read_text("utf-8")
    again = (one / "marks.csv", "--stations", one / "blueprint.json", "--rules", one / "rules.json")
    assert call("exam", "analyse", *again, "--out", two).code == 0
    assert {p.name: p.read_bytes() for p in one.iterdir()} == {p.name: p.read_bytes() for p in two.iterdir()}


def test_decisions_are_written_as_a_table(tmp_path: Path) -> None:
    """The table has one row a candidate and the same outcomes as the results."""
    call("exam", "analyse", *EXAM, "--out", tmp_path)
    with (tmp_path / "decisions.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    results = json.loads((tmp_path / "results.json").read_text("utf-8"))["decisions"]
    said = {"pass": "passed", "fail": "did not pass", "insufficient_evidence": "not decided"}
    assert [(row["candidate"], row["outcome"]) for row in rows] == [
        (each["candidate"], said[each["outcome"]]) for each in results
    ]


def test_no_name_is_a_formula_in_the_table_of_decisions(tmp_path: Path) -> None:
    """A candidate called like a formula is text in the table that is opened, and unchanged in the marks."""
    name = "=1+1"
    marks = MARKS.read_text("utf-8").replace("C01,", f"{name},")
    (tmp_path / "named.csv").write_text(marks, "utf-8")
    call("exam", "analyse", tmp_path / "named.csv", *EXAM[1:], "--out", tmp_path / "out")
    with (tmp_path / "out" / "decisions.csv").open(encoding="utf-8") as file:
        told = [row["candidate"] for row in csv.DictReader(file)]
    assert f"'{name}" in told
    assert name not in told
    with (tmp_path / "out" / "marks.csv").open(encoding="utf-8") as file:
        assert name in {row["candidate"] for row in csv.DictReader(file)}


def test_a_fixed_pass_mark_is_no_cohorts(tmp_path: Path) -> None:
    """A pass mark fixed beforehand is that of every cohort: the page speaks of others' scores alone."""
    rules = tmp_path / "fixed.json"
    rules.write_text('{"format": "fabella.exam-rules/2", "method": "fixed", "fixed_cut": 50}', "utf-8")
    page = call("exam", "analyse", MARKS, "--stations", STATIONS, "--rules", rules).out
    assert "pass mark of another such cohort" not in page
    assert re.search(r"chance +of another such cohort \d+ to \d+% would score below", page)


def test_json_holds_what_the_page_says() -> None:
    """Asked for data, the command prints the analysis and nothing else."""
    left = call("exam", "analyse", *EXAM, "--json")
    assert left.json["format"] == "fabella.exam-analysis/1"
    assert left.json["results"]["pass_mark"]["method"] == "borderline_regression"
    assert left.json["coverage"]["missing"]["station_void"] == 16


def as_parquet(text: str) -> bytes:
    """Return the rows of a CSV as a table whose types the library chose by itself."""
    file = BytesIO()
    write_table(read_csv(BytesIO(text.encode())), file)
    return file.getvalue()


def test_parquet_gives_what_csv_gives(tmp_path: Path) -> None:
    """The same marks as a table give the same analysis, whatever the file is called."""
    expected = call("exam", "analyse", *EXAM, "--json").json
    for name in ("marks.parquet", "marks"):
        file = tmp_path / name
        file.write_bytes(as_parquet(MARKS.read_text("utf-8")))
        assert call("exam", "analyse", file, *EXAM[1:], "--json").json == expected


def test_what_is_wrong_in_parquet_is_told_with_its_rows(tmp_path: Path) -> None:
    """Rows of a table are named as rows, all at once; what is no table leaves with 1 and one line."""
    file = tmp_path / "marks.parquet"
    file.write_bytes(as_parquet(WRONG))
    left = call("exam", "analyse", file, "--stations", STATIONS)
    assert (left.code, left.out) == (1, "")
    for says in (
        "marks.parquet, rows 1 to 2, mark: '1, 2' is a double mark",
        "marks.parquet, row 4, mark: 'two' is not understood",
        "marks.parquet, row 12, item: 'greetz' is not an item of station 'S2'; did you mean 'greets'?",
    ):
        assert says in left.err, left.err
    file.write_text("no table", "utf-8")
    left = call("exam", "analyse", file, "--stations", STATIONS)
    assert left.code == 1
    assert "marks.parquet: cannot be read as Parquet" in left.err


def test_methods_are_compared_by_what_they_would_do_to_whom() -> None:
    """Each method has its pass mark and the candidates it would decide otherwise; one that fails says why."""
    left = call("exam", "compare", *EXAM, "--json")
    methods = {each["name"]: each for each in left.json["methods"]}
    assert methods["borderline regression"]["newly_failed"] == []
    assert methods["Cohen"]["newly_failed"] == ["C08"]
    assert methods["contrasting groups, fewest errors"]["newly_passed"] == ["C52", "C54"]
    assert methods["contrasting groups, crossing curves"]["refusal"]
    assert any("grades as examiners space them" in name for name in methods)
    page = call("exam", "compare", *EXAM)
    assert page.code == 0
    assert "C52, C54" in page.out


WRONG = """\
candidate,circuit,station,examiner,item,mark,global
C01,north,S1,E01,greets,2,pass
C01,north,S1,E01,greets,1,pass
C01,north,S1,E01,asks_pain,3,pass
C01,north,S1,E01,looks_standing,two,pass
C01,north,S1,E01,watches_walk,1,pass
C01,north,S1,E01,measures_girth,1,pass
C01,north,S1,E01,watches_face,1,pass
C01,north,S1,E01,tells_findings,1,pass
C01,north,S1,E01,concludes,,pass
C99,north,S2,E01,greets,1,2
C02,north,S7,E01,greets,1,2
C02,north,S2,E02,greetz,1,2
C02,north,S3,E02,,absent,
"""


def test_everything_wrong_is_said_at_once(tmp_path: Path) -> None:
    """Unknown names, a double mark, marks outside the scale, words and gaps are listed with their lines."""
    file, invited = tmp_path / "marks.csv", tmp_path / "invited.txt"
    file.write_text(WRONG, "utf-8")
    invited.write_text("C01\nC02\nC03\n", "utf-8")
    left = call("exam", "analyse", file, "--stations", STATIONS, "--candidates", invited)
    assert (left.code, left.out) == (1, "")
    for says in (
        "marks.csv, candidate: 'C03' has no rows",
        "lines 2 to 3, mark: '1, 2' is a double mark of item 'greets' of 'C01' at 'S1' by 'E01'",
        "line 4, mark: '3' is outside the scale; item 'asks_pain' takes 0 to 2",
        "line 5, mark: 'two' is not understood",
        "line 10, mark: is empty; write a number or why there is none",
        "line 11, candidate: 'C99' is not a known candidate",
        "line 12, station: 'S7' is not a known station; allowed: S1, S2, S3, S4, S5",
        "line 13, item: 'greetz' is not an item of station 'S2'; did you mean 'greets'?",
        "line 14, global: grade is missing",
    ):
        assert says in left.err, says


def test_a_name_that_is_twice_on_the_list_is_refused(tmp_path: Path) -> None:
    """Two people of one name on the list of candidates are told with their lines, not counted once."""
    invited = tmp_path / "invited.txt"
    invited.write_text("\ufeffC01\nC02\n\nC02\n", "utf-8")
    left = call("exam", "analyse", *EXAM, "--candidates", invited)
    assert left.code == 1
    assert "invited.txt, lines 2, 4: 'C02' is there more than once; two people of one name" in left.err


def test_faults_of_several_files_are_said_together(tmp_path: Path) -> None:
    """Wrong rules and wrong marks are told in one answer, each with the name of its file."""
    file, rules = tmp_path / "marks.csv", tmp_path / "rules.json"
    file.write_text(WRONG, "utf-8")
    rules.write_text('{"format": "fabella.exam-rules/1", "methud": "cohen", "sem_multiple": 9}', "utf-8")
    left = call("exam", "analyse", file, "--stations", STATIONS, "--rules", rules)
    assert left.code == 1
    assert "rules.json, methud: is not a known rule; did you mean 'method'?" in left.err
    assert "marks.csv, line 4, mark" in left.err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("analyse", MARKS), "needs --stations"),
        (("analyse", "nowhere.csv", "--stations", STATIONS), "there is no such file"),
        (("feedback", MARKS, "--stations", STATIONS), "needs --out"),
        (("report", MARKS, "--stations", STATIONS), "needs --out"),
        (("papers", STATIONS), "ending in .pdf"),
        (("analyse", *EXAM, "--date", "tomorrow"), "is no day"),
        (("papers", STATIONS, "--out", "papers.pdf", "--title", " "), "--title is empty"),
        (("analyse", STATIONS, "--stations", STATIONS), "is no file of marks"),
        (("grade", MARKS), "grade"),
        (("station", "elbow"), "topic: 'elbow' is none; allowed: whole_knee"),
        (("station", "ligaments", "--minutes", "0"), "'0' is no length of a station"),
    ],
)
def test_what_is_wrongly_asked_leaves_with_2(arguments: tuple[object, ...], says: str) -> None:
    """A missing option, a file that is not there or an unknown deed is a usage error."""
    left = call("exam", *arguments)
    assert (left.code, left.out) == (2, "")
    assert says in left.err


def test_an_exam_without_a_pass_mark_leaves_with_1(tmp_path: Path) -> None:
    """Marks that are fine but give no pass mark are refused, station by station."""
    rows = ["candidate,station,examiner,item,mark,global", "C1,A,E1,I,1,pass", "C2,A,E1,I,0,pass"]
    (tmp_path / "marks.csv").write_text("\n".join([*rows, ""]), "utf-8")
    (tmp_path / "items.csv").write_text("station,item,max\nA,I,1\n", "utf-8")
    left = call("exam", "analyse", tmp_path / "marks.csv", "--stations", tmp_path / "items.csv")
    assert left.code == 1
    assert "station A: gets no pass mark" in left.err


def test_every_candidate_gets_a_page_and_nobody_elses(tmp_path: Path) -> None:
    """One PDF each, named by the code, that names no other candidate and no examiner; the same twice."""
    one, two = tmp_path / "one", tmp_path / "two"
    for folder in (one, two):
        left = call("exam", "feedback", *EXAM, "--date", "2031-05-06", "--out", folder)
        assert (left.code, left.err) == (0, "")
    assert sorted(path.stem for path in one.iterdir()) == [f"C{n:02}" for n in range(1, 61)]
    for path in sorted(one.iterdir())[:5]:
        assert path.read_bytes() == (two / path.name).read_bytes()
        words = set(" ".join(page.extract_text() for page in PdfReader(path).pages).replace(",", " ").split())
        assert path.stem in words
        assert not {f"C{n:02}" for n in range(1, 61)} - {path.stem} & words
        assert not {f"E{n:02}" for n in range(1, 11)} & words


def test_reports_are_pdfs_with_what_makes_them_again(tmp_path: Path) -> None:
    """The board's report and one a station lie beside the frozen files; the digest stands in the report."""
    left = call(
        "exam", "report", *EXAM, "--date", "2031-05-06", "--title", "An invented exam", "--out", tmp_path
    )
    assert left.code == 0
    made = sorted(path.name for path in tmp_path.glob("*.pdf"))
    assert made == ["board.pdf", *(f"station-{n}.pdf" for n in range(1, 6))]
    text = " ".join(page.extract_text() for page in PdfReader(tmp_path / "board.pdf").pages)
    blueprint = read_blueprint((tmp_path / "blueprint.json").read_text("utf-8"))
    assert digest(read_marks((tmp_path / "marks.csv").read_bytes(), blueprint=blueprint)) in text.replace(
        "\n", ""
    )


def test_a_plan_is_the_cheapest_that_reaches_its_target() -> None:
    """Every design listed reaches the target within the day, and none costs less than the one before."""
    left = call("exam", "plan", FOLDER / "plan.json", "--json")
    designs = left.json["designs"]
    assert all(each["outlook"]["phi"] >= 0.8 and each["hours"] <= 8 for each in designs)
    costs = [each["cost"] for each in designs]
    assert costs == sorted(costs)
    seen = left.json["simulated"]
    assert seen["pass_rate"] == pytest.approx(designs[0]["outlook"]["pass_rate"], abs=0.02)
    assert call("exam", "plan", FOLDER / "plan.json").out == call("exam", "plan", FOLDER / "plan.json").out


def test_a_plan_lists_everything_that_is_wrong_with_it(tmp_path: Path) -> None:
    """Unknown keys, ranges the wrong way round and spreads that are no numbers are told at once."""
    tree = json.loads((FOLDER / "plan.json").read_text("utf-8"))
    tree |= {"stations": [9, 3], "circuit": 2, "spreads": {**tree["spreads"], "examiner": "few"}}
    del tree["costs"]
    file = tmp_path / "plan.json"
    file.write_text(json.dumps(tree), "utf-8")
    left = call("exam", "plan", file)
    assert left.code == 1
    for says in (
        "plan.json, circuit: is not known in a plan; did you mean 'circuits'?",
        "stations: '[9, 3]' is no range",
        "spreads.examiner: 'few' is no number",
        "costs: is missing",
    ):
        assert says in left.err, says


def test_a_target_out_of_reach_is_said(tmp_path: Path) -> None:
    """Where no design within the numbers reaches the target, that is the answer, with 1."""
    tree = json.loads((FOLDER / "plan.json").read_text("utf-8"))
    file = tmp_path / "plan.json"
    file.write_text(json.dumps({**tree, "stations": [2, 3], "target": 0.95}), "utf-8")
    left = call("exam", "plan", file)
    assert left.code == 1
    assert "no design within these numbers reaches Phi 0.95" in left.err


def test_a_station_is_proposed_and_its_papers_are_printed(tmp_path: Path) -> None:
    """A proposal is a station file, what does not fit its time is said, and its four papers come out."""
    file, papers = tmp_path / "S9.json", tmp_path / "papers.pdf"
    left = call("exam", "station", "ligaments", "--minutes", "6", "--id", "S9", "--out", file)
    assert left.code == 0
    assert "left out for want of time: pulses_and_nerves" in left.out
    assert "left out because they hurt" in left.out
    assert call("exam", "station", "?").out.startswith("whole_knee")
    printed = call("exam", "papers", file, "--out", papers)
    assert (printed.code, len(PdfReader(papers).pages) >= 4) == (0, True)


def test_what_cannot_be_written_is_asked_wrongly(tmp_path: Path) -> None:
    """Where answers are to go is part of what is asked, as with every other command: a usage error."""
    taken = tmp_path / "taken"
    taken.write_text("a file", "utf-8")
    for arguments, where in (
        (("analyse", *EXAM), taken),
        (("report", *EXAM), taken),
        (("feedback", *EXAM), taken / "deeper"),
        (("station", "ligaments"), taken / "S9.json"),
        (("papers", STATIONS), taken / "papers.pdf"),
    ):
        left = call("exam", *arguments, "--out", where)
        assert (left.code, left.out) == (2, ""), arguments
        assert "cannot write" in left.err


ODD = {
    "rules.json": ("sem_multiple", "most_critical_failed", "resamples"),
    "plan.json": ("candidates", "target", "spreads.examiner", "costs.longest_h"),
    "blueprint.json": (
        "stations.0.weight",
        "stations.0.items.0.domain",
        "stations.0.items.0.critical",
        "stations.0.items.0.max_mark",
        "grades.names.0",
    ),
    "stations/S1.json": ("title", "task", "items.0.words", "items.0.anchors.0"),
}
NO_NUMBER = ("1" + "0" * 400, "1" + "0" * 5000, "[]", '{"a": 1}', r'"\ud83e"', r'"\u0000"')


@pytest.mark.parametrize("odd", NO_NUMBER, ids=("large", "endless", "list", "object", "half", "null"))
@pytest.mark.parametrize(("name", "place"), [(name, each) for name, places in ODD.items() for each in places])
def test_an_odd_value_in_a_file_is_told_with_the_file(
    tmp_path: Path, name: str, place: str, odd: str
) -> None:
    """Numbers without end, half characters and values of another kind are refused in words."""
    tree = json.loads((FOLDER / name).read_text("utf-8"))
    *way, last = [int(each) if each.isdecimal() else each for each in place.split(".")]
    at = tree
    for each in way:
        at = at[each]
    at[last] = "ODD"
    file = tmp_path / Path(name).name
    file.write_text(json.dumps(tree).replace('"ODD"', odd), "utf-8")
    asked: dict[str, tuple[object, ...]] = {
        "rules.json": ("analyse", MARKS, "--stations", STATIONS, "--rules", file),
        "plan.json": ("plan", file),
        "blueprint.json": ("analyse", MARKS, "--stations", file),
        "stations/S1.json": ("papers", file, "--out", tmp_path / "papers.pdf"),
    }
    left = call("exam", *asked[name])
    assert (left.code, left.out) == (1, "")
    assert left.err.startswith(f"fabella: {file.name}, ") or f"\n{file.name}, " in left.err
    assert "a fault of Fabella" not in left.err
    assert not (tmp_path / "papers.pdf").exists()


def test_stations_have_only_the_columns_that_the_method_and_the_room_allow(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A line tells R2 and borderline sheets, a fixed pass mark neither; no number is cut off for room."""
    rules = tmp_path / "rules.json"
    rules.write_text('{"format": "fabella.exam-rules/2", "method": "fixed", "fixed_cut": 50}')
    monkeypatch.setenv("COLUMNS", "80")
    line = call("exam", "analyse", *EXAM).out
    fixed = call("exam", "analyse", MARKS, "--stations", STATIONS, "--rules", rules).out
    assert {"borderline", "R2", "error"} <= set(_header(line).split())
    assert not {"borderline", "R2", "grade", "error"} & set(_header(fixed).split())
    monkeypatch.setenv("COLUMNS", "60")
    narrow = call("exam", "analyse", *EXAM).out
    assert {"station", "n", "mean", "borderline"} <= set(_header(narrow).split())
    assert "…" not in narrow


def _header(page: str) -> str:
    return next(each for each in page.splitlines() if each.lstrip().startswith("station "))
