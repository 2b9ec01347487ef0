"""The standard error of who took fewer stations: printed coefficients, REML, a simulation, and decisions."""

import json
from typing import Any

import numpy as np
import pytest

from fabella.assess import (
    CutMethod,
    ErrorOf,
    Marks,
    Reason,
    Rules,
    alpha,
    cut_noise,
    decide,
    read_rules,
    review_list,
    score,
    write_results,
    write_rules,
)
from fabella.assess.dstudy import as_marked, project
from fabella.assess.gstudy_anova import anova
from fabella.assess.own_error import own_errors
from tests.assess import worked_tables as worked
from tests.assess.by_henderson import parse_design
from tests.assess.made import made_blueprint, made_marks, made_rows, read_rows
from tests.assess.test_gstudy_components import lme4

FEW: dict[str, Any] = {"resamples": 200}
PXI = parse_design("p x i")


@pytest.mark.parametrize(
    ("items", "printed"), [(5, 0.693), (10, 0.819), (12, 0.8445), (15, 0.871), (20, 0.901)]
)
def test_the_error_over_fewer_items_gives_the_printed_coefficients(items: int, printed: float) -> None:
    """Of Brennan's data set 1, the error of 12 items brought to others gives G as printed for those.

    Source: Brennan 2001 Generalizability Theory, table of data set 1, n' of 5 to 20 (seen as quoted); its
    third decimal is cut off, not rounded.
    """
    marks, codes = worked.set1()
    table = np.asarray(marks).reshape(10, 12)
    taken = np.where(np.arange(20) < items, 1.0, np.nan)[None]
    (error,) = own_errors(alpha(table).sem, taken, np.ones(20), over=range(12))
    components = anova(marks, codes, design=PXI).components
    true = project(components, design=PXI, counts={"i": 12}).true
    assert true / (true + error**2) == pytest.approx(printed, abs=0.001)
    assert error == pytest.approx(project(components, design=PXI, counts={"i": items}).sem_relative, rel=1e-9)


def test_where_stations_count_differently_the_error_is_that_of_the_d_study() -> None:
    """By weights 3, 2, 1 and so on the error is the D study's of the same items, to the last digit."""
    marks, codes = worked.set1()
    components = anova(marks, codes, design=PXI).components
    weights = np.tile([3.0, 2.0, 1.0], 4)
    whole = as_marked(components, design=PXI, codes=codes, weight=np.tile(weights, 10)).sem_relative
    taken = np.ones(12)
    taken[[0, 5, 7]] = np.nan
    left = ~np.isnan(taken)
    some = {"p": np.repeat(np.arange(10), 9), "i": np.tile(np.flatnonzero(left), 10)}
    part = as_marked(components, design=PXI, codes=some, weight=np.tile(weights[left], 10)).sem_relative
    (error,) = own_errors(whole, taken[None], weights, over=range(12))
    assert error == pytest.approx(part, rel=1e-12)


def test_the_error_is_how_far_scores_lie_from_the_truth() -> None:
    """Of 60,000 simulated candidates, who took some of eight stations errs by what is told, to 1 %."""
    dice, n = np.random.default_rng(5), 60_000
    weights = np.array([1.0, 1, 1, 1, 1, 1, 2, 2])
    hardness, truth = dice.normal(scale=9, size=8), dice.normal(60, 8, size=n)
    scores = truth[:, None] - hardness + dice.normal(scale=12, size=(n, 8))
    sem = alpha(scores, weights=weights).sem
    for missing in ([], [0], [7], [0, 6], [1, 2, 3]):
        taken = scores.copy()
        taken[:, missing] = np.nan
        here = ~np.isnan(taken[0])
        share = weights[here] / weights[here].sum()
        off = (taken[:, here] + hardness[here]) @ share - truth  # against the pass mark of those stations
        errors = own_errors(sem, taken, weights, over=range(8))
        assert np.ptp(errors) == 0
        assert errors[0] == pytest.approx(off.std(), rel=0.01)
    nothing = np.full((1, 8), np.nan)
    assert np.isnan(own_errors(sem, nothing, weights, over=range(8))).all()


def test_the_error_is_that_of_lme4s_residual_over_the_stations_taken() -> None:
    """R lme4 fits candidates and stations of an exam: its residual over 6 of 8 is the error squared."""
    scores = score(made_marks(stations=8, items=8, candidates=40, circuits=1, seed=4)).station
    people, stations = np.divmod(np.arange(scores.size), 8)
    theirs = lme4(scores.ravel(), {"p": people, "s": stations}, ("p", "s"))
    taken = scores[:1].copy()
    taken[0, [2, 5]] = np.nan
    (error,) = own_errors(alpha(scores).sem, taken, np.ones(8), over=range(8))
    assert error == pytest.approx(np.sqrt(theirs["Residual"] / 6), rel=1e-4)


def with_gaps() -> Marks:
    """Eight stations: one candidate was away for two, the sheet of another was lost, a third never came."""
    blueprint = made_blueprint(stations=8, items=6)
    gone = {
        **{("C0001", code): "absent" for code in blueprint.station_codes[:2]},
        ("C0002", "S03"): "station_void",
        **{("C0003", code): "absent" for code in blueprint.station_codes},
    }
    rows = []
    for row in made_rows(blueprint, candidates=60, circuits=1, seed=9):
        cells = row.split(",")
        word = gone.get((cells[0], cells[2]))
        rows.append(",".join([*cells[:5], word, word]) if word else row)
    return read_rows(rows, blueprint)


def test_who_took_fewer_stations_is_held_to_their_error() -> None:
    """Allowance and second look are by the error of the stations taken: sqrt(8/6), sqrt(8/7) of it."""
    marks = with_gaps()
    results = decide(marks, Rules(sem_multiple=1, **FEW))
    away, lost, never, there = results.decisions[:4]
    assert (away.stations_taken, lost.stations_taken) == (6, 7)
    assert away.sem == pytest.approx(results.sem * np.sqrt(8 / 6), abs=2e-6)
    assert lost.sem == pytest.approx(results.sem * np.sqrt(8 / 7), abs=2e-6)
    assert there.sem == results.sem == pytest.approx(alpha(score(marks).station).sem, abs=1e-6)
    assert np.isnan(never.sem)
    for each in (away, lost, there):
        assert each.pass_mark == pytest.approx(each.cut + each.sem, abs=2e-6)
    assert results.with_other_error == (away, lost)


def test_who_lies_within_the_own_error_alone_is_looked_at_again() -> None:
    """A margin between the error of all stations and that of those taken is a second look, and so told."""
    marks, cut = with_gaps(), 0.0
    plain = decide(marks, Rules(method=CutMethod.FIXED, fixed_cut=50, **FEW))
    cut = plain.decisions[0].total - (plain.sem + plain.decisions[0].sem) / 2
    near = decide(marks, Rules(method=CutMethod.FIXED, fixed_cut=cut, **FEW))
    first = near.decisions[0]
    assert near.sem < first.margin < first.sem
    assert first.review
    (told,) = [each for each in review_list(near, cut_noise(marks, near)) if each.decision is first]
    assert told.sems == pytest.approx(first.margin / first.sem)
    same = decide(marks, Rules(method=CutMethod.FIXED, fixed_cut=cut, error_of=ErrorOf.ALL, **FEW))
    assert not same.decisions[0].review
    assert same.decisions[0].sem == first.sem


def test_the_noise_of_a_pass_mark_is_told_against_the_own_bar() -> None:
    """A candidate who lies between the bars of both errors passes by the one and fails by the other."""
    marks = with_gaps()
    plain = decide(marks, Rules(method=CutMethod.FIXED, fixed_cut=50, **FEW))
    cut = plain.decisions[0].total - (plain.sem + plain.decisions[0].sem) / 2
    for of, passing in ((ErrorOf.TAKEN, 0.0), (ErrorOf.ALL, 1.0)):
        rules = Rules(method=CutMethod.FIXED, fixed_cut=cut, sem_multiple=1, error_of=of, **FEW)
        results = decide(marks, rules)
        assert (Reason.BELOW_PASS_MARK in results.decisions[0].reasons) == (passing == 0)
        assert cut_noise(marks, results).share_passing[0] == passing


def test_an_error_that_was_declared_is_of_all_stations_of_the_exam() -> None:
    """A station void for everybody leaves an exam of five stations with sqrt(5/4) of what was declared."""
    blueprint = made_blueprint(stations=5, items=4)
    rows = [
        ",".join([*row.split(",")[:5], "station_void", "station_void"]) if ",S02," in row else row
        for row in made_rows(blueprint, candidates=20, circuits=1, seed=2)
    ]
    marks = read_rows(rows, blueprint)
    fixed: dict[str, Any] = {"method": CutMethod.FIXED, "fixed_cut": 50.0, "sem_multiple": 1, **FEW}
    results = decide(marks, Rules(sem=4, **fixed))
    assert results.sem == pytest.approx(4 * np.sqrt(5 / 4), abs=1e-6)
    assert {each.sem for each in results.decisions} == {results.sem}
    assert results.with_other_error == ()
    assert decide(marks, Rules(sem=4, error_of=ErrorOf.ALL, **fixed)).decisions[0].pass_mark == 54


def test_rules_of_earlier_formats_hold_all_to_one_error() -> None:
    """What was decided before is decided the same again: read as it was meant, and written as it was."""
    marks = with_gaps()
    for old in (
        '{"format": "fabella.exam-rules/1"}',
        '{"format": "fabella.exam-rules/2", "sem_multiple": 1}',
    ):
        rules = read_rules(old)
        assert rules.error_of is ErrorOf.ALL
        assert json.loads(write_rules(rules))["format"] == json.loads(old)["format"]
    results = decide(marks, rules)
    first = results.decisions[0]
    assert first.pass_mark == pytest.approx(first.cut + results.sem, abs=2e-6)
    assert "sem" not in json.loads(write_results(results))["decisions"][0]
    now = read_rules('{"format": "fabella.exam-rules/3"}')
    assert now.error_of is ErrorOf.TAKEN
    assert now == Rules()
    assert json.loads(write_results(decide(marks, now)))["decisions"][0]["sem"] > results.sem
