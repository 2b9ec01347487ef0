"""The posterior of one knee: what may not change it, what a finding weighs, how sure a conclusion is."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from fabella.anatomy import Side
from fabella.evidence import load_edition
from fabella.evidence.source import Provenance
from fabella.infer import (
    ANY_LEVEL,
    KneeConclusion,
    KneeEvidence,
    Model,
    Setting,
    conclude_knee,
    load_model,
    posterior,
)
from fabella.infer.evidence_of import Observation, plain
from fabella.infer.explain import finding_weights
from fabella.infer.posterior import drawn_posteriors
from fabella.infer.reasons import WORTH_SAYING_BITS
from fabella.infer.shifts import RATE_SD
from fabella.infer.simulate import simulate_knees
from tests.infer.crowd import WHOLE, grades
from tests.infer.small import small_knowledge, small_lesions

TWISTED = Setting(setting="sports_clinic", acuity="acute", age_years=24, sex="male", mechanism="twist")
UNKNOWN = Setting()
Floats = NDArray[np.float64]

FOUND = (
    plain("lachman", 2, 3),
    plain("pivot_shift", 0, 3),
    plain("effusion", 2, 3),
    plain("pop_heard", 1),
    plain("joint_line_tenderness_medial", 1),
    plain("mcmurray_lateral", 0),
    plain("valgus_stress_30", 1, 3),
    plain("passive_extension", 1, 2),
    Observation(sign="passive_flexion", weights=(0.1, 0.7, 0.2)),
)


def knee(*observations: Observation, setting: Setting = TWISTED, guarded: bool = False) -> KneeEvidence:
    """A knee in which these things were found."""
    return KneeEvidence(setting=setting, observations=observations, guarded=guarded)


def lesions(evidence: KneeEvidence) -> Floats:
    """The probability of every quantity."""
    model = load_model()
    return np.asarray(posterior(model, evidence).states @ model.membership)


@cache
def conclusion(evidence: KneeEvidence) -> KneeConclusion:
    """What is concluded about a knee."""
    return conclude_knee(load_model(), evidence, Side.RIGHT, np.random.default_rng(0))[0]


def drawn_knee(count: int, seed: int, setting: Setting = TWISTED) -> KneeEvidence:
    """A simulated knee of which so many signs were examined."""
    rng = np.random.default_rng(seed)
    some = rng.choice(list(load_model().knowledge.signs), count, replace=False).tolist()
    examined = {sign: grades(sign) for sign in some}
    drawn = simulate_knees(load_model(), setting, examined, 1, rng)
    found = (plain(sign, int(drawn.reports[sign][0]), examined[sign]) for sign in some)
    return knee(*found, setting=setting)


# ---------------------------------------------------------------- what may not change it


@settings(max_examples=20)
@given(st.permutations(FOUND))
def test_order_does_not_matter(found: list[Observation]) -> None:
    """Findings in any order give the same posterior to 1e-12."""
    assert np.abs(lesions(knee(*found)) - lesions(knee(*FOUND))).max() < 1e-12


@settings(max_examples=40)
@given(st.sampled_from(sorted(load_model().knowledge.signs)), st.floats(0.05, 1))
def test_what_says_nothing_changes_nothing(sign: str, weight: float) -> None:
    """A sign compatible with every level, however strongly, leaves every probability as it was."""
    count = grades(sign) + 1
    silent = Observation(sign=sign, weights=(weight,) * count)
    found = [each for each in FOUND if each.sign != sign]
    assert np.abs(lesions(knee(*found, silent)) - lesions(knee(*found))).max() < 1e-12


@settings(max_examples=20)
@given(st.floats(0.01, 1))
def test_only_the_ratio_of_weights_counts(factor: float) -> None:
    """Weights over the levels scaled by one factor give the same posterior."""
    scaled = Observation(sign="passive_flexion", weights=(0.1 * factor, 0.7 * factor, 0.2 * factor))
    assert np.abs(lesions(knee(*FOUND[:-1], scaled)) - lesions(knee(*FOUND))).max() < 1e-12


def test_an_uncertain_level_lies_between_the_certain_ones() -> None:
    """A measurement spread over two grades gives each lesion a probability between those of the two."""
    one, other, either = (
        lesions(knee(Observation(sign="lachman", weights=weights)))
        for weights in ((0, 1, 0, 0), (0, 0, 1, 0), (0, 1, 1, 0))
    )
    assert (either >= np.minimum(one, other) - 1e-12).all()
    assert (either <= np.maximum(one, other) + 1e-12).all()


def test_nothing_found_is_the_prior() -> None:
    """Without any finding the posterior is the prior, and the evidence says nothing."""
    model = load_model()
    post = posterior(model, knee())
    assert np.abs(post.states - model.prior(TWISTED).probability).max() < 1e-12
    assert post.log_evidence == pytest.approx(0, abs=1e-9)


def test_evidence_is_the_product_of_its_steps() -> None:
    """P(all findings) is P(the first) times P(the second given the first), and so on: nothing is lost."""
    model = load_model()
    whole = posterior(model, knee(*FOUND)).log_evidence
    levels = [
        posterior(
            model, knee(*FOUND[:-1], Observation(sign="passive_flexion", weights=tuple(row)))
        ).log_evidence
        for row in np.eye(3)
    ]
    mixed = np.log(np.exp(levels) @ [0.1, 0.7, 0.2])
    assert mixed == pytest.approx(whole, abs=1e-9)


def test_a_knee_seen_to_guard_is_likelier_to_guard() -> None:
    """A test stopped by guarding raises the chance of guarding, and an injury that makes knees guard."""
    model = load_model()
    calm, guards = (posterior(model, knee(guarded=each)) for each in (False, True))
    assert guards.guarding > calm.guarding + 0.1
    sprain = [
        i for i, (lesion, level) in enumerate(model.quantities) if (lesion, level) == ("acl_tear", ANY_LEVEL)
    ]
    assert (guards.states @ model.membership)[sprain] > (calm.states @ model.membership)[sprain]


def test_a_guarding_knee_excuses_a_normal_drawer() -> None:
    """A normal anterior drawer speaks less against a torn ACL in a knee that was seen to guard."""
    normal = plain("anterior_drawer", 0, 3)

    def lost(guarded: bool) -> float:
        before, after = (
            lesions(knee(*found, guarded=guarded))[load_model().quantities.index(("acl_tear", ANY_LEVEL))]
            for found in ((), (normal,))
        )
        return float(np.log(before / (1 - before)) - np.log(after / (1 - after)))

    assert 0 < lost(guarded=True) < lost(guarded=False)


# ---------------------------------------------------------------- what a finding weighs


def bits(p: Floats) -> Floats:
    """Log2 odds, of certainties as of one in a million millions."""
    clipped = np.clip(p, 1e-12, 1 - 1e-12)
    return np.asarray(np.log2(clipped) - np.log2(1 - clipped))


CERTAIN = 1e-6
FAINT = 0.05 / np.log(2)
"""Bits up to which findings of one cause, added up, are said to say nothing."""


class Cause:
    """What the findings of one group of manifestations say of every quantity [bits], worked out afresh.

    ``together``: all of them left out and put back; ``alone`` (findings, quantities): put back one by one;
    ``weights``: what the conclusion says of each; ``certain`` (quantities,): so near certainty that rounding
    hides what moves them.
    """

    def __init__(self, evidence: KneeEvidence, group: tuple[str, ...], weights: Floats) -> None:
        model = load_model()
        found = evidence.observations
        own = [i for i, each in enumerate(found) if model.group_of(each.sign) == group]
        rest = tuple(each for i, each in enumerate(found) if i not in own)
        before, after = lesions(replace(evidence, observations=rest)), lesions(evidence)
        singly = [lesions(replace(evidence, observations=(*rest, found[i]))) for i in own]
        self.signs = tuple(found[i].sign for i in own)
        self.weights = weights[own]
        self.together = bits(after) - bits(before)
        self.alone = np.stack([bits(each) - bits(before) for each in singly])
        every = np.stack([before, after, *singly])
        self.certain = ((every < CERTAIN) | (every > 1 - CERTAIN)).any(axis=0)


def causes_of(evidence: KneeEvidence) -> list[Cause]:
    """Every cause that was looked at."""
    model = load_model()
    weights = finding_weights(model, evidence, posterior(model, evidence))
    groups = dict.fromkeys(model.group_of(each.sign) for each in evidence.observations)
    return [Cause(evidence, group, weights) for group in groups]


@pytest.mark.parametrize("setting", [TWISTED, UNKNOWN], ids=["twisted", "unknown"])
@pytest.mark.parametrize("seed", range(3))
def test_the_only_finding_of_a_cause_weighs_what_leaving_it_out_changes(seed: int, setting: Setting) -> None:
    """A finding that no other of the same physical cause accompanies weighs exactly its leave-one-out.

    To 1e-6 bits, of every lesion and level.
    """
    single = [cause for cause in causes_of(drawn_knee(25, seed, setting)) if len(cause.signs) == 1]
    assert len(single) > 5
    for cause in single:
        error = np.abs(cause.weights[0] - cause.together)[~cause.certain]
        assert error.max() < 1e-6, cause.signs


@pytest.mark.parametrize("setting", [TWISTED, UNKNOWN], ids=["twisted", "unknown"])
@pytest.mark.parametrize("seed", range(3))
def test_findings_of_one_cause_share_what_they_weigh_together(seed: int, setting: Setting) -> None:
    """Findings of one physical cause are left out together, and share the change by what each says alone.

    Where they agree their weights add up to the exact change of the log2 odds: in proportion, or evenly where
    together they say the opposite of what each says. Where they contradict each other each keeps what it says
    alone, or less.
    """
    agreed = contradicted = 0
    for cause in causes_of(drawn_knee(30, seed, setting)):
        if len(cause.signs) == 1:
            continue
        weights, alone, together = (
            each[..., ~cause.certain] for each in (cause.weights, cause.alone, cause.together)
        )
        total, most = alone.sum(axis=0), np.abs(alone).sum(axis=0)
        agree, contradict = np.abs(total) > 0.96 * most, np.abs(total) < 0.94 * most
        agree &= np.abs(np.abs(total) - FAINT) > 1e-3
        same = (total * together > 0) & (np.abs(total) > FAINT)
        assert weights.sum(axis=0)[agree] == pytest.approx(together[agree], abs=1e-6)
        proportion = weights[:, agree & same] * total[agree & same]
        assert proportion == pytest.approx((alone * together)[:, agree & same], abs=1e-4)
        evenly = np.broadcast_to(together / len(alone), alone.shape)
        assert weights[:, agree & ~same] == pytest.approx(evenly[:, agree & ~same], abs=1e-6)
        assert (np.abs(weights)[:, contradict] <= np.abs(alone)[:, contradict] + 1e-6).all()
        agreed += int(agree.sum())
        contradicted += int(contradict.sum())
    assert agreed > 50
    assert contradicted > 10


def test_findings_that_strengthen_each_other_share_all_they_weigh() -> None:
    """Two findings of one cause that say more together than added up share all of it.

    Either alone may be a false alarm; together they are hardly one.
    """
    dislocation = load_model().quantities.index(("knee_dislocation", ANY_LEVEL))
    (cause,) = causes_of(knee(plain("cool_foot", 1), plain("capillary_refill_s", 1)))
    together = cause.together[dislocation]
    assert 0 < cause.alone[:, dislocation].sum() < together - 0.5
    assert cause.weights[:, dislocation].sum() == pytest.approx(together, abs=1e-6)


def test_signs_of_one_thing_do_not_each_weigh_nothing() -> None:
    """Of four signs of a torn ACL each speaks for it, though the others would do without it."""
    four = ("lachman", "anterior_drawer", "lever_sign", "lachman_end_point")
    evidence = knee(*(plain(sign, min(2, grades(sign)), grades(sign)) for sign in four))
    acl = load_model().quantities.index(("acl_tear", ANY_LEVEL))
    (cause,) = [each for each in causes_of(evidence) if "lachman" in each.signs]
    assert set(cause.signs) == set(four)
    assert (cause.weights[:, acl] > WORTH_SAYING_BITS).all()


def worst_weight(evidence: KneeEvidence, sign: str, *, least: float) -> float:
    """The largest error of a finding's weight over the lesions of at least some probability [bits]."""
    rest = tuple(each for each in evidence.observations if each.sign != sign)
    exact = bits(lesions(evidence)) - bits(lesions(replace(evidence, observations=rest)))
    errors = [0.0]
    for entry in conclusion(evidence).lesions:
        weight = float(exact[load_model().quantities.index((entry.lesion, entry.level))])
        reasons = (*entry.reasons_for, *entry.reasons_against)
        said = [reason.weight_bits for reason in reasons if reason.sign == sign]
        if entry.probability >= least and (said or abs(weight) > WORTH_SAYING_BITS):
            errors.append(abs(sum(said) - weight))
    return max(errors)


@pytest.mark.parametrize("setting", [TWISTED, UNKNOWN], ids=["twisted", "unknown"])
def test_a_finding_alone_weighs_its_likelihood_ratio(setting: Setting) -> None:
    """The reason given for the only finding weighs the log2 of its likelihood ratio, to 0.001 bits.

    Over the lesions of 1 % and more, common findings and rare ones.
    """
    worst = {
        sign: worst_weight(knee(plain(sign, 1, grades(sign)), setting=setting), sign, least=0.01)
        for sign in (
            "posterior_sag",
            "dislocation_reported",
            "previous_patellar_dislocation",
            "foot_drop",
            "lachman",
            "effusion",
            "locking",
            "pop_heard",
        )
    }
    assert max(worst.values()) < 0.001, worst


def test_reasons_are_sorted_and_on_the_right_side() -> None:
    """Reasons for a lesion have positive weights, those against negative ones, the strongest first."""
    for entry in conclusion(knee(*FOUND)).lesions:
        for reasons, sign in ((entry.reasons_for, 1), (entry.reasons_against, -1)):
            weights = [sign * reason.weight_bits for reason in reasons]
            assert weights == sorted(weights, reverse=True)
            assert all(weight > 0 for weight in weights)


def test_shares_of_grounding_add_up_to_one() -> None:
    """What a conclusion rests on adds up to 1, with reasons; without any reason all shares are 0."""
    for entry in conclusion(knee(*FOUND)).lesions:
        shares = entry.grounding.published + entry.grounding.derived + entry.grounding.judgement
        assert shares == pytest.approx(1.0 if entry.reasons_for or entry.reasons_against else 0.0)
        for reason in (*entry.reasons_for, *entry.reasons_against):
            own = reason.grounding
            assert own.published + own.derived + own.judgement == pytest.approx(1)
            assert reason.sources


# ---------------------------------------------------------------- how sure


@pytest.mark.parametrize("count", [0, 1, 4, 12, 30])
def test_intervals_hold_the_point(count: int) -> None:
    """Every probability lies in its 90 % interval, every interval in 0 to 1, no level above its lesion."""
    found = conclusion(drawn_knee(count, count) if count else knee())
    whole = {entry.lesion: entry.probability for entry in found.any_level()}
    assert len(whole) == len(load_model().lesions)
    for entry in found.lesions:
        assert 0 <= entry.low <= entry.probability <= entry.high <= 1 + 1e-6
        assert entry.probability <= whole[entry.lesion] + 1e-9


def test_prevalences_are_not_known_exactly() -> None:
    """A knee of which nothing is known has intervals: prevalences by judgement are no certainties."""
    first = conclusion(knee()).lesions[0]
    assert first.high - first.low > 0.02


def test_what_was_not_looked_at_stays_uncertain() -> None:
    """After a Lachman alone the interval of a torn medial meniscus is half as wide as its probability."""
    entries = conclusion(knee(plain("lachman", 2, 3))).any_level()
    meniscus = next(entry for entry in entries if entry.lesion == "medial_meniscus_tear")
    assert meniscus.high - meniscus.low > 0.5 * meniscus.probability


def test_lesions_are_sorted_and_combinations_too() -> None:
    """The most probable lesion and the most probable whole knee stand first."""
    found = conclusion(knee(*FOUND))
    probabilities = [entry.probability for entry in found.lesions]
    assert probabilities == sorted(probabilities, reverse=True)
    whole = [each.probability for each in found.combinations]
    assert whole == sorted(whole, reverse=True)
    assert sum(whole) <= 1
    held = [each for each in found.combinations if not each.lesions]
    assert all(each.probability == pytest.approx(found.nothing_listed) for each in held)


def full_intervals(evidence: KneeEvidence) -> Floats:
    """The 90 % intervals when no state is left out (2, quantities)."""
    model = load_model()
    every = np.arange(len(model.states))
    drawn = model.membership.T.astype(np.float32) @ drawn_posteriors(model, evidence, every)
    return np.asarray(np.quantile(drawn, (0.05, 0.95), axis=1))


def interval_error(evidence: KneeEvidence) -> float:
    """How far leaving out improbable states moves an end of an interval, at most."""
    low, high = full_intervals(evidence)
    p = lesions(evidence)
    ends = {(entry.lesion, entry.level): (entry.low, entry.high) for entry in conclusion(evidence).lesions}
    said = np.array([ends[quantity] for quantity in load_model().quantities]).T
    whole = np.stack([np.minimum(low, p), np.maximum(high, p)])
    return float(np.abs(said - whole).max())


@pytest.mark.parametrize("setting", [TWISTED, UNKNOWN], ids=["twisted", "unknown"])
@pytest.mark.parametrize("count", [1, 3, 10, 40])
def test_leaving_out_improbable_states_hardly_moves_the_intervals(count: int, setting: Setting) -> None:
    """Leaving out the improbable states moves no end of an interval by 0.02, early or late.

    The largest of 48 drawn knees was 0.015, half were below 0.006.
    """
    assert interval_error(drawn_knee(count, 5, setting)) < 0.02


def test_more_knees_studied_make_narrower_intervals() -> None:
    """A sign studied in 4,000 knees leaves less doubt than the same numbers from 40."""
    widths = []
    for n in (40, 4000):
        knowledge = small_knowledge()
        studied = tuple(
            replace(used, sensitivity_bounds=None, specificity_bounds=None, n=n)
            for used in knowledge.accuracy
        )
        model = Model(small_lesions(), replace(knowledge, accuracy=studied))
        found = knee(plain("lachman", 1, 3), setting=Setting(acuity="acute"))
        entries, _ = conclude_knee(model, found, Side.LEFT, np.random.default_rng(0))
        acl = next(entry for entry in entries.any_level() if entry.lesion == "acl_tear")
        widths.append(acl.high - acl.low)
    assert widths[1] < 0.95 * widths[0]


def test_each_draw_is_an_exact_posterior() -> None:
    """Every draw's posterior is that of a model with this draw's parameters, worked out state by state.

    The prior of a draw is the point's, the log odds of every lesion of a state shifted by the draw's own.
    """
    model = Model(small_lesions(), small_knowledge(), draws=3)
    setting = Setting(setting="specialist_clinic", acuity="acute", age_years=30)
    found = (plain("lachman", 1, 3), plain("mcmurray", 1), plain("effusion", 0, 3))
    every = np.arange(len(model.states))
    drawn = drawn_posteriors(model, knee(*found, setting=setting), every)
    for draw in range(3):
        weights = model.prior(setting).probability * np.exp(shifts(model, draw))
        joint = np.stack([weights * (1 - guards(model, draw)), weights * guards(model, draw)])
        for observation in found:
            group = model.group_of(observation.sign)
            spread = np.ones((len(every), 1))
            for name in group:
                spread = (spread[:, :, None] * levels(model, name, draw)[:, None, :]).reshape(len(every), -1)
            outcome = model.outcome(observation.sign, setting, observation.grades).drawn
            report = int(np.argmax(observation.weights))
            joint *= outcome[:, report, :, draw] @ spread.T
        expected = joint.sum(axis=0) / joint.sum()
        assert np.abs(drawn[:, draw] - expected).max() < 1e-4


def shifts(model: Model, draw: int) -> Floats:
    """The sum of the shifts of one draw over the lesions of every state."""
    shift = dict(zip(model.states.slots, model.drawn_rates[:, draw].tolist(), strict=False))
    return np.array([sum(shift[slot] for slot in model.states.names(i)) for i in range(len(model.states))])


def test_prevalences_are_drawn_as_surely_as_they_are_known() -> None:
    """The log odds of a lesion scatter with a standard deviation that grows as what it rests on weakens.

    Published 0.2, derived 0.3, judgement 0.8, to a sixth (400 draws); all levels of a lesion move together.
    The mean of the odds stays what it is, to 4 standard errors.
    """
    model = load_model()
    assert RATE_SD == {Provenance.PUBLISHED: 0.2, Provenance.DERIVED: 0.3, Provenance.JUDGEMENT: 0.8}
    for slot, (lesion, _) in enumerate(model.states.slots):
        expected = RATE_SD[model.knowledge.base_rates[lesion].provenance]
        shift = model.drawn_rates[slot].astype(np.float64)
        assert shift.std() == pytest.approx(expected, rel=0.17)
        error = np.sqrt(np.expm1(expected**2) / model.draws)
        assert abs(np.exp(shift).mean() - 1) < 4 * error
        first = model.states.slots.index((lesion, model.lesions[lesion].levels[0].id))
        assert np.array_equal(model.drawn_rates[slot], model.drawn_rates[first])
    assert not model.drawn_rates[-1].any()


def test_a_judged_prevalence_is_no_surer_than_published_ones_agree() -> None:
    """The log odds that two or more published sources give one lesion in one setting scatter with 0.8.

    Pooled over lesions and settings of the tables of prevalence, the first row of each source.
    """
    values: dict[tuple[str, str], dict[str, float]] = {}
    for row in load_edition().prevalence:
        share = row.share.value
        if share is not None and 0 < share < 1:
            values.setdefault((row.lesion, row.setting), {}).setdefault(row.source.key, share)
    groups = [np.log([p / (1 - p) for p in own.values()]) for own in values.values() if len(own) > 1]
    squares = sum(((group - group.mean()) ** 2).sum() for group in groups)
    freedom = sum(len(group) - 1 for group in groups)
    assert freedom >= 20
    assert np.sqrt(squares / freedom) == pytest.approx(RATE_SD[Provenance.JUDGEMENT], abs=0.05)


def levels(model: Model, name: str, draw: int) -> Floats:
    """P(M = 0..levels) of every state under one draw."""
    compiled = model.network("acute").manifestations[name]
    chance = 1 - np.exp(model.drawn_quiet(Setting(acuity="acute"), name)[:, :, draw].astype(float))
    silent = np.array([np.prod(1 - chance[row], axis=0) for row in compiled.active[compiled.configuration]])
    at_least = np.hstack([np.ones((len(silent), 1)), 1 - silent, np.zeros((len(silent), 1))])
    return np.asarray(at_least[:, :-1] - at_least[:, 1:])


def guards(model: Model, draw: int) -> Floats:
    """The chance of guarding of every state under one draw."""
    return np.asarray(levels(model, "guarding", draw)[:, 1])


def test_the_same_examination_gives_the_same_conclusion() -> None:
    """Two runs agree to the last digit: the draws have their own fixed dice."""
    evidence = drawn_knee(len(WHOLE), 3)
    first, second = (
        conclude_knee(load_model(), evidence, Side.RIGHT, np.random.default_rng(0))[0] for _ in range(2)
    )
    assert first == second


def test_what_was_worked_out_before_leaves_no_trace() -> None:
    """Found one by one, in two circumstances by turns, the same as by a model that was asked nothing else."""
    asked = Model(small_lesions(), small_knowledge(), draws=2)
    changed = (plain("lachman", 0, 3), *FOUND[1:])
    knees = [
        knee(*found[:count], setting=setting, guarded=guarded)
        for count in (0, 1, 3, len(FOUND))
        for found in (FOUND, changed)
        for setting, guarded in ((TWISTED, False), (UNKNOWN, True), (replace(TWISTED, age_years=60), False))
    ]
    for each in (*knees, *reversed(knees)):
        fresh = posterior(Model(small_lesions(), small_knowledge(), draws=2), each)
        again = posterior(asked, each)
        assert again.joint == pytest.approx(fresh.joint, abs=1e-12)
        assert again.log_evidence == pytest.approx(fresh.log_evidence, abs=1e-9)
