"""Marginal maximum likelihood of a many-facet Rasch model: abilities are drawn from a normal distribution.

ability = mean + spread z with z standard normal; z is integrated on equally spaced nodes, at least 41 and so
close that the narrowest posterior is as wide as their distance (the trapezoidal rule then errs by 1 in 10⁸).
A Newton search uses the exact gradient and the exact observed information (Louis 1982 J R Stat Soc B 44:226,
from memory): what complete data would tell less what is missing because z is not seen.

Estimates of a logistic model lie too far apart, the more so the fewer marks there are to a parameter, and in
close proportion to themselves (Cordeiro and McCullagh 1991 J R Stat Soc B 53:629, from memory). The penalty
of half the log determinant of the information takes the first order of that away (Firth 1993 Biometrika
80:27, from memory). `correction` lets it act along this one direction: effects, thresholds and mean are drawn
together by one factor, the spread of abilities following the likelihood. That costs two more looks at the
likelihood, however many parameters there are.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from fabella.assess.facets_integral import SLACK, WINDOW, Marginal, State
from fabella.assess.facets_ratings import Ratings
from fabella.assess.gstudy_design import Array
from fabella.errors import InputError, Problems

_REACH = 6.0  # SDs on either side
_FEWEST_NODES = 41
_CLOSER = 0.9  # of the narrowest posterior SD
_CLOSE = 1e-3  # Newton: the next step would be of the order of its square
_MOST_STEPS = 60
_STRETCH = 0.01  # of the estimates, over which the slope of the penalty is taken
_FARTHEST = 0.5  # of the estimates that may be corrected: beyond, there were too few marks for anything
_ROUGH_STEPS = 6  # on few nodes, to get near


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MarginalFit:
    """What marginal likelihood gives.

    Parameters
    ----------
    mean, spread
        Of the abilities of the population [logit].
    effects, effects_se
        Of all facets, one after another [logit].
    thresholds
        Of each scale [logit], shape (scales, thresholds).
    expected, expected_sd, expected_se
        Posterior mean and SD of the ability of each candidate [logit]; the last also holds the errors of
        facets, thresholds, mean and spread (Kass and Steffey 1989 J Am Stat Assoc 84:717, from memory).
    deviance
        -2 log marginal likelihood at its maximum, before any correction [-].
    """

    mean: float
    spread: float
    effects: Array
    effects_se: Array
    thresholds: Array
    expected: Array
    expected_sd: Array
    expected_se: Array
    deviance: float


def marginal_fit(data: Ratings, columns: Array, *, correction: bool) -> MarginalFit:
    """Return the marginal maximum-likelihood fit.

    Parameters
    ----------
    data
        The observations.
    columns
        Contrasts that effects and thresholds may take, from `contrasts`.
    correction
        Whether to draw estimates together by what they lie too far apart.

    Raises
    ------
    InputError
        When a level of a facet has nothing or everything, so that it has no finite estimate, or the search
        does not end: too few marks, or abilities that do not differ.
    """
    _without_estimate(data).raise_any()
    search = Marginal(data, columns)
    place = np.zeros(columns.shape[1] + 2)
    place[-1] = 1.0
    place, state = _climb(search, place, np.linspace(-_REACH, _REACH, _FEWEST_NODES), last=None)
    nodes = _fine_nodes(state)
    search.sort(state.centre)
    place, state = _climb(search, place, nodes, last=state)
    deviance = -2 * state.log_likelihood
    if correction:
        place = _drawn_together(search, place, nodes, state)
        state = search.at(place, nodes, state)
    covariance = np.linalg.inv(state.complete - state.missing)
    inner = covariance[:-2, :-2]
    dense, errors = columns @ place[:-2], np.sqrt((columns @ inner * columns).sum(axis=1))
    start, width = data.offsets[-1], data.marks.shape[1] - 1
    mean, spread = float(place[-2]), float(place[-1])
    # How the posterior mean moves with the parameters: directly, and by the covariance of z with the score.
    moves = spread * (state.tilt @ scipy.linalg.block_diag(columns, np.eye(2)))
    moves[:, -2] += 1
    moves[:, -1] += state.centre
    known = (spread * state.exact) ** 2
    total = known + (moves @ covariance * moves).sum(axis=1)
    return MarginalFit(
        mean=mean,
        spread=spread,
        effects=dense[:start],
        effects_se=errors[:start],
        thresholds=dense[start:].reshape(-1, width),
        expected=mean + spread * state.centre,
        expected_sd=np.sqrt(known),
        expected_se=np.sqrt(total),
        deviance=deviance,
    )


def _without_estimate(data: Ratings) -> Problems:
    """Return the levels of facets that have nothing or everything: the likelihood has no maximum then."""
    problems = Problems()
    for name, code, n in zip(data.facets, data.codes, data.levels, strict=True):
        got = np.bincount(code, weights=data.category, minlength=n)
        most = np.bincount(code, weights=data.tops[data.scale], minlength=n)
        for level in np.flatnonzero((got == 0) | (got == most)):
            says, remedy = "has nothing or everything and so no finite estimate", "leave its marks out"
            problems.add(name, str(level), says, remedy)
    return problems


def _climb(search: Marginal, place: Array, nodes: Array, *, last: State | None) -> tuple[Array, State]:
    """Return the best place and the state there; only near it when it begins from nothing."""
    state = search.at(place, nodes, last)
    for _ in range(_MOST_STEPS if last else _ROUGH_STEPS):
        step = _step(state)
        pace = min(1.0, 1.0 / max(np.abs(step).max(), 1e-12), 0.5 * place[-1] / max(abs(step[-1]), 1e-12))
        best = place
        for _ in range(30):
            best = place + pace * step
            new = search.at(best, nodes, state)
            if new.log_likelihood >= state.log_likelihood - 1e-7 * abs(state.log_likelihood):
                break
            pace /= 2
        place, state = best, new
        if pace == 1.0 and np.abs(step).max() < _CLOSE:
            return place, state
    if last is None:
        return place, state
    says, remedy = "did not converge", "abilities may not differ; look at the data"
    raise InputError.of(place="marginal likelihood", says=says, remedy=remedy)


def _drawn_together(search: Marginal, place: Array, nodes: Array, state: State) -> Array:
    """Return the place less the first order of its bias.

    A Newton step of the penalised likelihood in two directions: everything but the spread in proportion, and
    the spread, which has no penalty of its own.
    """
    directions = np.zeros((len(place), 2))
    directions[:-1, 0], directions[-1, 1] = place[:-1], 1.0

    def log_information(there: State) -> float:
        return float(np.linalg.slogdet((there.complete - there.missing)[:-1, :-1])[1])

    drawn = search.at(place - _STRETCH * directions[:, 0], nodes, state)
    pull = (log_information(state) - log_information(drawn)) / (2 * _STRETCH)
    observed = directions.T @ (state.complete - state.missing) @ directions
    step = np.linalg.lstsq(observed, np.array([pull, 0.0]), rcond=None)[0]
    step *= min(1.0, _FARTHEST / max(abs(step[0]), abs(step[1]) / place[-1], 1e-12))
    corrected: Array = place + directions @ step
    return corrected


def _fine_nodes(state: State) -> Array:
    """Return nodes as close as the narrowest posterior is wide, as far as any posterior reaches."""
    reach = WINDOW * state.width + 3 * SLACK
    low = max(float((state.centre - reach).min()), -_REACH)
    high = min(float((state.centre + reach).max()), _REACH)
    spacing = min(2 * _REACH / (_FEWEST_NODES - 1), _CLOSER * float(state.width.min()))
    return np.linspace(low, high, max(int(np.ceil((high - low) / spacing)) + 1, _FEWEST_NODES))


def _step(state: State) -> Array:
    """Return Newton's step, or where the likelihood is not yet hollow a step as if nothing were missing."""
    observed = state.complete - state.missing
    if np.linalg.eigvalsh(observed)[0] > 0:
        return np.asarray(np.linalg.solve(observed, state.slope), dtype=np.float64)
    return np.asarray(np.linalg.solve(state.complete, state.slope), dtype=np.float64)
