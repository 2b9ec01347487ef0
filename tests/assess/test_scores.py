"""Scores: what is missing is never a zero, and moves nothing beyond what is stated."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.assess import Blueprint, Item, Marks, Station, score, write_marks
from tests.assess.made import made_blueprint, made_marks, read_rows

# One station of four items worth 1, 2, 3 and 4 marks, in two domains; one of two marks weighing double.
EXAM = Blueprint(
    stations=(
        Station(
            code="A",
            items=(
                Item(code="w", max_mark=1, domain="talk"),
                Item(code="x", max_mark=2, domain="talk"),
                Item(code="y", max_mark=3, domain="touch"),
                Item(code="z", max_mark=14, domain="touch", critical=True),
            ),
        ),
        Station(code="B", items=(Item(code="x", max_mark=2),), weight=3),
    )
)


def marks_of(*people: str, exam: Blueprint = EXAM) -> Marks:
    """Return marks written as ``w x y z|B``, one text a candidate; a blank B leaves the station out."""
    rows = []
    for p, text in enumerate(people):
        first, _, second = text.partition("|")
        cells = first.split()
        names = [item.code for item in exam.stations[0].items]
        rows += [f"C{p},1,A,E1,{name},{cell},2" for name, cell in zip(names, cells, strict=True)]
        if second:
            rows.append(f"C{p},1,B,E2,x,{second},2")
    return read_rows(rows, exam)


def test_a_score_is_the_weighted_share_of_the_marks() -> None:
    """1 of 1, 1 of 2, 3 of 3, 7 of 14 are 60 % of 20 marks, domains 67 and 59 %; station B weighs thrice."""
    scores = score(marks_of("1 1 3 7|2"))
    assert scores.station[0] == pytest.approx([60, 100])
    assert scores.domain_station[0, 0, 1:] == pytest.approx([100 * 2 / 3, 100 * 10 / 17])
    assert scores.total[0] == pytest.approx((60 + 3 * 100) / 4)


def test_not_done_is_zero_and_nothing_else_is() -> None:
    """Not done is 0 of its marks; not observed, up to a tenth of the marks, is prorated in its domain."""
    done, not_done, unseen, whole = score(
        marks_of("1 1 3 7", "1 not_done 3 7", "1 not_observed 3 7", "not_observed 1 3 7")
    ).station[:, 0]
    assert done == pytest.approx(60)
    assert not_done == pytest.approx(55)
    assert unseen == pytest.approx(100 * (3 + 10) / 20)  # 1 of 1 in the domain becomes 3 of 3
    assert whole == pytest.approx(100 * (1.5 + 10) / 20)


def test_too_much_unseen_makes_no_score() -> None:
    """More than a tenth of the marks missing makes the station missing; the limit itself does not."""
    scores = score(marks_of("1 1 not_observed 7|1", "1 not_observed 3 7|1"))
    assert np.isnan(scores.station[0, 0])
    assert scores.total[0] == pytest.approx(50)
    assert scores.prorated[[0, 2]] == pytest.approx([0.15, 0.1])
    assert not np.isnan(scores.station[1, 0])
    relaxed = score(marks_of("1 1 not_observed 7|1"), most_prorated=0.15)
    assert not np.isnan(relaxed.station[0, 0])


def test_a_domain_nobody_saw_is_prorated_by_the_station() -> None:
    """Where a whole domain is missing within the limit, the rest of the station stands for it."""
    found = score(marks_of("not_observed not_observed 3 7"), most_prorated=0.2)
    assert found.station[0, 0] == pytest.approx(100 * 10 / 17)
    assert np.isnan(found.domain_station[0, 0, 1])


def test_bounds_hold_what_is_missing_at_none_and_all() -> None:
    """With station B (3 of 4 weights) missing, 60 % at A could be 15 to 90 % of the exam."""
    scores = score(marks_of("1 1 3 7", "1 1 3 7|2"))
    assert (scores.lowest[0], scores.total[0], scores.highest[0]) == pytest.approx((15, 60, 90))
    assert scores.share_taken[0] == 0.5
    assert scores.lowest[1] == scores.highest[1] == scores.total[1]


def test_a_void_station_is_nobodys_loss() -> None:
    """Void for the whole circuit, a station leaves numerator and denominator; for one, it is only missing."""
    scores = score(marks_of("1 1 3 7|station_void", "1 1 3 7|station_void"))
    assert scores.void[:, 1].all()
    assert (scores.share_taken == 1).all()
    assert scores.lowest == pytest.approx(scores.highest)
    scores = score(marks_of("1 1 3 7|station_void", "1 1 3 7|1"))
    assert not scores.void.any()
    assert scores.share_taken.tolist() == [0.5, 1]


def test_two_examiners_share_a_station() -> None:
    """A candidate marked by two examiners has the mean of both."""
    rows = [f"C0,1,B,{examiner},x,{mark},2" for examiner, mark in (("E1", 1), ("E2", 2))]
    rows += [f"C0,1,A,E3,{i.code},0,2" for i in EXAM.stations[0].items]
    assert score(read_rows(rows, EXAM)).station[0, 1] == pytest.approx(75)


def test_a_critical_item_fails_at_nothing_only() -> None:
    """Seen with no mark at all, a critical item is failed; in part done, or not seen, it is not."""
    scores = score(marks_of("1 1 3 0", "1 1 3 1", "1 1 3 not_done", "1 1 3 not_observed"))
    assert scores.critical_failed[:, 0].tolist() == [1, 0, 1, 0]


@given(st.integers(0, 200), st.sampled_from(["not_observed", "not_offered", "absent"]))
@settings(max_examples=25, deadline=None)
def test_losing_a_mark_never_counts_as_zero(seed: int, word: str) -> None:
    """Whatever single mark is missing, the total lies within its bounds and other candidates keep theirs."""
    blueprint = made_blueprint(stations=3, items=6)
    whole = made_marks(stations=3, items=6, candidates=8, circuits=2, seed=seed)
    before = score(whole)
    lines = write_marks(whole).split("\n")[1:-1]
    row = seed % len(lines)
    cells = lines[row].split(",")
    cells[5] = word
    rows = [",".join(line.split(",")[:7]) for line in lines]
    rows[row] = ",".join(cells[:7])
    after = score(read_rows(rows, blueprint))
    p = whole.candidates.index(cells[0])
    others = np.arange(8) != p
    assert after.total[others] == pytest.approx(before.total[others])
    assert after.lowest[p] - 1e-9 <= after.total[p] <= after.highest[p] + 1e-9
    assert np.isnan(after.station[p]).sum() == 1  # one of six items is more than a tenth
