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

_FIELDS = ("urgent", "unsettled", "unsettled_more", "conclusions", "no_conclusion", "grounding", "failures")


@dataclass(frozen=True, slots=True, kw_only=True)
class Concluded:
    """A conclusion as it was signed, under the names that pages know it by; ``plate`` is its drawing."""

    urgent: tuple[Urgent, ...]
    unsettled: tuple[Urgent, ...]
    unsettled_more: int
    knees: tuple[KneeWords, ...]
    nothing_said: str
    grounding: str
    plan: Plan
    failures: tuple[str, ...]
    plate: str

    @property
    def matters(self) -> tuple[Matter, ...]:
        """What cannot wait, each matter once with all the rules that say it."""
        return matters_of(self.urgent)


def concluded_tree(workup: Workup) -> dict[str, Any]:
    """Return what a letter about a workup concludes, as JSON values."""
    letter = build_letter(workup, written_on=date.min)  # its words do not depend on the day
    tree = {name: _plain(getattr(letter, name)) for name in _FIELDS}
    return {**tree, "plan": asdict(letter.plan)}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return asdict(value) if hasattr(value, "__dataclass_fields__") else value


def concluded_from(tree: dict[str, Any], plate: str) -> Concluded:
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
        plate=plate,
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
