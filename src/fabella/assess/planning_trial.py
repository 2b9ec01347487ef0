"""A planned exam tried out many times with drawn candidates, stations and examiners."""

from dataclasses import dataclass

import numpy as np

from fabella.assess.gstudy_design import Array
from fabella.assess.planning_outlook import PassRule, Plan, Spreads, check_plans, outlook


def simulate(plan: Plan, *, spreads: Spreads, dice: np.random.Generator) -> tuple[Array, Array]:
    """Return one simulated exam: true scores, shape (candidates,), and scores at each station as deviations.

    Parameters
    ----------
    plan, spreads
        What to simulate; candidates are dealt to circuits in turn.
    dice
        The generator used.

    Returns
    -------
    true, score
        Shapes (candidates,) and (candidates, stations, examiners) [mark], both from a mean of 0.
    """
    check_plans([plan], spreads)
    shape = (plan.candidates, plan.stations, plan.examiners)
    circuit = np.arange(plan.candidates) % plan.circuits
    true = dice.normal(0, spreads.candidate, plan.candidates)
    score = true[:, None, None] + dice.normal(0, spreads.residual, shape)
    score += dice.normal(0, spreads.candidate_station, shape[:2])[:, :, None]
    score += dice.normal(0, spreads.station, plan.stations)[None, :, None]
    score -= dice.normal(0, spreads.examiner, (plan.circuits, *shape[1:]))[circuit]
    score += dice.normal(0, spreads.circuit, plan.circuits)[circuit][:, None, None]
    return true, score


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What simulated exams of a plan gave, all candidates together [-], with the number simulated."""

    pass_rate: float
    false_pass: float
    false_fail: float
    stations_rule_alone: float
    exams: int


def trial(
    plan: Plan,
    *,
    spreads: Spreads,
    rule: PassRule,
    stations_passed: int = 0,
    exams: int = 200,
    dice: np.random.Generator,
) -> Trial:
    """Return what a plan gives when simulated, with a least number of stations to be passed if wanted.

    Parameters
    ----------
    plan, spreads, rule
        What to simulate. A station is passed at its own share of the pass mark.
    stations_passed
        Least number of stations to be passed [-]; 0: no such rule.
    exams
        Exams simulated [-].
    dice
        The generator used.
    """
    found = outlook(plan, spreads=spreads, rule=rule)
    limit = rule.cut + rule.sems * found.sem
    counts = np.zeros(4)
    for _ in range(exams):
        true, score = simulate(plan, spreads=spreads, dice=dice)
        station = score.mean(axis=2)
        if rule.follows:
            station = station - station.mean(axis=0)
            true = true - true.mean()
        by_total = station.mean(axis=1) >= limit
        by_stations = (station >= rule.cut).sum(axis=1) >= stations_passed
        passed, able = by_total & by_stations, true >= rule.cut
        counts += [
            passed.mean(),
            (passed & ~able).mean(),
            (~passed & able).mean(),
            (by_total & ~passed).mean(),
        ]
    shares = (counts / exams).tolist()
    return Trial(
        pass_rate=shares[0],
        false_pass=shares[1],
        false_fail=shares[2],
        stations_rule_alone=shares[3],
        exams=exams,
    )
