"""Files of marks: what is read from them, and the one refusal that lists everything wrong."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.assess import (
    Blueprint,
    GradeScale,
    Item,
    Roster,
    State,
    Station,
    candidate_circuit,
    digest,
    item_table,
    read_blueprint,
    read_item_table,
    read_marks,
    write_blueprint,
    write_marks,
)
from fabella.errors import InputError
from tests.assess.made import HEADER, made_blueprint, made_marks, made_rows, read_rows

EXAM = made_blueprint(stations=2, items=3)
ROWS = made_rows(EXAM, candidates=4, circuits=2)


def refusal(rows: list[str], *, roster: Roster | None = None, header: str = HEADER) -> list[str]:
    """Return the lines of the refusal of a file."""
    with pytest.raises(InputError) as refused:
        read_marks("\n".join([header, *rows, ""]), blueprint=EXAM, roster=roster or Roster())
    return str(refused.value).split("\n")


def change(line: int, **cells: str) -> list[str]:
    """Return the rows of the good file with some cells of one line changed; line 2 is the first row."""
    rows = [row.split(",") for row in ROWS]
    for name, text in cells.items():
        rows[line - 2][HEADER.split(",").index(name)] = text
    return [",".join(row) for row in rows]


def test_marks_stand_where_the_file_puts_them() -> None:
    """Every row of a good file is found again at its candidate, station, examiner and item."""
    marks = read_rows(ROWS, EXAM)
    assert (marks.n_candidates, marks.n_stations, marks.n_sheets, len(marks.mark)) == (4, 2, 8, 24)
    for k in range(len(marks.mark)):
        sheet = marks.sheet[k]
        cells = (
            marks.candidates[marks.candidate[sheet]],
            marks.circuits[marks.circuit[sheet]],
            EXAM.station_codes[marks.station[sheet]],
            marks.examiners[marks.examiner[sheet]],
            item_table(EXAM).codes[marks.item[k]],
            f"{marks.mark[k]:g}",
            f"{marks.grade[sheet]:g}",
        )
        assert ",".join(cells) in ROWS


@given(st.permutations(range(len(ROWS))))
@settings(max_examples=30)
def test_the_order_of_rows_does_not_matter(order: list[int]) -> None:
    """Shuffled rows give the same marks to the bit, hence the same digest."""
    assert digest(read_rows([ROWS[k] for k in order], EXAM)) == digest(read_rows(ROWS, EXAM))


def test_any_changed_cell_changes_the_digest() -> None:
    """A mark, a grade or an item's maximum that differs gives another digest; 2 and 2.0 do not."""
    first = digest(read_rows(ROWS, EXAM))
    assert digest(read_rows(change(2, mark="0.5"), EXAM)) != first
    station = EXAM.stations[0]
    other = Blueprint(
        stations=(Station(code="S01", items=station.items, weight=2), EXAM.stations[1]), grades=EXAM.grades
    )
    assert digest(read_rows(ROWS, other)) != first
    points = [row.replace(",2,", ",2.0,") for row in ROWS]
    assert digest(read_rows(points, EXAM)) == first


def test_what_is_missing_keeps_its_reason() -> None:
    """Each word of a state is kept; not done is 0, the others are no mark; a row may void a whole station."""
    rows = change(2, mark="not_done")
    rows = [rows[0], *ROWS[1:]]
    rows[1] = ROWS[1].rsplit(",", 2)[0] + ",not_observed," + ROWS[1].rsplit(",", 1)[1]
    rows = [row for row in rows if not row.startswith("C0003,A,S02")]
    rows.append("C0003,A,S02,E03,,station_void,station_void")
    marks = read_rows(rows, EXAM)
    states = {State(state) for state in marks.state}
    assert states == {State.MARKED, State.NOT_DONE, State.NOT_OBSERVED, State.STATION_VOID}
    assert np.isnan(marks.mark[marks.state >= State.NOT_OBSERVED]).all()
    assert (marks.mark[marks.state == State.NOT_DONE] == 0).all()
    void = marks.state == State.STATION_VOID
    assert void.sum() == 3
    assert np.isnan(marks.grade[marks.sheet[void]]).all()


def test_everything_wrong_is_told_at_once() -> None:
    """Unknown names, a mark outside the scale, words for numbers and a double mark come in one refusal."""
    rows = change(2, mark="3")
    rows[1] = rows[1].replace("S01", "S1")
    rows[3] = rows[3].replace("I01", "I011")
    rows[7] = rows[7].rsplit(",", 2)[0] + ",two," + rows[7].rsplit(",", 1)[1]
    rows.append(rows[15])
    words = "not_done, not_observed, not_offered, station_void, absent, not_reached"
    assert refusal(rows)[:4] == [
        "line 2, mark: '3' is outside the scale; item 'I01' takes 0 to 2",
        "line 3, station: 'S1' is not a known station; did you mean 'S01'?",
        "line 5, item: 'I011' is not an item of station 'S01'; did you mean 'I01'?",
        f"line 9, mark: 'two' is not understood; a number, or allowed: {words}",
    ]
    double = refusal(rows)[4]
    assert double.startswith("lines 17, 26, mark: ")
    assert double.endswith("is a double mark of item 'I01' of 'C0002' at 'S02' by 'E04'; keep one")


def test_unknown_people_are_named_with_the_nearest() -> None:
    """A candidate and an examiner who are not on the roster are named with all their lines, once each."""
    roster = Roster(candidates=("C0001", "C0002", "C0003", "C0005"), examiners=("E01", "E02", "E03"))
    lines = refusal(ROWS, roster=roster)
    assert lines[0] == "candidate: 'C0005' has no rows; write 'absent' for one who did not come"
    assert "lines 11 to 13, 23 to 25, candidate: 'C0004' is not a known candidate; did you mean" in lines[1]
    assert "lines 17 to 19, 23 to 25, examiner: 'E04' is not a known examiner; did you mean" in lines[2]
    assert len(lines) == 3


def test_a_sheet_needs_one_global_grade() -> None:
    """Without a grade on any row the sheet is refused; one row's grade is enough; two that differ are not."""
    blank = [row.rsplit(",", 1)[0] + "," if row.startswith("C0001,A,S01") else row for row in ROWS]
    assert refusal(blank)[0].startswith("lines 2 to 4, global: grade is missing; write it on a row")
    blank[1] += "3"
    assert read_rows(blank, EXAM).grade[0] == 3
    blank[2] += "2"
    assert refusal(blank) == ["lines 3 to 4, global: differs within one sheet; one sheet has one value"]
    blank[1], blank[2] = blank[1][:-1] + "borderline", blank[2][:-1]
    assert read_rows(blank, EXAM).grade[0] == 1
    assert (
        "'6' is not understood; use one of 0 fail, 1 borderline" in refusal(change(2, **{"global": "6"}))[0]
    )


def test_a_file_cut_short_is_noticed() -> None:
    """Cut within a row, within quotes or between rows of a sheet, a file is refused as cut short."""
    whole = "\n".join([HEADER, *ROWS, ""])
    for cut in (whole[:-9], whole[: whole.rindex("\n", 0, -1) + 1], whole[:-3] + '"'):
        with pytest.raises(InputError, match="cut short"):
            read_marks(cut, blueprint=EXAM)


def test_a_wrong_header_is_told_by_name() -> None:
    """A misspelt column, one twice, and one missing are told together."""
    lines = refusal(ROWS, header="candidate,circuit,station,examinr,item,mark,mark")
    assert "line 1: 'examinr' is not a known column; did you mean 'examiner'?" in lines
    assert "line 1: 'mark' is there more than once; keep one" in lines
    assert any(line.startswith("line 1: 'global' is a column that is missing") for line in lines)
    with pytest.raises(InputError, match="has 6 cells; the header has 7"):
        read_rows([ROWS[0].rsplit(",", 1)[0], *ROWS[1:]], EXAM)
    with pytest.raises(InputError, match="holds no marks"):
        read_rows([], EXAM)
    with pytest.raises(InputError, match="line 3: is not UTF-8"):
        read_marks((HEADER + "\n" + ROWS[0] + "\n").encode() + b"\xff", blueprint=EXAM)


def test_empty_files_are_refused() -> None:
    """Nothing at all is a file without its columns."""
    with pytest.raises(InputError, match="'candidate' is a column that is missing"):
        read_marks("", blueprint=EXAM)


def test_spreadsheets_are_read_as_they_come() -> None:
    """A byte order mark, semicolons, quotes, blanks and Windows line ends change nothing."""
    text = "\ufeff" + "\r\n".join([HEADER, *ROWS, ""]).replace(",", ";").replace("S01", ' "S01" '.strip())
    assert digest(read_marks(text.encode(), blueprint=EXAM)) == digest(read_rows(ROWS, EXAM))
    assert "use a point for the decimals" in refusal(change(2, mark='"1,5"'))[0]


def test_decimal_commas_are_read_where_semicolons_part_the_cells() -> None:
    """Half a mark is 1,5 in a file with semicolons, as a spreadsheet of such a country writes both."""
    text = "\n".join([HEADER, *change(2, mark="1.5"), ""]).replace(",", ";")
    expected = digest(read_rows(change(2, mark="1.5"), EXAM))
    assert digest(read_marks(text.replace("1.5", "1,5"), blueprint=EXAM)) == expected
    table = "station;item;max;weight\nS01;I01;2,5;0,5\n"
    (item,) = read_item_table(table).stations[0].items
    assert (item.max_mark, item.weight) == (2.5, 0.5)


def test_the_empty_margins_of_a_spreadsheet_are_left_out() -> None:
    """Rows of nothing but commas, and columns without a name or a cell, change nothing; line numbers stay."""
    lines = [HEADER, *ROWS]
    margins = [f"{line},," for line in (*lines[:5], ",".join([""] * 7), *lines[5:], ",,,,,,", ",,,,,,")]
    assert digest(read_marks("\n".join([*margins, ""]), blueprint=EXAM)) == digest(read_rows(ROWS, EXAM))
    margins[8] = margins[8].replace("S01", "S77")
    with pytest.raises(InputError, match="line 9, station: 'S77'"):
        read_marks("\n".join([*margins, ""]), blueprint=EXAM)
    margins[2] = f"{lines[2]},note,"
    with pytest.raises(InputError, match="line 1: is not a known column"):
        read_marks("\n".join([*margins, ""]), blueprint=EXAM)


def test_two_people_of_one_name_are_not_made_one() -> None:
    """One name at one station in two circuits is refused, unless the station broke down in one."""
    same = [row.replace("C0002,B", "C0001,B") for row in ROWS]
    (told,) = refusal(same)
    assert "candidate: 'C0001' sat the same station in more than one circuit (A, B)" in told
    assert told.endswith("are they two people of one name? give each a name or number of their own")
    moved = [row for row in ROWS if not row.startswith("C0001,A,S02") and not row.startswith("C0002,B")]
    other = [row.replace("C0002", "C0001") for row in ROWS if row.startswith("C0002,B,S02")]
    broke = ["C0001,A,S02,E03,,station_void,station_void"]
    assert read_rows([*moved, *broke, *other], EXAM).n_candidates == 3


def test_times_are_kept_and_must_run_forwards() -> None:
    """Clock times become seconds; a finish before its start and a time nobody can read are refused."""
    header = HEADER + ",started,finished,timed_out"
    rows = [row + ",09:00:00,09:07:30,yes" for row in ROWS]
    marks = read_marks("\n".join([header, *rows, ""]), blueprint=EXAM)
    assert (marks.finished_s - marks.started_s == 450).all()
    assert marks.timed_out.all()
    rows = [row + ",2031-05-04T09:00:00,2031-05-04T08:59:00," for row in ROWS]
    assert "finished: is before the start" in refusal(rows, header=header)[0]
    rows = [row + ",9 sharp,,perhaps" for row in ROWS]
    lines = refusal(rows, header=header)
    assert "'9 sharp' is not understood; write 09:05:00" in lines[0]
    assert "'perhaps' is not understood; write yes, no" in lines[1]


def test_times_with_and_without_their_day_are_not_mixed() -> None:
    """Seconds of a clock and of a calendar make no order: whichever kind is rarer is named with its lines."""
    header = HEADER + ",started,finished"
    rows = [row + ",09:00:00,09:07:30" for row in ROWS]
    rows[3:6] = [row.replace(",09:", ",2031-05-04T09:") for row in rows[3:6]]
    lines = refusal(rows, header=header)
    assert len(lines) == 2
    assert "lines 5 to 7, started: '2031-05-04T09:00:00' has its day where other times have none" in lines[0]
    rows = [row + ",2031-05-04T09:00:00,2031-05-04T09:07:30" for row in ROWS[:-3]]
    rows += [row + ",09:00:00," for row in ROWS[-3:]]
    (told,) = refusal(rows, header=header)
    assert "started: '09:00:00' is a time without its day where others have theirs" in told


@pytest.mark.parametrize("moment", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"])
def test_a_moment_that_could_not_be_frozen_is_refused(moment: str) -> None:
    """What lies before the first or after the last year in universal time is no time of an exam."""
    rows = [f"{row},{moment}" for row in ROWS]
    assert "is not understood" in refusal(rows, header=f"{HEADER},started")[0]


def test_a_whole_station_stands_alone() -> None:
    """A row for a whole station beside marks of its items, and a number without an item, are refused."""
    lines = refusal([*ROWS, "C0001,A,S01,E01,,absent,"])
    assert "item: is missing although items are marked" in lines[0]
    assert (
        "only not_offered, station_void, absent may stand for a whole station"
        in refusal(change(2, item=""))[0]
    )


def test_examiners_may_mark_together() -> None:
    """Two examiners of one candidate at one station make two sheets."""
    second = [row.replace("E01", "E77") for row in ROWS if "E01" in row]
    assert read_rows([*ROWS, *second], EXAM).n_sheets == 10


def test_a_candidate_of_two_circuits_has_none() -> None:
    """The circuit of a candidate who was moved is -1, those of the others stand."""
    rows = [row.replace("C0001,A,S02", "C0001,B,S02") for row in ROWS]
    assert candidate_circuit(read_rows(rows, EXAM)).tolist() == [-1, 1, 0, 1]


@given(st.integers(1, 9), st.integers(2, 12), st.integers(1, 3), st.integers(0, 99))
@settings(max_examples=15, deadline=None)
def test_what_is_written_is_read_again(items: int, candidates: int, stations: int, seed: int) -> None:
    """Frozen marks give the same digest when read; so does a frozen blueprint give the same blueprint."""
    marks = made_marks(items=items, candidates=candidates, stations=stations, circuits=2, seed=seed)
    blueprint = read_blueprint(write_blueprint(marks.blueprint))
    assert blueprint == marks.blueprint
    assert digest(read_marks(write_marks(marks), blueprint=blueprint)) == digest(marks)


def test_states_and_times_survive_freezing() -> None:
    """A void station, a mark not observed, a half mark and times to the second are read as they were."""
    header = HEADER + ",started,finished,timed_out"
    rows = [row + ",2031-05-04T09:00:00,2031-05-04T09:08:01," for row in change(2, mark="1.5")]
    rows = [row.replace("I02,2,", "I02,not_observed,") for row in rows if not row.startswith("C0002,B,S02")]
    rows.append("C0002,B,S02,E04,,station_void,absent,,,")
    marks = read_marks("\n".join([header, *rows, ""]), blueprint=EXAM)
    assert digest(read_marks(write_marks(marks), blueprint=EXAM)) == digest(marks)


def test_a_table_of_items_becomes_a_blueprint() -> None:
    """Maxima, weights, domains and critical items are read; what is wrong comes with its lines, at once."""
    header = "station,item,max,weight,domain,critical,station_weight"
    text = f"{header}\nA,x,2,,talk,yes,3\nA,y,5,0.5,,no,\nB,x,1,,,,"
    assert read_item_table(text) == Blueprint(
        stations=(
            Station(
                code="A",
                items=(
                    Item(code="x", max_mark=2, domain="talk", critical=True),
                    Item(code="y", max_mark=5, weight=0.5),
                ),
                weight=3,
            ),
            Station(code="B", items=(Item(code="x", max_mark=1),)),
        )
    )
    wrong = "station,item,max,critical\nA,x,two,\nA,x,-1,maybe\n,y,1,\n"
    with pytest.raises(InputError) as refused:
        read_item_table(wrong)
    assert str(refused.value).split("\n") == [
        "line 2, max: 'two' is not a number; write a number above 0",
        "line 3, item: 'x' stands twice at station 'A'; give it another name",
        "line 3, max: '-1' is out of range; write a number above 0",
        "line 3, critical: 'maybe' is not understood; write yes, no or nothing",
        "line 4: has an empty name; name a station and an item in every row",
    ]


def test_a_blueprint_that_contradicts_itself_is_refused() -> None:
    """No stations, doubled names, weights of 0, a borderline at the end of the scale: listed together."""
    item = Item(code="x", max_mark=0)
    with pytest.raises(InputError) as refused:
        Blueprint(
            stations=(Station(code="A", items=(item, item)), Station(code="A", items=(), weight=-1)),
            grades=GradeScale(borderline=4),
        )
    places = [problem.place for problem in refused.value.problems]
    assert places == ["stations", "A", "A.x.max", "A.x.max", "A", "A.weight", "grades.borderline"]
    with pytest.raises(InputError, match="stations: are missing"):
        Blueprint(stations=())
    with pytest.raises(InputError, match="is not a known format"):
        read_blueprint(write_blueprint(EXAM).replace("blueprint/1", "blueprint/9"))
    with pytest.raises(InputError, match="is not a blueprint"):
        read_blueprint("{}")
