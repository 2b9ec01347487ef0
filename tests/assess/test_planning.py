"""Plans by formula, by simulation and by published numbers."""

import json
from pathlib import Path

import numpy as np
import pytest

from fabella.assess.plan_file import read_plan
from fabella.assess.planning import Costs, cheapest, plans_between
from fabella.assess.planning_outlook import PassRule, Plan, Spreads, outlook
from fabella.assess.planning_trial import simulate, trial
from fabella.errors import InputError

SPREADS = Spreads(candidate=6, station=4, candidate_station=9, examiner=3, residual=6, circuit=1)
RULE = PassRule(cut=-7)
PLAN = Path(__file__).parents[2] / "examples" / "exam" / "plan.json"


def test_published_lengths_of_circuits() -> None:
    """An exam of .60 at 12 stations has low .70s at 20 and about .80 at 30 (Gruppen 1997).

    Source: Gruppen 1997, doi 10.1007/978-94-011-4886-3_133, abstract; .60 at 12 stations means an error
    variance for one station of 8 times the true one.
    """
    spreads = Spreads(candidate=1, station=0, candidate_station=np.sqrt(8), examiner=0, residual=0)
    found = [outlook(Plan(candidates=100, stations=n), spreads=spreads, rule=RULE).phi for n in (12, 20, 30)]
    assert found[0] == pytest.approx(0.60, abs=1e-9)
    assert 0.70 < found[1] < 0.74
    assert found[2] == pytest.approx(0.80, abs=0.015)


@pytest.mark.parametrize("sems", [0.0, 1.0])
def test_simulation_gives_what_the_formula_says(sems: float) -> None:
    """Pass rate and misjudged shares of 400 simulated exams of 300 candidates are those of the formula."""
    plan = Plan(candidates=300, stations=10, examiners=2, circuits=3)
    rule = PassRule(cut=-7, sems=sems, follows=False)
    by_formula = outlook(plan, spreads=SPREADS, rule=rule)
    simulated = trial(plan, spreads=SPREADS, rule=rule, exams=400, dice=np.random.default_rng(11))
    ours = (by_formula.pass_rate, by_formula.false_pass, by_formula.false_fail)
    assert (simulated.pass_rate, simulated.false_pass, simulated.false_fail) == pytest.approx(ours, abs=0.012)
    assert simulated.stations_rule_alone == 0


def test_simulated_scores_have_the_planned_variances() -> None:
    """The mean error of a simulated score has the standard error that the formula states."""
    plan = Plan(candidates=2000, stations=8, examiners=2, circuits=500)
    spreads = Spreads(candidate=6, station=0, candidate_station=9, examiner=3, residual=6, circuit=1)
    true, score = simulate(plan, spreads=spreads, dice=np.random.default_rng(12))
    error = score.mean(axis=(1, 2)) - true
    assert error.std() == pytest.approx(outlook(plan, spreads=spreads, rule=RULE).sem, rel=0.04)


def test_a_rule_on_stations_passed_fails_more() -> None:
    """Asking for stations to be passed as well fails some who pass by their total, and never passes more."""
    plan = Plan(candidates=120, stations=10)
    without = trial(plan, spreads=SPREADS, rule=RULE, exams=50, dice=np.random.default_rng(13))
    asked = trial(
        plan, spreads=SPREADS, rule=RULE, stations_passed=7, exams=50, dice=np.random.default_rng(13)
    )
    assert asked.pass_rate + asked.stations_rule_alone == pytest.approx(without.pass_rate)
    assert asked.stations_rule_alone > 0.01
    assert asked.false_fail > without.false_fail


def test_the_cheapest_plan_is_the_cheapest_of_all() -> None:
    """The plan named first reaches the target; each cheaper one in the list of all misses it or the day."""
    plans = plans_between(candidates=120, stations=(6, 30), examiners=(1, 2), circuits=(1, 4))
    costs = Costs(station=200, examiner=400, hour=150, station_min=9, longest_h=8)
    found = cheapest(plans, spreads=SPREADS, rule=RULE, costs=costs, target=0.75)
    best = found[0]
    assert best.outlook.phi >= 0.75
    assert best.hours <= 8
    dear = cheapest(plans, spreads=SPREADS, rule=RULE, costs=costs, target=0.01)
    cheaper = [each for each in dear if each.cost < best.cost]
    assert cheaper
    assert all(each.outlook.phi < 0.75 for each in cheaper)
    rounds = -(-120 // (best.plan.circuits * best.plan.stations))
    assert best.hours == pytest.approx(rounds * best.plan.stations * 9 / 60)
    assert cheapest(plans, spreads=SPREADS, rule=RULE, costs=costs, target=0.99) == ()


def test_impossible_plans_are_refused() -> None:
    """Numbers below 1, negative SDs and a target beyond 1 are told together."""
    bad = Spreads(candidate=0, station=-1, candidate_station=1, examiner=1, residual=1)
    with pytest.raises(InputError) as raised:
        outlook(Plan(candidates=0, stations=3), spreads=bad, rule=RULE)
    assert {problem.place for problem in raised.value.problems} == {
        "candidates",
        "SD of candidate",
        "SD of station",
    }
    with pytest.raises(InputError, match="target"):
        cheapest(
            [],
            spreads=SPREADS,
            rule=RULE,
            costs=Costs(station=1, examiner=1, hour=1, station_min=9),
            target=1,
        )


@pytest.mark.parametrize("number", ["NaN", "Infinity", "1e400"])
@pytest.mark.parametrize("place", ["target", "spreads.candidate"])
def test_a_number_that_is_none_is_refused(place: str, number: str) -> None:
    """JSON as Python reads it knows NaN and infinities; in a plan they would print nan, or never end."""
    tree = json.loads(PLAN.read_text("utf-8"))
    *above, key = place.split(".")
    (tree[above[0]] if above else tree)[key] = "HERE"
    with pytest.raises(InputError, match="is no number") as refused:
        read_plan(json.dumps(tree).replace('"HERE"', number))
    assert [each.place for each in refused.value.problems] == [place]
