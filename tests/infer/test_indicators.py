"""From manifestations to signs: the chance of being called, of each grade, and what guarding takes away."""

from __future__ import annotations

from itertools import product
from math import prod

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabella.evidence.facts import Indicator
from fabella.evidence.source import Provenance
from fabella.infer import Setting, load_model
from fabella.infer.calibrate import Exposure, achieved, solve
from fabella.infer.context import REFERENCES
from fabella.infer.indicators import Response, outcome_table
from tests.infer.forwards import accuracy, chance, having, show

GROUP = ("one", "other")
LEVELS = (3, 2)

shares = st.floats(0, 1)
indicators = st.builds(
    Indicator,
    sign=st.just("made_up"),
    manifestations=st.sampled_from(
        [(("one", 1.0),), (("other", 0.4),), (("one", 1.0), ("other", 0.6)), (("one", 0.2), ("other", 1.0))]
    ),
    from_level=st.integers(1, 2),
    partial=shares,
    hit=shares,
    false_alarm=shares,
    guard_loss=shares,
    strength=st.just(20.0),
    provenance=st.just(Provenance.JUDGEMENT),
    source=st.just("made up"),
)


def table(
    indicator: Indicator, grades: int, *, guarded: bool
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """P(Y = 0..grades | joint level) with the indicator's own hit and false alarm."""
    response = Response(np.array(indicator.hit), np.array(indicator.false_alarm))
    return outcome_table(indicator, GROUP, LEVELS, grades, response, guarded=guarded)


@given(indicators, st.integers(1, 3), st.booleans())
def test_a_sign_is_called_by_any_of_what_shows(indicator: Indicator, grades: int, guarded: bool) -> None:
    """A sign stays normal only when it raises no false alarm and either nothing shows or the hand misses it.

    Each manifestation shows with its weight at or above the level from which it shows, with a part of it
    below; a guarding muscle hides a share of what is there.
    """
    found = table(indicator, grades, guarded=guarded)
    assert found.sum(axis=-1) == pytest.approx(1)
    assert found.min() >= 0
    for row, levels in zip(found, product(range(4), range(3)), strict=True):
        at = dict(zip(GROUP, levels, strict=True))
        hidden = prod(
            1 - weight * (1 if at[name] >= indicator.from_level else indicator.partial * (at[name] > 0))
            for name, weight in indicator.manifestations
        )
        seen = indicator.hit * (1 - hidden) * (1 - indicator.guard_loss * guarded)
        assert row[0] == pytest.approx((1 - indicator.false_alarm) * (1 - seen))


@given(indicators, st.integers(1, 3))
def test_guarding_only_hides(indicator: Indicator, grades: int) -> None:
    """A guarding knee is never called abnormal more often than the same knee relaxed."""
    relaxed, guarded = (table(indicator, grades, guarded=each)[:, 0] for each in (False, True))
    assert (guarded >= relaxed - 1e-12).all()


@given(indicators)
def test_a_worse_finding_is_graded_higher(indicator: Indicator) -> None:
    """Among knees called abnormal, more of what is there never means a lower grade on average."""
    found = table(indicator, 3, guarded=False).reshape(4, 3, 4)
    own = [GROUP.index(name) for name, _ in indicator.manifestations]
    called = found[..., 1:] / np.maximum(found[..., 1:].sum(axis=-1, keepdims=True), 1e-12)
    mean = (called * [1, 2, 3]).sum(axis=-1)
    possible = found[..., 1:].sum(axis=-1) > 1e-9
    for axis in own:
        rise = np.diff(mean, axis=axis)
        both = np.diff(possible.astype(int), axis=axis) == 0
        assert (rise[both] > -1e-9).all()


@given(indicators, st.integers(2, 5))
def test_a_false_alarm_is_mostly_slight(indicator: Indicator, grades: int) -> None:
    """Of a knee in which nothing shows, each higher grade is reported a tenth as often as the last."""
    nothing = table(indicator, grades, guarded=False)[0]
    assert (nothing[2:] <= nothing[1:-1] / 10 + 1e-12).all()


@given(st.floats(0.05, 0.98), st.floats(0.05, 0.98), st.floats(0.5, 1.0), st.floats(0.0, 0.3))
def test_fitting_reaches_the_accuracy_or_the_bounds(
    sensitivity: float, specificity: float, present: float, absent: float
) -> None:
    """Hit and false alarm reproduce sensitivity and specificity, or stand at a bound, and then miss it.

    Where the other causes of the sign leave room, exactly; never with a chance outside 0 to 1.
    """
    exposure = Exposure(present, absent)
    response = solve(np.array(sensitivity), np.array(specificity), exposure)
    hit, false_alarm = float(response.hit), float(response.false_alarm)
    assert 0 < hit < 1
    assert 0 < false_alarm < 1
    if 0.021 < hit < 0.994 and 0.0021 < false_alarm < 0.899:
        assert [float(each) for each in achieved(response, exposure)] == pytest.approx(
            [sensitivity, specificity]
        )


# ---------------------------------------------------------------- awake against anaesthetised

VAN_ECK_2013 = {"lachman": (0.81, 0.91), "anterior_drawer": (0.38, 0.63), "pivot_shift": (0.28, 0.73)}
"""Sensitivity for complete acute tears awake and under anaesthesia: van Eck 2013 KSSTA 21:1895-1903."""


def awake_and_relaxed(sign: str, setting: Setting) -> tuple[float, float]:
    """Sensitivity for a complete ACL tear as knees guard, and with no knee guarding."""
    model = load_model()
    target = having(model, "acl_tear:complete")
    awake = chance(model, setting, [sign])
    relaxed = chance(model, setting, [sign], guarding=False)
    return (
        accuracy(model, setting, awake, target).sensitivity,
        accuracy(model, setting, relaxed, target).sensitivity,
    )


@pytest.mark.parametrize("sign", VAN_ECK_2013)
def test_anaesthesia_helps_each_test_as_much_as_published(sign: str) -> None:
    """Awake against relaxed sensitivity stand in the published ratio, within a third of it.

    van Eck 2013: Lachman 0.89, anterior drawer 0.60, pivot shift 0.38. The tolerance is ours: no interval of
    the ratios was printed.
    """
    awake, relaxed = awake_and_relaxed(sign, REFERENCES["acute_clinic"])
    published_awake, published_relaxed = VAN_ECK_2013[sign]
    assert awake < relaxed
    assert awake / relaxed == pytest.approx(published_awake / published_relaxed, rel=0.33)


def test_guarding_costs_the_pivot_shift_most_and_the_lachman_least() -> None:
    """Lachman, drawer and pivot shift lose ever more to guarding.

    van Eck 2013; Pramod 2020 Int J Sci Res 9(5) in the same knees awake and anaesthetised.
    """
    kept = []
    for sign in VAN_ECK_2013:
        awake, relaxed = awake_and_relaxed(sign, REFERENCES["acute_clinic"])
        kept.append(awake / relaxed)
    assert kept == sorted(kept, reverse=True)


@pytest.mark.parametrize("sign", VAN_ECK_2013)
def test_chronic_knees_guard_less(sign: str) -> None:
    """Every test finds more of the chronic tears than of the acute ones.

    Benjaminse 2006 J Orthop Sports Phys Ther 36:267-288: anterior drawer 0.92 chronic against 0.49 acute,
    pivot shift 0.40 against 0.32 (acute values recalled, original not re-read).
    """
    acute, _ = awake_and_relaxed(sign, REFERENCES["acute_clinic"])
    chronic, _ = awake_and_relaxed(sign, REFERENCES["chronic_clinic"])
    assert chronic > acute


BENJAMINSE_2006 = {
    ("lachman", "acute_clinic"): (0.91, 0.96),
    ("lachman", "chronic_clinic"): (0.91, 0.97),
    ("anterior_drawer", "acute_clinic"): (0.43, 0.55),
    ("anterior_drawer", "chronic_clinic"): (0.88, 0.95),
    ("pivot_shift", "acute_clinic"): (0.25, 0.38),
    ("pivot_shift", "chronic_clinic"): (0.29, 0.52),
}
"""95 % intervals of sensitivity without anaesthesia: Benjaminse 2006; all but the chronic drawer recalled."""

RIVAL = {
    ("lachman", "acute_clinic"): "fitted to 0.83 pooled over all knees, which the older pool exceeds",
    ("lachman", "chronic_clinic"): "fitted to 0.83 pooled over all knees, which the older pool exceeds",
    ("anterior_drawer", "acute_clinic"): "fitted to 0.69 pooled over acute and chronic knees",
    ("anterior_drawer", "chronic_clinic"): "fitted to 0.69 pooled over acute and chronic knees",
    (
        "pivot_shift",
        "chronic_clinic",
    ): "0.40 cannot stand beside 0.55 over all (Sokal 2022) and 0.32 in acute",
}


def test_acute_and_chronic_sensitivity_against_the_older_pool() -> None:
    """The ACL tests' sensitivities, acute and chronic, lie in the older pool's intervals but for four."""
    model = load_model()
    target = having(model, "acl_tear")
    outside, rows = set(), []
    for (sign, name), (low, high) in BENJAMINSE_2006.items():
        setting = REFERENCES[name]
        reached = accuracy(model, setting, chance(model, setting, [sign]), target).sensitivity
        rows.append(f"{sign:16s} {name:15s} {low:.2f} to {high:.2f}  reached {reached:.3f}")
        if not low <= reached <= high:
            outside.add((sign, name))
    assert outside == set(RIVAL), show(rows)
