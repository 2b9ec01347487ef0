"""Before the day: how reliable a planned exam would be, whom it would misjudge, the cheapest that will do.

A candidate's mean over stations is their true score plus the station-by-candidate variance, severity of the
examiners met and error, each shared out over stations and examiners. How hard the stations are counts as an
error only if the pass mark does not follow it: a pass mark set at these stations does.

Sources: Brennan 2001 Generalizability Theory, chapter 4 (from memory). Costs and times are the user's.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, sqrt

import numpy as np
import scipy

from fabella.assess.gstudy_design import Array
from fabella.errors import InputError, Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """SDs of what makes up one score [mark], none below 0.

    Parameters
    ----------
    candidate
        True scores.
    station
        Difficulty of stations.
    candidate_station
        What a station suits one candidate more than another.
    examiner
        Severity of examiners.
    residual
        All else in one examiner's score.
    circuit
        Circuits as wholes, beyond their examiners.
    """

    candidate: float
    station: float
    candidate_station: float
    examiner: float
    residual: float
    circuit: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Numbers of an exam: all at least 1; examiners are those at one station of one circuit."""

    candidates: int
    stations: int
    examiners: int = 1
    circuits: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PassRule:
    """When a candidate passes.

    Parameters
    ----------
    cut
        Pass mark, as a deviation from the mean of all candidates [mark]; usually below 0.
    sems
        Standard errors of measurement added to it [-].
    follows
        True if the pass mark follows the difficulty of the stations, as one set at them does.
    """

    cut: float
    sems: float = 0.0
    follows: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What a plan will give.

    Parameters
    ----------
    g, phi
        Coefficients for ranking within a circuit and for decisions at the pass mark [-].
    sem
        Standard error of a score where it is decided [mark].
    pass_rate
        Share of candidates that pass [-].
    false_pass, false_fail
        Share of all candidates that pass though their true score is below the pass mark, and the reverse [-].
    """

    g: float
    phi: float
    sem: float
    pass_rate: float
    false_pass: float
    false_fail: float


def outlook(plan: Plan, *, spreads: Spreads, rule: PassRule) -> Outlook:
    """Return what a plan will give, by formula, true scores and errors being normal.

    Raises
    ------
    InputError
        When a number is below 1 or an SD is below 0, or candidates do not differ.
    """
    _check([plan], spreads)
    true = spreads.candidate
    ranking = (spreads.candidate_station**2 + spreads.residual**2 / plan.examiners) / plan.stations
    deciding = ranking + spreads.examiner**2 / (plan.stations * plan.examiners) + spreads.circuit**2
    if not rule.follows:
        deciding += spreads.station**2 / plan.stations
    sem = sqrt(deciding)
    limit = rule.cut + rule.sems * sem
    # Integrate over the true score on either side of the pass mark.
    nodes, weights = np.polynomial.legendre.leggauss(80)

    def share(low: float, high: float, *, passing: bool) -> float:
        t = low + (high - low) * (nodes + 1) / 2
        chance = scipy.stats.norm.sf(limit, t, sem) if sem else (t >= limit).astype(np.float64)
        chance = chance if passing else 1 - chance
        return float((weights * chance * scipy.stats.norm.pdf(t, 0, true)).sum() * (high - low) / 2)

    far = 9 * true
    false_pass = share(-far, rule.cut, passing=True) if rule.cut > -far else 0.0
    false_fail = share(rule.cut, far, passing=False) if rule.cut < far else 0.0
    return Outlook(
        g=true**2 / (true**2 + ranking),
        phi=true**2 / (true**2 + deciding),
        sem=sem,
        pass_rate=float(scipy.stats.norm.sf(limit, 0, sqrt(true**2 + deciding))),
        false_pass=false_pass,
        false_fail=false_fail,
    )


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
    _check([plan], spreads)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What an exam costs, in any one currency, and how long its parts take.

    Parameters
    ----------
    station
        One station of one circuit: room, volunteer, equipment.
    examiner
        One examiner for the day.
    hour
        One circuit for one hour.
    station_min
        One candidate at one station with the change to the next [min].
    longest_h
        Longest day [h].
    """

    station: float
    examiner: float
    hour: float
    station_min: float
    longest_h: float = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """A plan with what it gives, costs and takes [h]."""

    plan: Plan
    outlook: Outlook
    cost: float
    hours: float


def cheapest(
    plans: Iterable[Plan], *, spreads: Spreads, rule: PassRule, costs: Costs, target: float
) -> tuple[Priced, ...]:
    """Return the plans that reach a target within the day, the cheapest first.

    Parameters
    ----------
    plans
        Plans to choose from, see `plans_between`.
    spreads, rule, costs
        Of the exam.
    target
        Wanted Phi at the pass mark [-], between 0 and 1.

    Returns
    -------
    tuple
        Empty when none does. Of equal cost, the more dependable comes first.
    """
    plans = list(plans)
    _check(plans, spreads)
    if not 0 < target < 1:
        remedy = "use a share between 0 and 1, such as 0.8"
        raise InputError([Problem(place="target", value=str(target), says="is out of range", remedy=remedy)])
    priced = (_priced(plan, spreads, rule, costs) for plan in plans)
    good = [p for p in priced if p.outlook.phi >= target and p.hours <= costs.longest_h]
    return tuple(sorted(good, key=lambda p: (p.cost, -p.outlook.phi)))


def plans_between(
    *, candidates: int, stations: tuple[int, int], examiners: tuple[int, int], circuits: tuple[int, int]
) -> tuple[Plan, ...]:
    """Return every plan with numbers from the first to the second of each pair."""
    return tuple(
        Plan(candidates=candidates, stations=s, examiners=e, circuits=c)
        for s in range(stations[0], stations[1] + 1)
        for e in range(examiners[0], examiners[1] + 1)
        for c in range(circuits[0], circuits[1] + 1)
    )


def _priced(plan: Plan, spreads: Spreads, rule: PassRule, costs: Costs) -> Priced:
    # As many candidates as stations go round at a time; a round takes one slot for each station.
    rounds = ceil(plan.candidates / (plan.circuits * plan.stations))
    hours = rounds * plan.stations * costs.station_min / 60
    places = plan.circuits * plan.stations
    cost = places * (costs.station + plan.examiners * costs.examiner) + plan.circuits * hours * costs.hour
    return Priced(plan=plan, outlook=outlook(plan, spreads=spreads, rule=rule), cost=cost, hours=hours)


def _check(plans: list[Plan], spreads: Spreads) -> None:
    problems = [
        Problem(place=name, value=str(getattr(plan, name)), says="is too few", remedy="use 1 or more")
        for plan in plans
        for name in ("candidates", "stations", "examiners", "circuits")
        if getattr(plan, name) < 1
    ]
    for name in Spreads.__slots__:
        value = getattr(spreads, name)
        if not (np.isfinite(value) and value >= 0) or (name == "candidate" and value == 0):
            remedy = "candidates must differ" if name == "candidate" else "use 0 or more"
            problems.append(
                Problem(place=f"SD of {name}", value=str(value), says="is too small", remedy=remedy)
            )
    if problems:
        raise InputError(problems)
