"""The plan of a day as typed: circuits, rounds, rests, minutes; read with everything wrong at once."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil
from typing import Final

from fabella.errors import Problems
from fabella.exam import Round, read_clock
from fabella.web.forms import typed_whole

PLAN: Final = "plan"
"""Names the paper that keeps the plan."""

FIELDS: Final = (
    "circuits",
    "first",
    "rounds",
    "pause",
    "pauses",
    "longer",
    "rests",
    "station_min",
    "change_min",
    "examiners_each",
    "most_rounds",
)
"""Names of the fields of the form."""

USUAL: Final = {
    "circuits": "A",
    "first": "09:00",
    "rounds": "1",
    "pause": "15",
    "pauses": "",
    "longer": "",
    "rests": "0",
    "station_min": "8",
    "change_min": "2",
    "examiners_each": "1",
    "most_rounds": "3",
}
"""What the form holds before anybody typed; judgement."""

_FORMAT: Final = {"format": "fabella.exam-plan/1"}
_LONGEST_NAME, _MOST_ROUNDS = 20, 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """One circuit, and the site where it runs; empty where there is one site alone."""

    name: str
    site: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A day without its people: see `fabella.exam.Day`; times in minutes.

    ``pauses_min`` are the pauses before rounds, ``extra_shares`` how much longer stations last in them; both
    of as many rounds as there are.
    """

    circuits: tuple[Circuit, ...]
    first_min: int
    pauses_min: tuple[int, ...]
    extra_shares: tuple[float, ...]
    rests: int
    station_min: float
    change_min: float
    examiners_each: int
    most_rounds: int

    def rounds(self, places: int) -> tuple[Round, ...]:
        """Return the rounds of circuits with so many places, each to begin at a whole minute."""
        made, ends = [], float(self.first_min)
        for turn, (pause, extra) in enumerate(zip(self.pauses_min, self.extra_shares, strict=True)):
            made.append(Round(begins_min=ceil(ends + pause), extra_share=extra))
            ends = self.ends_min(made[-1], turn, places)
        return tuple(made)

    def ends_min(self, one: Round, turn: int, places: int) -> float:
        """Return when a round of circuits with so many places is over, in minutes after midnight."""
        return one.begins_min + places * self.slot_min(turn)

    def slot_min(self, turn: int) -> float:
        """Return the minutes from bell to bell in a round, the change included."""
        return self.station_min * (1 + self.extra_shares[turn]) + self.change_min

    def circuits_at(self, place: str) -> frozenset[str]:
        """Return the circuits that a site or a circuit's own name means; empty when it means none."""
        wanted = place.casefold()
        return frozenset(
            each.name for each in self.circuits if wanted in (each.name.casefold(), each.site.casefold())
        )

    @property
    def names(self) -> tuple[str, ...]:
        """What may stand for a place: circuits and sites."""
        return tuple(dict.fromkeys(name for each in self.circuits for name in (each.name, each.site) if name))


def write_plan(typed: Mapping[str, str]) -> str:
    """Return the text of a plan as it was typed."""
    fields = {name: typed.get(name, "").strip() for name in FIELDS}
    return json.dumps({**_FORMAT, **fields}, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def typed_plan(text: str) -> dict[str, str]:
    """Return the fields of a plan that was kept."""
    tree = json.loads(text)
    return {name: str(tree.get(name, "")) for name in FIELDS}


def read_plan(typed: Mapping[str, str]) -> Plan:
    """Return the plan that was typed; `InputError` names every field that is wrong."""
    problems = Problems()

    def whole(place: str, low: int, high: int) -> int:
        text = typed.get(place, "").strip()
        if low <= (found := typed_whole(text, otherwise=-1)) <= high:
            return found
        problems.add(
            place, text, "is wrong" if text else "is missing", f"write a whole number from {low} to {high}"
        )
        return low

    def minutes(place: str, low: float, high: float) -> float:
        text = typed.get(place, "").strip()
        if re.fullmatch(r"\d+([.,]\d+)?", text) and low <= (found := float(text.replace(",", "."))) <= high:
            return found
        problems.add(place, text, "is wrong" if text else "is missing", f"write {low:g} to {high:g} minutes")
        return low

    usual = whole("pause", 0, 600)
    number = whole("rounds", 1, _MOST_ROUNDS)
    known = _MOST_ROUNDS if problems else number  # one field that is wrong makes no others wrong
    pauses = dict(_by_round(typed, "pauses", known, 600, problems))
    longer = dict(_by_round(typed, "longer", known, 100, problems))
    rounds = range(1, number + 1)
    plan = Plan(
        circuits=_circuits(typed.get("circuits", ""), problems),
        first_min=_moment(typed.get("first", ""), problems),
        pauses_min=tuple(0 if each == 1 else pauses.get(each, usual) for each in rounds),
        extra_shares=tuple(longer.get(each, 0) / 100 for each in rounds),
        rests=whole("rests", 0, 100),
        station_min=minutes("station_min", 1, 60),
        change_min=minutes("change_min", 0, 30),
        examiners_each=whole("examiners_each", 1, 10),
        most_rounds=whole("most_rounds", 1, _MOST_ROUNDS),
    )
    problems.raise_any()
    return plan


def _circuits(text: str, problems: Problems) -> tuple[Circuit, ...]:
    """Read a circuit from each line: its name, and after a comma its site."""
    found: dict[str, Circuit] = {}
    for line in filter(None, map(str.strip, text.splitlines())):
        name, _, site = (each.strip() for each in line.partition(","))
        if not name or max(len(name), len(site)) > _LONGEST_NAME:
            problems.add(
                "circuits", line[:30], "is no circuit", f"write a name of up to {_LONGEST_NAME} letters"
            )
        elif name.casefold() in found:
            problems.add("circuits", name, "stands there twice", "name each circuit once")
        found[name.casefold()] = Circuit(name=name, site=site)
    if not found:
        problems.add("circuits", "", "are missing", "name at least one, a line each")
    return tuple(found.values())


def _moment(text: str, problems: Problems) -> int:
    found = read_clock(text)
    if found is None:
        problems.add("first", text, "is no time of day" if text else "is missing", "write it as 09:00")
    return found or 0


def _by_round(
    typed: Mapping[str, str], place: str, rounds: int, most: int, problems: Problems
) -> Iterator[tuple[int, int]]:
    """Read ``3: 45, 4: 25 %``: a number for a round, one after the other."""
    for part in filter(None, map(str.strip, re.split(r"[,;\n]", typed.get(place, "")))):
        found = re.fullmatch(r"(\d{1,6})\s*:\s*(\d{1,6})\s*(%|min)?", part)
        if found is None:
            problems.add(place, part, "is not understood", "write round and number, as 3: 25")
        elif not 1 <= int(found[1]) <= rounds:
            problems.add(place, part, "names no round of the day", f"there are {rounds}")
        elif int(found[2]) > most:
            problems.add(place, part, "is too much", f"write up to {most}")
        else:
            yield int(found[1]), int(found[2])
