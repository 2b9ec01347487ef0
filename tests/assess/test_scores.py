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
    scores = score(marks_of("1 1 not_observed 7|1", "1 not_observed 3 7|1"), items_prorated=0)
    assert np.isnan(scores.station[0, 0])
    assert scores.total[0] == pytest.approx(50)
    assert scores.prorated[[0, 2]] == pytest.approx([0.15, 0.1])
    assert not np.isnan(scores.station[1, 0])
    relaxed = score(marks_of("1 1 not_observed 7|1"), most_prorated=0.15, items_prorated=0)
    assert not np.isnan(relaxed.station[0, 0])


def test_how_much_one_item_may_be_worth_is_a_rule() -> None:
    """One of 15 % is filled in where it may be worth so much, and not where it may be worth less."""
    marks = marks_of("1 1 not_observed 7")
    assert not np.isnan(score(marks, largest_prorated=0.15).station[0, 0])
    assert np.isnan(score(marks, largest_prorated=0.14).station[0, 0])


def test_one_item_is_filled_in_whatever_its_share_up_to_a_quarter() -> None:
    """One missing item of 15 % keeps the score, two of 10 and 15 % do not, nor does one of 70 %."""
    one, two, large = score(
        marks_of("1 1 not_observed 7", "1 not_observed not_observed 7", "1 1 3 not_observed")
    ).station[:, 0]
    assert one == pytest.approx(100 * (2 + 8.5) / 20)  # 7 of 14 in its domain becomes 8.5 of 17
    assert np.isnan(two)
    assert np.isnan(large)


def test_what_the_bell_came_before_is_missing_unless_the_rules_say_not_done() -> None:
    """Not reached leaves the item out; by the rule it earns nothing, and a critical item is not failed."""
    marks = marks_of("1 1 3 not_reached", "1 1 not_reached 7")
    assert np.isnan(score(marks).station[0, 0])
    counted = score(marks, unreached_is_zero=True)
    assert counted.station[:, 0] == pytest.approx([25, 45])
    assert not counted.critical_failed.any()


def test_filling_in_one_mark_of_eight_errs_less_than_losing_the_station() -> None:
    """Of an exam of ten stations with eight items, one mark lost moves a filled-in total less than no score.

    Simulated: SDs of candidates 8 %, of candidates by stations 12 %, items 0 to 2 around that. The root mean
    square error of the total is about a third: this is why one item is filled in by default.
    """
    dice = np.random.default_rng(8)
    own = 60 + 8 * dice.standard_normal((400, 1)) + 12 * dice.standard_normal((400, 10))
    chance = np.clip(own / 100, 0.02, 0.98)[..., None]
    items = dice.binomial(2, chance, (400, 10, 8)) / 2
    whole = items.mean(axis=2)
    filled, dropped = whole.copy(), whole.copy()
    filled[:, 0] = items[:, 0, 1:].mean(axis=1)
    dropped[:, 0] = np.nan
    errors = [
        float(np.sqrt(((np.nanmean(x, axis=1) - whole.mean(axis=1)) ** 2).mean())) for x in (filled, dropped)
    ]
    assert errors[0] < errors[1] / 2


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


def test_a_void_station_stays_void_when_somebody_was_absent() -> None:
    """Who was not there that day does not keep a station alive that broke down for all who were."""
    away = "absent absent absent absent|absent"
    scores = score(marks_of("1 1 3 7|station_void", away, "1 1 3 7|station_void"))
    assert scores.void[:, 1].tolist() == [True, True, True]
    assert not scores.void[:, 0].any()
    assert scores.share_taken.tolist() == [1, 0, 1]
    assert not score(marks_of("1 1 3 7|absent", "1 1 3 7|absent")).void.any()


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
    after, strict = (score(read_rows(rows, blueprint), items_prorated=most) for most in (1, 0))
    p = whole.candidates.index(cells[0])
    others = np.arange(8) != p
    assert after.total[others] == pytest.approx(before.total[others])
    assert after.lowest[p] - 1e-9 <= after.total[p] <= after.highest[p] + 1e-9
    assert (
        np.isnan(after.station[p]).sum() == 0
    )  # one item of six is filled in, though it is more than a tenth
    assert np.isnan(strict.station[p]).sum() == 1
