"""A day that contradicts itself, or on which nobody could be placed, is refused with all that is wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from fabella.errors import Problems, suggestion
from fabella.exam.day import MINUTES_OF_A_DAY, Day, clock


def check_day(day: Day) -> None:
    """Refuse a day that contradicts itself or lacks people or time; `InputError` names every problem."""
    problems = Problems()
    for look in (_doubled, _times, _unknown, _lacking):
        look(day, problems)
    problems.raise_any()


def _doubled(day: Day, problems: Problems) -> None:
    for place, names in (
        ("stations", day.stations),
        ("circuits", day.circuits),
        ("examiners", [each.id for each in day.examiners]),
        ("candidates", [each.id for each in day.candidates]),
        ("rounds", [str(each.begins_min) for each in day.rounds]),
    ):
        if not names:
            problems.add(place, "", "is empty", "name at least one")
        for name, number in Counter(names).items():
            if number > 1:
                problems.add(place, name, f"stands {number} times", "name each once")


def _times(day: Day, problems: Problems) -> None:
    for turn, following in enumerate(day.rounds[1:]):
        if day.ends_min(turn) > following.begins_min:
            says = f"ends {clock(day.ends_min(turn))}, after the next begins"
            problems.add(f"round {turn + 1}", "", says, "let the next one begin later")
    if day.rounds and day.ends_min(len(day.rounds) - 1) > MINUTES_OF_A_DAY:
        remedy = "begin earlier or plan another day"
        problems.add(f"round {len(day.rounds)}", "", "ends after midnight", remedy)


def _unknown(day: Day, problems: Problems) -> None:
    known = {each.id for each in day.examiners}
    for examiner in day.examiners:
        _not_here(f"examiner {examiner.id}, stations", examiner.stations, day.stations, problems)
        _not_here(f"examiner {examiner.id}, circuits", examiner.circuits, day.circuits, problems)
    for candidate in day.candidates:
        _not_here(f"candidate {candidate.id}, conflicts", candidate.conflicts, known, problems)
        _not_here(f"candidate {candidate.id}, circuits", candidate.circuits, day.circuits, problems)


def _lacking(day: Day, problems: Problems) -> None:
    """What is wanting, as far as it can be told without a search."""
    if len(day.candidates) > day.room:
        says = f"are {len(day.candidates)}, and the day has {day.room} places"
        problems.add("candidates", "", says, "add a round or a circuit")
    for candidate in day.candidates:
        if not any(
            day.may_sit(candidate, circuit, turn)
            for turn in range(len(day.rounds))
            for circuit in day.circuits
        ):
            says = "has no round with enough time at their site"
            problems.add(f"candidate {candidate.id}", "", says, "plan a longer round")
    for station in day.stations:
        for turn in range(len(day.rounds)):
            if not any(
                each.can(circuit, turn, station) for each in day.examiners for circuit in day.circuits
            ):
                says = f"has nobody who could examine it in round {turn + 1}"
                problems.add(f"station {station}", "", says, "name another examiner")


def _not_here(place: str, names: Iterable[str], allowed: Iterable[str], problems: Problems) -> None:
    for name in sorted(set(names) - set(allowed)):
        problems.add(place, name, "is not on this day", suggestion(name, allowed))
