"""How a page asks for one rule of an exam: its words, its kind, its range and unit as typed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """How a rule is typed; a percent is kept as a share where ``of`` is 100."""

    CHOICE = "choice"
    NUMBER = "number"
    WHOLE = "whole"
    TICK = "tick"


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleField:
    """One rule on the page.

    Parameters
    ----------
    name
        As in `fabella.assess.Rules`.
    hint
        One sentence: what it does, and its source.
    low, high, of
        Range as typed, and by what it is divided before it is kept: 100 where a share is typed in percent.
    optional
        Whether it may be left empty, which keeps None.
    choices
        Values with their words, of a choice.
    """

    name: str
    label: str
    hint: str
    kind: Kind = Kind.NUMBER
    low: float = 0.0
    high: float = 100.0
    of: float = 1.0
    optional: bool = False
    choices: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleGroup:
    """Rules that belong together; ``folded`` are those that few exams change."""

    legend: str
    fields: tuple[RuleField, ...]
    folded: bool = False
