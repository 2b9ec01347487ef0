"""Simulate, then conclude: of the knees given a probability that share has the lesion."""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray

from fabella.infer import ANY_LEVEL, KneeEvidence, Setting, load_model, posterior
from fabella.infer.cohort import BLOCK, Cohort, CohortPosterior
from fabella.infer.evidence_of import plain
from fabella.infer.simulate import UNTESTABLE, simulate_knees
from tests.infer.crowd import KNEES, WHOLE, Crowd, crowd, grades
from tests.infer.forwards import show

TWISTED = Setting(setting="sports_clinic", acuity="acute", age_years=24, sex="male", mechanism="twist")
WORN = Setting(setting="primary_care", acuity="chronic", age_years=63, sex="female")
CHILD = Setting(setting="emergency", acuity="acute", age_years=13)
COMPLAINTS = (
    "night_pain",
    "pain_anterior",
    "pain_medial",
    "pain_lateral",
    "pain_on_stairs",
    "morning_stiffness_min",
    "giving_way",
    "locking",
    "effusion",
    "warmth",
    "crepitus",
    "bony_enlargement",
    "passive_extension",
    "passive_flexion",
    "joint_line_tenderness",
    "tenderness_patellar_tendon",
    "tenderness_pes_anserinus",
    "hip_internal_rotation",
    "unable_to_weight_bear",
    "patellar_apprehension",
)
CONTEXTS = {"twisted": (TWISTED, WHOLE), "worn": (WORN, COMPLAINTS), "child": (CHILD, COMPLAINTS)}
EDGES = (0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95)
FARTHEST = 4.5
"""Standard errors that a bin may be off; about 300 bins are compared."""
LEAST_VARIANCE = 5.0
UNRELIABLE = 0.001
"""Greatest reliability part of the Brier score (Murphy 1973, from memory) called calibrated here."""


@pytest.fixture(params=CONTEXTS)
def seen(request: pytest.FixtureRequest) -> Crowd:
    """Five thousand simulated and concluded knees of one clinic."""
    return crowd(*CONTEXTS[request.param])


def bins(seen: Crowd) -> Iterator[tuple[str, NDArray[np.float64], NDArray[np.bool_]]]:
    """Every lesion and bin of probability: what was concluded and what is there."""
    for lesion in load_model().lesions:
        concluded, present = seen.probability(lesion), seen.has(lesion)
        which = np.digitize(concluded, EDGES)
        for each in range(len(EDGES) + 1):
            inside = which == each
            if inside.any():
                yield lesion, concluded[inside], present[inside]


def test_of_knees_given_a_probability_that_share_has_the_lesion(seen: Crowd) -> None:
    """In every bin of every lesion the share that has it is the mean probability, within 4.5 standard errors.

    And over all bins the squared deviations are those of chance (chi-square, within 4 standard deviations).
    """
    rows, deviations = [], []
    for lesion, concluded, present in bins(seen):
        variance = (concluded * (1 - concluded)).sum()
        if variance > LEAST_VARIANCE:
            z = (present - concluded).sum() / np.sqrt(variance)
            deviations.append(z)
            rows.append(
                f"{lesion:28s} {concluded.mean():.3f} {present.mean():.3f} n {len(present):5d} z {z:+.2f}"
            )
    table = show(rows)
    assert len(deviations) > 50
    assert np.abs(deviations).max() < FARTHEST, table
    count = len(deviations)
    assert abs(np.square(deviations).sum() - count) < 4 * np.sqrt(2 * count), table


def test_the_brier_score_has_no_unreliable_part(seen: Crowd) -> None:
    """For every lesion the reliability part of the Brier score is below 0.001."""
    parts: dict[str, float] = {}
    for lesion, concluded, present in bins(seen):
        share = len(present) / KNEES
        parts[lesion] = parts.get(lesion, 0.0) + share * float((present.mean() - concluded.mean()) ** 2)
    assert max(parts.values()) < UNRELIABLE, parts


def test_knees_that_show_more_are_told_apart_better() -> None:
    """The whole examination tells torn from whole ACLs far better than chance: the concluded means differ."""
    seen = crowd(*CONTEXTS["twisted"])
    torn = seen.has("acl_tear")
    concluded = seen.probability("acl_tear")
    assert concluded[torn].mean() > concluded[~torn].mean() + 0.5


def test_a_cohort_is_concluded_like_each_of_its_knees() -> None:
    """The matrix products give every lesion the single knee's posterior to 1e-5, gaps in the record too."""
    model = load_model()
    examined = {sign: grades(sign) for sign in WHOLE}
    rng = np.random.default_rng(17)
    drawn = simulate_knees(model, TWISTED, examined, 40, rng)
    reports = {
        sign: np.where(rng.random(40) < 0.4, UNTESTABLE, levels) for sign, levels in drawn.reports.items()
    }
    computed = np.concatenate(
        [block for _, block in CohortPosterior(model, Cohort(TWISTED, reports, examined)).blocks()]
    )
    for knee in range(40):
        found = tuple(
            plain(sign, int(reports[sign][knee]), count)
            for sign, count in examined.items()
            if reports[sign][knee] != UNTESTABLE
        )
        single = posterior(model, KneeEvidence(setting=TWISTED, observations=found))
        assert np.abs(single.states @ model.membership - computed[knee]).max() < 1e-5


def test_a_cohort_seen_alone_or_in_blocks_is_the_same() -> None:
    """Blocks come in order, cover every knee once, and one worker or two give the same numbers."""
    model = load_model()
    signs = {"lachman": 3, "effusion": 3, "pop_heard": 1}
    drawn = simulate_knees(model, TWISTED, signs, BLOCK * 2 + 7, np.random.default_rng(2))
    compiled = CohortPosterior(model, Cohort(TWISTED, drawn.reports, signs))
    alone, together = (list(compiled.blocks(workers=workers)) for workers in (1, 2))
    assert [rows for rows, _ in alone] == [rows for rows, _ in together]
    assert [rows.start for rows, _ in alone] == [0, BLOCK, 2 * BLOCK]
    assert alone[-1][0].stop == len(compiled_count(alone)) == BLOCK * 2 + 7
    for (_, one), (_, other) in zip(alone, together, strict=True):
        assert np.array_equal(one, other)


def compiled_count(blocks: list[tuple[slice, NDArray[np.float32]]]) -> NDArray[np.float32]:
    """All rows of all blocks."""
    return np.concatenate([block for _, block in blocks])


def peak_bytes(knees: int, signs: dict[str, int], *, compiling: bool) -> int:
    """The most memory in use while a cohort is compiled, or while its blocks are computed [bytes]."""
    model = load_model()
    drawn = simulate_knees(model, TWISTED, signs, knees, np.random.default_rng(4))
    cohort = Cohort(TWISTED, drawn.reports, signs)
    if compiling:
        tracemalloc.start()
        CohortPosterior(model, cohort)
    else:
        compiled = CohortPosterior(model, cohort)
        tracemalloc.start()
        for _ in compiled.blocks(workers=1):  # two side by side need not peak together
            pass
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def test_memory_of_the_blocks_does_not_grow_with_the_cohort() -> None:
    """Ten times the knees need no more memory while their blocks are computed (within 5 %)."""
    signs = {"lachman": 3, "effusion": 3}
    small, large = (peak_bytes(knees, signs, compiling=False) for knees in (4 * BLOCK, 40 * BLOCK))
    assert large < 1.05 * small


def test_memory_of_the_compiled_cohort_does_not_grow_with_it() -> None:
    """Four times the knees with a full meniscal examination need less than 1.5 times the memory."""
    group = load_model().group_of("mcmurray")
    signs = {
        sign: grades(sign) for sign in load_model().knowledge.signs if load_model().group_of(sign) == group
    }
    small, large = (peak_bytes(knees, signs, compiling=True) for knees in (500, 2000))
    assert large < 1.5 * small


def test_every_quantity_is_a_probability() -> None:
    """Levels of a lesion add up to it, nothing lies outside 0 to 1."""
    model = load_model()
    seen = crowd(*CONTEXTS["twisted"])
    assert seen.concluded.min() >= 0
    assert seen.concluded.max() <= 1 + 1e-5
    for lesion in ("acl_tear", "mcl_tear"):
        levels = [
            i for i, (name, level) in enumerate(model.quantities) if name == lesion and level != ANY_LEVEL
        ]
        assert np.allclose(seen.concluded[:, levels].sum(axis=1), seen.probability(lesion), atol=1e-5)
