"""How far the judged links between lesions and what they show can be trusted: they were judged twice.

`second_judgement.csv` is a second judgement of the links that rest on judgement, made without sight of the
first: (manifestation, acuity, cause) and the chance that the manifestation shows at all. Both are common
practice as one sees it; their disagreement is the only measure of it that does not need patients.
"""

import csv
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
from scipy.special import logit

from fabella.evidence import Provenance
from fabella.infer import load_model

FILE = Path(__file__).with_name("second_judgement.csv")


def _written(part: tuple[str, str]) -> str:
    return ":".join(filter(None, part))


@cache
def judged_twice() -> tuple[tuple[str, float, float, float], ...]:
    """Manifestation, first and second judgement, and strength of the first, of each link that both judged."""
    with FILE.open(encoding="utf-8", newline="") as file:
        second = {
            (r["manifestation"], r["acuity"], r["cause"]): float(r["at_least_1"])
            for r in csv.DictReader(file)
        }
    return tuple(
        (cause.manifestation, cause.at_least[0], second[key], cause.strength)
        for cause in load_model().knowledge.causes
        if cause.provenance is Provenance.JUDGEMENT
        and (key := (cause.manifestation, cause.acuity, "+".join(map(_written, cause.parts)))) in second
    )


def pairs() -> np.ndarray:
    """First and second judgement of each link that both judged, and the strength of the first, (links, 3)."""
    return np.array([numbers for _, *numbers in judged_twice()])


def test_the_two_judgements_do_not_lean(tell: Callable[[str], None]) -> None:
    """Neither judgement sees signs oftener than the other, by more than chance or 0.1 log odds.

    Whoever takes a sign to be rare takes it so for all lesions: the links of one manifestation are one draw
    of the standard error. By it a mean of 0.03 log odds is nothing; a twentieth of the spread, asked before,
    was 1.8 standard errors of links that had nothing to do with each other, and less than one of these.
    """
    first, second, _ = pairs().T
    difference = logit(first) - logit(second)
    assert len(difference) > 1200
    mean = difference.mean()
    _, group = np.unique([name for name, *_ in judged_twice()], return_inverse=True)
    error = np.sqrt((np.bincount(group, difference - mean) ** 2).sum()) / len(difference)
    tell(f"judged links: the first leans by {mean:+.3f} log odds (standard error {error:.3f})")
    assert abs(mean) < min(2 * error, 0.1)


def test_draws_are_as_wide_as_the_two_judgements_disagree(tell: Callable[[str], None]) -> None:
    """Two draws of one link lie as far apart as two judgements of it or further, but not twice as far."""
    first, second, strength = pairs().T
    middling = (first > 0.1) & (
        first < 0.9
    )  # beyond, a draw can come so near to 0 or 1 that log odds run off
    first, second, strength = first[middling], second[middling], strength[middling]
    rng = np.random.default_rng(1)
    one, other = rng.beta(first * strength, (1 - first) * strength, size=(2, len(first)))
    drawn, judged = np.std(logit(one) - logit(other)), np.std(logit(first) - logit(second))
    tell(f"judged links: two judgements {judged:.2f} apart in log odds, two draws {drawn:.2f}")
    assert 1 <= drawn / judged < 2
