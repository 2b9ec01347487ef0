"""What rules and methods do to whom: failures by each rule alone and together, and methods side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isnan

from fabella.assess.decided import Decision, Outcome, Reason, Results
from fabella.assess.deciding import decide
from fabella.assess.marks import Marks
from fabella.assess.noise import CutNoise
from fabella.assess.rules import CutMethod, Rules
from fabella.errors import FabellaError


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


def alternatives(rules: Rules) -> tuple[Rules, ...]:
    """Return the rules themselves, and then the same with each other method that can be tried.

    Angoff's method needs estimates, Hofstee's the judges' bounds, a fixed cut its number: without them it is
    left out. All else (allowance for error, stations, critical items) stays as declared.
    """
    there = {
        CutMethod.ANGOFF: bool(rules.estimates),
        CutMethod.HOFSTEE: bool(rules.bounds),
        CutMethod.FIXED: rules.fixed_cut is not None,
    }
    others = [each for each in CutMethod if each is not rules.method and there.get(each, True)]
    return (rules, *(replace(rules, method=each) for each in others))


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


def compare(marks: Marks, tried: Sequence[Rules]) -> tuple[Alternative, ...]:
    """Return what each set of rules would do to the same marks; the others are held against the first."""
    compared = list[Alternative]()
    first: Results | None = None
    for rules in tried:
        try:
            results = decide(marks, rules)
        except FabellaError as refusal:
            compared.append(
                Alternative(
                    method=rules.method, results=None, refusal=str(refusal), newly_failed=(), newly_passed=()
                )
            )
            continue
        first = first or results
        compared.append(held_against(first, results))
    return tuple(compared)


def held_against(first: Results, results: Results) -> Alternative:
    """Return results with what they change of the outcomes of others, of the same candidates."""
    before = {d.candidate: d.outcome for d in first.decisions}
    differ = [d for d in results.decisions if d.outcome is not before[d.candidate]]
    return Alternative(
        method=results.rules.method,
        results=results,
        refusal="",
        newly_failed=tuple(d.candidate for d in differ if d.outcome is Outcome.FAIL),
        newly_passed=tuple(d.candidate for d in differ if d.outcome is Outcome.PASS),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """One candidate for a second look: ``sems`` is the margin in standard errors of measurement, held to."""

    decision: Decision
    sems: float
    share_passing: float


def review_list(results: Results, noise: CutNoise) -> tuple[Review, ...]:
    """Return the candidates near their pass mark, nearest first, and those with too little evidence last."""
    near = [
        Review(
            decision=decision,
            sems=decision.margin / error if (error := results.error_of(decision)) > 0 else float("nan"),
            share_passing=float(share),
        )
        for decision, share in zip(results.decisions, noise.share_passing, strict=True)
        if decision.review or decision.outcome is Outcome.INSUFFICIENT
    ]
    return tuple(sorted(near, key=_nearness))


def _nearness(review: Review) -> tuple[bool, float, str]:
    decision = review.decision
    far = 0.0 if isnan(decision.margin) else abs(decision.margin)
    return decision.outcome is Outcome.INSUFFICIENT, far, decision.candidate
