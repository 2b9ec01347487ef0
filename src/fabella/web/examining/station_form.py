"""A station as a form: its fields filled in, and read back with everything wrong beside its field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from fabella.errors import Problem, Problems
from fabella.exam import Item, Station, checked, load_domains, written
from fabella.protocol import load_protocol
from fabella.web.examining.station_work import free_item
from fabella.web.forms import typed_number, typed_whole

NEW = "new"
"""In place of an item's id: one of the team's own, that is being written."""

LONGEST = {"title": 80, "task": 2000, "volunteer": 3000, "equipment": 3000, "words": 400, "anchor": 300}


def station_fields(station: Station) -> dict[str, str]:
    """Return what the form of a station holds."""
    made = {
        "title": station.title,
        "minutes": f"{station.minutes:g}",
        "task": station.task,
        "volunteer": station.volunteer,
        "equipment": "\n".join(station.equipment),
    }
    for item in station.items:
        made |= {
            f"words-{item.id}": item.words,
            f"anchors-{item.id}": "\n".join(item.anchors),
            f"weight-{item.id}": f"{item.weight:g}",
            f"critical-{item.id}": "yes" if item.critical else "",
        }
    return made


def read_station_form(station: Station, typed: Mapping[str, str]) -> Station:
    """Return a station with what was typed; `InputError` has every problem, at the name of its field.

    Instruction and briefing that were left empty follow from the items.
    """
    problems = Problems()

    def text(place: str, kind: str, *, follows: bool = False) -> str:
        lines = typed.get(place, "").strip().splitlines()
        found = "\n".join(" ".join(line.split()) for line in lines)
        if not found and not follows:
            problems.add(place, "", "is missing", "write it")
        elif len(found) > LONGEST[kind]:
            problems.add(place, "", "is too long", f"write up to {LONGEST[kind]} letters")
        return found

    made = replace(
        station,
        title=text("title", "title"),
        minutes=_number("minutes", typed, 1, 60, problems),
        task=text("task", "task", follows=True),
        volunteer=_briefing(
            text("volunteer", "volunteer", follows=True), station.minutes, typed.get("minutes", "")
        ),
        equipment=_lines(typed.get("equipment", ""))[:60],
        items=tuple(
            replace(
                item,
                words=text(f"words-{item.id}", "words"),
                anchors=_anchors(f"anchors-{item.id}", typed, problems),
                weight=_number(f"weight-{item.id}", typed, 0.1, 100, problems),
                critical=typed.get(f"critical-{item.id}") == "yes",
            )
            for item in station.items
        ),
    )
    if typed.get(f"words-{NEW}", "").strip():
        made = replace(made, items=(*made.items, _new(made, typed, problems)))
    problems.raise_any()
    follows = written(made, load_protocol())
    made = replace(made, task=made.task or follows.task, volunteer=made.volunteer or follows.volunteer)
    checked(made).raise_any()
    return made


def _briefing(words: str, before: float, typed: str) -> str:
    """Return the volunteer's briefing with the length of the station as it is now."""
    return words.replace(f"for {before:g} minutes", f"for {typed.strip() or f'{before:g}'} minutes")


def _new(station: Station, typed: Mapping[str, str], problems: Problems) -> Item:
    """Return the item written by hand; its anchors are those of its domain unless others are given."""
    name = typed.get(f"domain-{NEW}", "")
    if name not in load_domains():
        problems.add(f"domain-{NEW}", name, "is not known", "choose one of these")
    domain = load_domains().get(name, next(iter(load_domains().values())))
    anchors = _lines(typed.get(f"anchors-{NEW}", "")) or domain.anchors
    told = typed.get(f"seconds-{NEW}", "").strip() or "0"
    seconds = typed_whole(told, otherwise=-1)
    if not 0 <= seconds <= 600:  # noqa: PLR2004
        problems.add(f"seconds-{NEW}", told, "is wrong", "write 0 to 600 seconds")
    return Item(
        id=free_item(station),
        words=" ".join(typed[f"words-{NEW}"].split())[: LONGEST["words"]],
        domain=domain.id,
        anchors=anchors,
        seconds=seconds,
        critical=typed.get(f"critical-{NEW}") == "yes",
    )


def _anchors(place: str, typed: Mapping[str, str], problems: Problems) -> tuple[str, ...]:
    found = _lines(typed.get(place, ""))
    if not 2 <= len(found) <= 11:  # noqa: PLR2004
        problems.add(place, str(len(found)), "is no number of anchors", "write 2 to 11, a line each")
    if any(len(each) > LONGEST["anchor"] for each in found):
        problems.add(place, "", "has a line that is too long", f"write up to {LONGEST['anchor']} letters")
    return found or ("no", "yes")


def _number(place: str, typed: Mapping[str, str], low: float, high: float, problems: Problems) -> float:
    text = typed.get(place, "").strip().replace(",", ".")
    found = typed_number(text)
    if found is None or not low <= found <= high:
        problems.add(place, text, "is wrong" if text else "is missing", f"write {low:g} to {high:g}")
        return low
    return found


def _lines(text: str) -> tuple[str, ...]:
    return tuple(filter(None, (" ".join(line.split()) for line in text.splitlines())))


def complaints(station: Station, problems: tuple[Problem, ...]) -> tuple[str, ...]:
    """Return every problem of the form in words, with the number of its item in place of the field's name."""
    numbers = {item.id: f"item {number}" for number, item in enumerate(station.items, 1)} | {
        NEW: "the new item"
    }
    found = []
    for each in problems:
        what, _, name = each.place.partition("-")
        place = f"{numbers[name]}, {what}" if name in numbers else each.place
        found.append(str(replace(each, place=place)))
    return tuple(found)
