"""A drift common to all examiners, and a severe one who leaves at noon: told apart, in numbers and words."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import linregress

from fabella.assess import (
    About,
    Blueprint,
    ExaminerStudy,
    Flag,
    Item,
    Marks,
    Rules,
    Station,
    analyse,
    read_marks,
    score,
)
from fabella.assess.drift import drift
from fabella.assess.examiners import examiner_study
from fabella.assess.severity import severity
from fabella.papers.reliability import examiner_blocks
from fabella.papers.words import flag_words

CANDIDATES, STATIONS, NOON = 60, 6, 30
PLAN = Blueprint(
    stations=tuple(
        Station(code=f"S{s + 1}", items=(Item(code="all", max_mark=100, domain="technique", critical=False),))
        for s in range(STATIONS)
    )
)


def day(
    seed: int, *, drift: float = 0.0, own: float = 0.0, severe: float = 0.0, turns: bool = False
) -> Marks:
    """Return one circuit: marks move by ``drift`` a candidate; at S1 Early takes ``severe`` off, until noon.

    Late follows Early there. With ``turns`` they mark in turns all day. Everywhere else one examiner marks
    from morning to evening; the marks of E3 move by ``own`` as well.
    """
    dice = np.random.default_rng(seed)
    able, hard = dice.normal(0, 8, CANDIDATES), dice.normal(0, 4, STATIONS)
    rows = ["candidate,station,examiner,item,mark,global,started"]
    for s in range(STATIONS):
        for p in range(CANDIDATES):
            is_early = p % 2 == 0 if turns else p < NOON
            who = ("Early" if is_early else "Late") if s == 0 else f"E{s + 1}"
            moved = (drift + own * (who == "E3")) * p - severe * (who == "Early")
            mark = 55 + able[p] - hard[s] + moved + dice.normal(0, 5)
            minute = 8 * p
            rows.append(
                f"C{p:02},S{s + 1},{who},all,{np.clip(round(mark), 0, 100)},{round(mark / 25)},"
                f"2027-03-04T{8 + minute // 60:02}:{minute % 60:02}:00"
            )
    return read_marks("\n".join([*rows, ""]), blueprint=PLAN)


def study_of(marks: Marks) -> ExaminerStudy:
    """Return what the sheets say of the examiners."""
    return examiner_study(marks, score(marks))


def test_a_severe_examiner_who_leaves_at_noon_is_no_drift() -> None:
    """Where 15 marks are taken off until noon and nothing moves, the common slope stays near 0 in most exams.

    A line through all marks of that station by time, of scipy, rises each time.
    """
    found, naive = [], []
    for seed in range(20):
        marks = day(seed, severe=15.0)
        moves = study_of(marks).drift.value
        assert moves is not None
        found.append(moves.drift.p < 0.05)
        here = marks.station == 0
        naive.append(linregress(marks.candidate[here], marks.mark[here]).slope > 0.1)
    assert sum(found) <= 4  # 1 expected; 5 or more have a chance of 0.3 %
    assert all(naive)


def test_who_took_over_is_told_with_what_drift_alone_makes_of_it() -> None:
    """Half a mark a candidate, equally severe examiners: those 30 candidates apart differ by 15 marks."""
    shifts = []
    for seed in range(10):
        study = study_of(day(seed, drift=0.5))
        (found,) = study.handovers
        assert (found.station, found.earlier, found.later, found.apart) == ("S1", "Early", "Late", 30.0)
        assert study.drift.value is not None
        slope = study.drift.value.drift
        assert (found.shift, found.se) == pytest.approx((30 * slope.slope, 30 * slope.se))
        shifts.append(found.shift)
    assert np.mean(shifts) == pytest.approx(15, abs=3)


def test_examiners_in_turns_hand_nothing_over() -> None:
    """Whoever marks every other candidate all day has the same hours as their colleague."""
    assert study_of(day(1, drift=0.5, turns=True)).handovers == ()


def test_the_report_says_what_is_drift_and_what_passes_for_severity() -> None:
    """A severe one who leaves is said to be no drift; of who followed whom the part of the drift is told."""
    found = analyse(day(2, drift=0.5), Rules(resamples=200))
    told = " ".join(getattr(each, "text", "") for each in examiner_blocks(found, {"S1": "1 Ligaments"}))
    assert "that a severe one leaves and a milder one follows is no drift" in told
    assert "at 1 Ligaments Late, who followed Early, would give 1" in told
    assert "% more (standard error" in told


def test_an_examiner_whose_marks_move_alone_is_named() -> None:
    """One who grows milder by half a mark a candidate is named to the board; on nine other days nobody is."""
    found = analyse(day(3, own=0.5), Rules(resamples=200))
    assert Flag(about=About.EXAMINER, code="E3", says="drifts") in found.flags
    assert any(
        "marks move through the day" in each and "examiner E3" in each for each in flag_words(found.flags)
    )
    for seed in range(9):
        moves = study_of(day(seed)).drift.value
        assert moves is not None
        assert not (moves.holm < 0.01).any()


def test_taking_the_drift_out_of_severity_would_make_it_worse() -> None:
    """Why severity holds what a drift does: its slope is so unsure that marks freed of it lie further off.

    Simulated without any drift: 60 candidates, 8 stations, each handed over at noon. With the common slope
    taken out, the difference between the two examiners of a station is told with a larger error.
    """
    errors = []
    for seed in range(20):
        dice = np.random.default_rng(seed)
        severe, hard = dice.normal(0, 4, 16), dice.normal(60, 6, 8)
        candidate, station = np.repeat(np.arange(60), 8), np.tile(np.arange(8), 60)
        examiner = 2 * station + (candidate >= NOON)
        score = hard[station] + np.repeat(dice.normal(0, 8, 60), 8) - severe[examiner]
        score += dice.normal(0, 10, 480)
        codes = {"candidate": candidate, "station": station, "examiner": examiner}
        slope = drift(score, **codes, order=candidate % NOON).drift.slope
        true = severe[1::2] - severe[::2]
        found = [severity(marks, **codes).severity for marks in (score, score - slope * candidate)]
        errors.append([np.square(each[1::2] - each[::2] - true).mean() for each in found])
    as_given, freed = np.sqrt(np.mean(errors, axis=0))
    assert freed > 1.1 * as_given
