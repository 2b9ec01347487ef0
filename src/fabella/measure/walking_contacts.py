"""Contacts of the two feet in time: doubled, missed and wrong ones told, the walk cut where it is not steady.

Where a contact is missing or doubtful nothing is filled in and nothing averaged across: the walk is cut into
runs of feet that truly take turns, and steps are counted within runs only.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from statistics import median

from fabella.errors import InputError, Problems

DOUBLE_S = 0.25
"""A foot that comes down again sooner bounced on the button (judgement: no stride is half as short)."""
SHORT, LONG = 0.5, 1.6
"""A step outside these shares of its foot's median is no steady step (judgement)."""
LEAST_STEPS = 6
"""Fewer steady steps tell no spread (judgement)."""
_LATEST_S = 3600.0
_BETWEEN = 1.5  # steps: what lies nearer to one step is a wrong foot, nearer to two a missed contact


class Foot(StrEnum):
    """The walker's own right or left foot."""

    RIGHT = "right"
    LEFT = "left"

    @property
    def other(self) -> Foot:
        """The other foot."""
        return Foot.LEFT if self is Foot.RIGHT else Foot.RIGHT


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Contact:
    """A heel that meets the ground, seconds from any start (0 to 3600), or a foot that leaves it."""

    at_s: float
    foot: Foot


@dataclass(frozen=True, slots=True, kw_only=True)
class Steady:
    """The steady part of a walk.

    ``runs`` are contacts of feet that take turns, at least two each; ``told`` says in sentences what was left
    out and why; ``first_s`` and ``last_s`` are the times of the first and the last contact before that.
    """

    runs: tuple[tuple[Contact, ...], ...]
    told: tuple[str, ...]
    first_s: float
    last_s: float

    @property
    def steps(self) -> tuple[tuple[Foot, float], ...]:
        """Every step in seconds, by the foot that ends it."""
        return tuple((b.foot, b.at_s - a.at_s) for run in self.runs for a, b in pairwise(run))

    def strides(self, foot: Foot) -> tuple[tuple[float, float], ...]:
        """Return begin and end in seconds of each stride of a foot: from its contact to its next."""
        return tuple(
            (a.at_s, b.at_s)
            for run in self.runs
            for a, b in zip(run, run[2:], strict=False)
            if a.foot is foot
        )


def steady(contacts: Iterable[Contact], *, ends: int) -> Steady:
    """Return the steady part of a walk.

    Parameters
    ----------
    contacts
        In any order.
    ends
        How many contacts are left out at the beginning and at the end, and on both sides of a halt, since a
        walker starts and stops there; 0 for a record that begins and ends in full stride.

    Raises
    ------
    InputError
        When a time is impossible, or fewer than six steady steps are left.
    """
    given = tuple(sorted(contacts))
    _check(given, ends)
    told: list[str] = []
    kept = _without_doubles(given, told)
    steps = [(b.foot, b.at_s - a.at_s) for a, b in pairwise(kept) if a.foot is not b.foot]
    usual = {foot: median([s for f, s in steps if f is foot] or [math.inf]) for foot in Foot}
    cut = (
        run[ends if halted_before else 0 : len(run) - (ends if halted_after else 0)]
        for run, halted_before, halted_after in _cut(kept, usual, told)
    )
    runs = [run for run in cut if len(run) > 1]
    if ends:
        told.append(f"{ends} contacts at each end were left out: a walk starts and stops there.")
    found = Steady(
        runs=tuple(runs),
        told=tuple(told),
        first_s=given[0].at_s,
        last_s=given[-1].at_s,
    )
    if len(found.steps) < LEAST_STEPS:
        raise InputError.of(
            place="contacts",
            value=str(len(found.steps)),
            says=f"steady steps are left of {len(given)} contacts. {' '.join(told)}".strip(),
            remedy=f"record a longer walk: at least {LEAST_STEPS} steady steps are needed",
        )
    return found


def _check(given: Sequence[Contact], ends: int) -> None:
    problems = Problems()
    if late := [each for each in given if not 0 <= each.at_s <= _LATEST_S]:
        more = f", nor are {len(late) - 1} more" if len(late) > 1 else ""
        problems.add(
            f"{late[0].foot} contact",
            f"{late[0].at_s:g}",
            f"is no time of a walk{more}",
            f"use seconds from 0 to {_LATEST_S:g}",
        )
    if not {each.foot for each in given} >= set(Foot):
        problems.add(
            "contacts",
            "",
            "are not there of both feet",
            "give the times at which the right heel and the left heel meet the ground",
        )
    if not 0 <= ends <= 20:
        problems.add("ends", str(ends), "cannot be left out", "use 0 to 20")
    problems.raise_any()


def _without_doubles(given: Sequence[Contact], told: list[str]) -> list[Contact]:
    kept: list[Contact] = []
    for each in given:
        if kept and kept[-1].foot is each.foot and each.at_s - kept[-1].at_s < DOUBLE_S:
            told.append(f"A second {each.foot} contact at {each.at_s:.2f} s was left out as a double.")
            continue
        kept.append(each)
    return kept


def _cut(
    kept: Sequence[Contact], usual: dict[Foot, float], told: list[str]
) -> Iterator[tuple[tuple[Contact, ...], bool, bool]]:
    """Yield runs with whether the walker halted before and after; the ends of the walk are halts."""
    run, halted = [kept[0]], True
    for a, b in pairwise(kept):
        fault, halts = _fault(a, b, usual)
        if fault:
            told.append(fault)
            yield tuple(run), halted, halts
            run, halted = [], halts
        run.append(b)
    yield tuple(run), halted, True


def _fault(a: Contact, b: Contact, usual: dict[Foot, float]) -> tuple[str, bool]:
    """Say what is wrong between two contacts, nothing if they are a step; and whether it was a halt."""
    apart, step = b.at_s - a.at_s, sum(usual.values()) / 2
    if a.foot is b.foot:
        if apart > 2 * LONG * step:
            return f"A halt of {apart:.1f} s after {a.at_s:.2f} s was left out.", True
        if apart < _BETWEEN * step:
            says = f"Two {a.foot} contacts at {a.at_s:.2f} and {b.at_s:.2f} s are only a step apart"
            return f"{says}, as if one were of the other foot: not counted across.", False
        says = f"The {a.foot.other} contact between {a.at_s:.2f} and {b.at_s:.2f} s is missing"
        return f"{says}: not counted across.", False
    if apart > LONG * usual[b.foot]:
        return f"A halt of {apart:.1f} s after {a.at_s:.2f} s was left out.", True
    if apart < SHORT * usual[b.foot]:
        return (
            f"The step from {a.at_s:.2f} to {b.at_s:.2f} s is too short to be one: not counted across.",
            False,
        )
    return "", False
