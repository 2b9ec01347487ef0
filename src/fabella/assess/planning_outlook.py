"""How reliable a planned exam would be, and whom it would misjudge, by formula.

A candidate's mean over stations is their true score plus the station-by-candidate variance, severity of the
examiners met and error, each shared out over stations and examiners. How hard the stations are counts as an
error only if the pass mark does not follow it: a pass mark set at these stations does.

Source: Brennan 2001 Generalizability Theory, chapter 4 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import pi, sqrt

import numpy as np
import scipy

from fabella.assess.gstudy_design import Array
from fabella.errors import Problems


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


@cache
def _nodes() -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(80)
    return nodes, weights


def outlook(plan: Plan, *, spreads: Spreads, rule: PassRule) -> Outlook:
    """Return what a plan will give, by formula, true scores and errors being normal.

    Raises
    ------
    InputError
        When a number is below 1 or an SD is below 0, or candidates do not differ.
    """
    check_plans([plan], spreads)
    true = spreads.candidate
    ranking = (spreads.candidate_station**2 + spreads.residual**2 / plan.examiners) / plan.stations
    deciding = ranking + spreads.examiner**2 / (plan.stations * plan.examiners) + spreads.circuit**2
    if not rule.follows:
        deciding += spreads.station**2 / plan.stations
    sem = sqrt(deciding)
    limit = rule.cut + rule.sems * sem
    # Integrate over the true score on either side of the pass mark.
    nodes, weights = _nodes()

    def share(low: float, high: float, *, passing: bool) -> float:
        t = low + (high - low) * (nodes + 1) / 2
        chance = scipy.special.ndtr((t - limit) / sem) if sem else (t >= limit).astype(np.float64)
        chance = chance if passing else 1 - chance
        density = np.exp(-((t / true) ** 2) / 2) / (true * sqrt(2 * pi))
        return float((weights * chance * density).sum() * (high - low) / 2)

    far = 9 * true
    false_pass = share(-far, rule.cut, passing=True) if rule.cut > -far else 0.0
    false_fail = share(rule.cut, far, passing=False) if rule.cut < far else 0.0
    return Outlook(
        g=true**2 / (true**2 + ranking),
        phi=true**2 / (true**2 + deciding),
        sem=sem,
        pass_rate=float(scipy.special.ndtr(-limit / sqrt(true**2 + deciding))),
        false_pass=false_pass,
        false_fail=false_fail,
    )


def check_plans(plans: Sequence[Plan], spreads: Spreads) -> None:
    """Raise one `InputError` that lists numbers below 1 and SDs that cannot be."""
    problems = Problems()
    for plan in plans:
        for name in ("candidates", "stations", "examiners", "circuits"):
            if getattr(plan, name) < 1:
                problems.add(name, str(getattr(plan, name)), "is too few", "use 1 or more")
    for name in Spreads.__slots__:
        value = getattr(spreads, name)
        if not (np.isfinite(value) and value >= 0) or (name == "candidate" and value == 0):
            remedy = "candidates must differ" if name == "candidate" else "use 0 or more"
            problems.add(f"SD of {name}", str(value), "is too small", remedy)
    problems.raise_any()
