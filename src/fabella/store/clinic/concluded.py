"""What an examination came to when it was signed: the letter's words and numbers, kept and read again."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from fabella.anatomy import Side
from fabella.report import build_letter
from fabella.report.cannot_wait import Matter, Urgent, matters_of
from fabella.report.conclusion_words import FitsToo, KneeWords, LesionWords
from fabella.report.likelihood_words import Chance
from fabella.report.plan_words import NotNow, Plan, StepWords
from fabella.report.reason_words import ReasonWords
from fabella.workup import Workup

_KEPT_AS = {"knees": "conclusions", "nothing_said": "no_conclusion"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Concluded:
    """A conclusion in the letter's words and numbers, under the names that pages know it by."""

    urgent: tuple[Urgent, ...]
    unsettled: tuple[Urgent, ...]
    unsettled_more: int
    knees: tuple[KneeWords, ...]
    nothing_said: str
    grounding: str
    plan: Plan
    failures: tuple[str, ...]

    @property
    def matters(self) -> tuple[Matter, ...]:
        """What cannot wait, each matter once with all the rules that say it."""
        return matters_of(self.urgent)


def concluded_of(workup: Workup) -> Concluded:
    """Return what a letter about a workup concludes."""
    letter = build_letter(workup, written_on=date.min)  # its words do not depend on the day
    return Concluded(
        urgent=letter.urgent,
        unsettled=letter.unsettled,
        unsettled_more=letter.unsettled_more,
        knees=letter.conclusions,
        nothing_said=letter.no_conclusion,
        grounding=letter.grounding,
        plan=letter.plan,
        failures=letter.failures,
    )


def concluded_tree(workup: Workup) -> dict[str, Any]:
    """Return the same as JSON values."""
    tree = asdict(concluded_of(workup))
    return {_KEPT_AS.get(name, name): value for name, value in tree.items()}


def concluded_from(tree: dict[str, Any]) -> Concluded:
    """Return a conclusion from what `concluded_tree` kept of it."""
    return Concluded(
        urgent=tuple(_urgent(each) for each in tree["urgent"]),
        unsettled=tuple(_urgent(each) for each in tree["unsettled"]),
        unsettled_more=tree["unsettled_more"],
        knees=tuple(_knee(each) for each in tree["conclusions"]),
        nothing_said=tree["no_conclusion"],
        grounding=tree["grounding"],
        plan=_plan(tree["plan"]),
        failures=tuple(tree["failures"]),
    )


def _urgent(tree: dict[str, Any]) -> Urgent:
    return Urgent(**_frozen(tree))


def _knee(tree: dict[str, Any]) -> KneeWords:
    parts = {
        "side": Side(tree["side"]),
        "lesions": tuple(_lesion(each) for each in tree["lesions"]),
        "others": tuple(FitsToo(**each) for each in tree["others"]),
    }
    return KneeWords(**{**tree, **parts})


def _lesion(tree: dict[str, Any]) -> LesionWords:
    reasons = {
        name: tuple(ReasonWords(**each) for each in tree[name]) for name in ("reasons_for", "reasons_against")
    }
    return LesionWords(**{**tree, "chance": Chance(**tree["chance"]), **reasons})


def _plan(tree: dict[str, Any]) -> Plan:
    # Signatures of before the plan named what comes first, or what is withheld one by one, have no such list.
    steps = {
        name: tuple(StepWords(**each) for each in tree.get(name, ()))
        for name in ("bedside", "imaging", "first")
    }
    not_now = tuple(
        NotNow(**{**each, **{part: tuple(map(tuple, each.get(part, ()))) for part in ("signs", "images")}})
        for each in tree.get("not_now", ())
    )
    return Plan(**{**_frozen(tree), **steps, "not_now": not_now})


def _frozen(tree: dict[str, Any]) -> dict[str, Any]:
    """Return the same with tuples for lists."""
    return {name: tuple(value) if isinstance(value, list) else value for name, value in tree.items()}
