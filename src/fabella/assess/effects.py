"""What rules and methods do to whom: failures by each rule alone and together, and methods side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

import numpy as np

from fabella.assess.deciding import Decision, Outcome, Reason, Results, decide
from fabella.assess.marks import Marks, Numbers, candidate_circuit
from fabella.assess.pass_mark import station_weights
from fabella.assess.resampling import resample
from fabella.assess.rules import CutMethod, Rules
from fabella.errors import FabellaError
from fabella.stats import Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleEffect:
    """Who fails by a rule: ``by`` it, and by it ``alone``, as codes; in the order of the marks."""

    reason: Reason
    by: tuple[str, ...]
    alone: tuple[str, ...]


def rule_effects(results: Results) -> tuple[RuleEffect, ...]:
    """Return the failures by each rule; candidates with too little evidence do not count."""
    failed = [d for d in results.decisions if d.outcome is Outcome.FAIL]
    return tuple(
        RuleEffect(
            reason=reason,
            by=tuple(d.candidate for d in failed if reason in d.reasons),
            alone=tuple(d.candidate for d in failed if d.reasons == (reason,)),
        )
        for reason in (Reason.BELOW_PASS_MARK, Reason.TOO_FEW_PASSED, Reason.CRITICAL)
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutNoise:
    """How far the error of the pass mark alone may move decisions.

    Parameters
    ----------
    share_passing
        Share of resampled pass marks at which each candidate's total passes [-], shape (candidates,).
    failing
        Share of candidates failing by the pass mark [-], with the 95 % interval of resampled exams.
    """

    share_passing: Numbers
    failing: Interval


def cut_noise(marks: Marks, results: Results) -> CutNoise:
    """Return how far the error of the pass mark alone may move decisions.

    Each resample of candidates sets its own cuts, which are put to every candidate's stations as taken; the
    allowance for measurement error stays. A fixed cut or Angoff's has no resamples: shares are then 0 or 1.
    """
    scores, rules, found = results.scores, results.rules, results.pass_mark
    weights = station_weights(marks.blueprint)
    taken = ~np.isnan(scores.station) * weights
    with np.errstate(invalid="ignore", divide="ignore"):
        share = taken / taken.sum(axis=1, keepdims=True)
    cuts = found.resampled[~np.isnan(found.resampled).any(axis=1)]
    strata = candidate_circuit(marks) if rules.within_circuits else None
    counts = resample(marks.n_candidates, seed=results.marks_digest, times=rules.resamples, strata=strata)
    counts = counts[~np.isnan(found.resampled).any(axis=1)] if len(found.resampled) else counts
    there = ~np.isnan(scores.total)
    fixed = np.array([each.pass_mark for each in results.decisions])
    bar = cuts @ np.nan_to_num(share).T + rules.sem_multiple * results.sem if len(cuts) else fixed[None, :]
    passes = np.round(scores.total, 6) >= np.round(bar, 6)
    drawn = (counts * (~passes & there)).sum(axis=1) / (counts * there).sum(axis=1)
    low, high = np.percentile(drawn, [2.5, 97.5])
    failing = float(((np.round(scores.total, 6) < fixed) & there).sum() / there.sum())
    return CutNoise(
        share_passing=np.where(there, passes.mean(axis=0), np.nan),
        failing=Interval(estimate=failing, low=float(low), high=float(high), level=0.95),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alternative:
    """What one method would do: ``refusal`` tells why it gives nothing, else the results.

    ``newly_failed`` and ``newly_passed`` are codes of candidates whose outcome differs from that of the first
    method compared.
    """

    method: CutMethod
    results: Results | None
    refusal: str
    newly_failed: tuple[str, ...]
    newly_passed: tuple[str, ...]

    @property
    def pass_rate(self) -> float:
        """Return the share passing among those decided [-]; NaN without results."""
        outcomes = [d.outcome for d in self.results.decisions] if self.results else []
        decided = sum(outcome is not Outcome.INSUFFICIENT for outcome in outcomes)
        return outcomes.count(Outcome.PASS) / decided if decided else float("nan")


def compare(marks: Marks, alternatives: Sequence[Rules]) -> tuple[Alternative, ...]:
    """Return what each set of rules would do to the same marks; the others are held against the first."""
    compared = list[Alternative]()
    first: dict[str, Outcome] | None = None
    for rules in alternatives:
        try:
            results = decide(marks, rules)
        except FabellaError as refusal:
            compared.append(
                Alternative(
                    method=rules.method, results=None, refusal=str(refusal), newly_failed=(), newly_passed=()
                )
            )
            continue
        first = first or {d.candidate: d.outcome for d in results.decisions}
        differ = [d for d in results.decisions if d.outcome is not first[d.candidate]]
        compared.append(
            Alternative(
                method=rules.method,
                results=results,
                refusal="",
                newly_failed=tuple(d.candidate for d in differ if d.outcome is Outcome.FAIL),
                newly_passed=tuple(d.candidate for d in differ if d.outcome is Outcome.PASS),
            )
        )
    return tuple(compared)


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """One candidate for a second look: ``sems`` is the margin in standard errors of measurement."""

    decision: Decision
    sems: float
    share_passing: float


def review_list(marks: Marks, results: Results) -> tuple[Review, ...]:
    """Return the candidates near their pass mark, nearest first, and those with too little evidence last."""
    shares = cut_noise(marks, results).share_passing
    near = [
        Review(
            decision=decision,
            sems=decision.margin / results.sem if results.sem > 0 else float("nan"),
            share_passing=float(share),
        )
        for decision, share in zip(results.decisions, shares, strict=True)
        if decision.review or decision.outcome is Outcome.INSUFFICIENT
    ]
    return tuple(sorted(near, key=_nearness))


def _nearness(review: Review) -> tuple[bool, float, str]:
    decision = review.decision
    far = 0.0 if isnan(decision.margin) else abs(decision.margin)
    return decision.outcome is Outcome.INSUFFICIENT, far, decision.candidate
