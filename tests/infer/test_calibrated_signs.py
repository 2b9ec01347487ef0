"""Every sign fitted to a published accuracy reaches it, or stands in a short list with the reason."""

from __future__ import annotations

import numpy as np
import pytest

from fabella.evidence.facts import AccuracyUsed
from fabella.evidence.knowledge import load_knowledge
from fabella.infer import Setting, load_model
from fabella.infer.context import REFERENCES
from fabella.infer.simulate import simulate_knees
from fabella.stats import wilson
from tests.infer.forwards import Reached, accuracy, chance, having, show

UNREACHABLE = {
    (
        "valgus_stress_30",
        "sensitivity",
    ): "a first-degree sprain does not open, and these examiners called pain",
    ("joint_line_tenderness", "specificity"): "other causes of a tender line alone bring it below 0.76",
}
"""Signs whose published value lies outside what the model's causes leave room for, and why."""


def population(used: AccuracyUsed) -> Setting:
    """The reference population of a published accuracy, examined in the clinic it is used for."""
    return REFERENCES[used.reference]


def reached(used: AccuracyUsed) -> Reached:
    """What the fitted sign does in its reference population."""
    model = load_model()
    setting = population(used)
    own = Setting(
        setting=used.setting or None,
        acuity=setting.acuity,
        age_years=setting.age_years,
    )
    positive = chance(model, own, [used.sign])
    return accuracy(model, setting, positive, having(model, *used.targets))


def published(used: AccuracyUsed) -> dict[str, tuple[float, float]]:
    """The 95 % intervals: as printed, else Wilson's with half of the knees diseased."""
    half = (used.n or 60) / 2

    def binomial(value: float) -> tuple[float, float]:
        interval = wilson(successes=round(value * half), n=round(half))
        return interval.low, interval.high

    return {
        "sensitivity": used.sensitivity_bounds or binomial(used.sensitivity),
        "specificity": used.specificity_bounds or binomial(used.specificity),
    }


def test_signs_reach_their_published_accuracy() -> None:
    """In its reference population each fitted sign has the published sensitivity and specificity.

    Within the printed interval, or the binomial one where none was printed; the exceptions are those named
    and no others. Sources stand in the table of accuracies used.
    """
    rows, outside = [], set()
    for used in load_knowledge().accuracy:
        got = reached(used)
        for name, (low, high) in published(used).items():
            value, target = getattr(got, name), getattr(used, name)
            inside = low - 1e-9 <= value <= high + 1e-9
            rows.append(
                f"{used.sign:30s} {used.setting:18s} {name:12s} {target:.3f} ({low:.3f} to {high:.3f}) "
                f"reached {value:.3f} {'inside' if inside else 'OUTSIDE'}"
            )
            if not inside:
                outside.add((used.sign, name))
    table = show(rows)
    assert outside == set(UNREACHABLE), table


def test_what_was_fitted_is_what_is_reported() -> None:
    """The accuracy a sign says it reached is the one it has when all states are added up."""
    model = load_model()
    for used in load_knowledge().accuracy:
        got = reached(used)
        assert model.signs(used.setting)[used.sign].reached == pytest.approx(
            (got.sensitivity, got.specificity), abs=1e-9
        )


def test_simulated_examiners_find_what_the_sums_say() -> None:
    """In 20,000 simulated knees each sign calls as many as the exact sum says, within 4.5 s.e."""
    model = load_model()
    setting = REFERENCES["any_clinic"]
    rng = np.random.default_rng(31)
    signs = {
        "lachman": 3,
        "anterior_drawer": 3,
        "pivot_shift": 3,
        "lever_sign": 1,
        "valgus_stress_30": 3,
        "effusion": 3,
        "swelling_noticed": 1,
        "joint_line_tenderness_medial": 1,
        "mcmurray": 1,
    }
    drawn = simulate_knees(model, setting, signs, 20_000, rng)
    torn = having(model, "acl_tear")
    for sign, reports in drawn.reports.items():
        got = accuracy(model, setting, chance(model, setting, [sign]), torn)
        for held, expected in ((torn, got.sensitivity), (~torn, 1 - got.specificity)):
            called = reports[held[drawn.state]] > 0
            error = np.sqrt(expected * (1 - expected) / len(called))
            assert abs(called.mean() - expected) < 4.5 * error, sign
