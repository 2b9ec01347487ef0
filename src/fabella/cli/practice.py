"""``fabella practice``: examine a simulated patient in the terminal, and be debriefed."""

from __future__ import annotations

import secrets
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, TextIO

import typer

from fabella.anatomy import Side, load_lesions
from fabella.cli.drawing import open_console, show
from fabella.cli.intake import AsJson
from fabella.cli.practice_lines import HELP, Asked, find_sign, read_line
from fabella.cli.practice_page import cards_page, clock, debrief_page
from fabella.cli.practice_record import OwnRecord, due_line, kept_page, own_record, record_page, with_run
from fabella.cli.streams import print_json
from fabella.cli.words import load_words
from fabella.errors import FabellaError, InputError, UsageError, suggestion
from fabella.protocol import Protocol, load_protocol
from fabella.record import Setting, Sex
from fabella.report.wording import lowered, sentence
from fabella.teach import (
    Act,
    Encounter,
    Event,
    Recipe,
    Terms,
    act,
    begin,
    cards_of,
    debrief,
    debrief_tree,
    draw_patient,
    facts_of,
    load_curricula,
    read_recipe,
    recipe_for,
    recipe_with,
    write_recipe,
)
from fabella.teach.past import Past, topics_of
from fabella.teach.telling import felt_words
from fabella.teach.wording import door_words

_SEEDS = 10**9
_LONGEST_RECIPE = 10_000


def practice(
    seed: Annotated[
        int | None, typer.Option("--seed", min=0, help="Of the patient; the same seed is the same patient.")
    ] = None,
    *,
    level: Annotated[str, typer.Option("--level", help="What to practise on; ? lists it.")] = "as_they_come",
    setting: Annotated[Setting, typer.Option("--setting", help="Where the patient is seen.")] = (
        Setting.SPECIALIST_CLINIC
    ),
    age: Annotated[
        int | None, typer.Option("--age", min=4, max=100, help="Age in years; else drawn.")
    ] = None,
    sex: Annotated[Sex | None, typer.Option("--sex", help="Sex; else drawn.")] = None,
    lesion: Annotated[
        list[str] | None,
        typer.Option("--lesion", help="For teachers: write a recipe with this lesion, and end; repeatable."),
    ] = None,
    recipe: Annotated[
        Path | None,
        typer.Option("--recipe", help="Take the patient of this recipe.", exists=True, dir_okay=False),
    ] = None,
    minutes: Annotated[
        float | None, typer.Option("--minutes", min=1, max=60, help="Length of the station; else no clock.")
    ] = None,
    told: Annotated[bool, typer.Option("--told", help="Have findings told in words, graded.")] = False,
    cards: Annotated[
        bool, typer.Option("--cards", help="Print the patient as cards for three people, and end.")
    ] = False,
    record: Annotated[
        Path | None,
        typer.Option(
            "--record",
            help="Keep and read your record in this file; when you type, by default in your data folder.",
            dir_okay=False,
            show_default=False,
        ),
    ] = None,
    no_record: Annotated[bool, typer.Option("--no-record", help="Keep and read no record.")] = False,
    due: Annotated[
        bool, typer.Option("--due", help="Take a patient for what your record says is due.")
    ] = False,
    so_far: Annotated[bool, typer.Option("--so-far", help="Show your record, and end.")] = False,
    as_json: AsJson = False,
) -> None:
    """Examine a simulated patient in the terminal, against the clock, and be debriefed.

    Type what you ask and do, in any order: "help" says how. Nothing tells what was left out until "end".
    With --lesion nothing is played: a recipe for a whole class goes to standard output, without the answer.
    """
    if level == "?":
        for each in load_curricula().values():
            print(f"{each.id:14} {each.about}")
        return
    own = own_record(record, none=no_record, asked=due or so_far)
    if so_far:
        show(open_console(), record_page(own, load_protocol()))
        return
    chosen = _chosen(level, seed=seed, setting=setting, age_years=age, sex=sex)
    if recipe is not None:
        chosen = read_recipe(recipe.read_text("utf-8")[:_LONGEST_RECIPE])
    if lesion:
        pairs = [(name, degree) for name, _, degree in (each.partition(":") for each in lesion)]
        print(write_recipe(recipe_with(chosen, pairs)))
        return
    out = sys.stderr if as_json else sys.stdout
    if due:
        chosen = recipe_for(chosen, own.due).recipe
        print(due_line(own), file=out)
    if cards:
        show(open_console(), cards_page(cards_of(draw_patient(chosen))))
        return
    encounter = begin(draw_patient(chosen), Terms(minutes=minutes, told=told))
    encounter = _played(encounter, chosen.seed, out)
    _debriefed(encounter, chosen, own, as_json=as_json)


def _chosen(level: str, *, seed: int | None, **circumstances: Any) -> Recipe:
    curricula = load_curricula()
    if level not in curricula:
        raise UsageError(f"--level {level} is not known; {suggestion(level, curricula)}")
    seed = secrets.randbelow(_SEEDS) if seed is None else seed
    return Recipe(seed=seed, curriculum=level, **circumstances)


def _debriefed(encounter: Encounter, chosen: Recipe, own: OwnRecord, *, as_json: bool) -> None:
    """Tell what it was, and keep what the run showed."""
    answer = debrief(encounter, earlier=topics_of(own.runs))
    if as_json:
        print_json(debrief_tree(answer))
    else:
        show(open_console(), debrief_page(answer, load_words()))
    if own.path is not None and encounter.run.turns:
        run = Past(
            begun=own.now,
            curriculum=chosen.curriculum,
            setting=chosen.setting.value,
            lesson=answer.lesson,
            facts=facts_of(encounter, answer),
        )
        own = with_run(own, own.path, run)
        if not as_json:
            print()
            show(open_console(), kept_page(own, encounter.protocol))
    if answer.workup.failures:
        raise FabellaError("; ".join(answer.workup.failures))


def _played(encounter: Encounter, seed: int, out: TextIO) -> Encounter:
    """Play line by line until the end of the run or of the input."""
    print(f"Patient {seed}. {door_words(encounter.run.door)}", file=out)
    print('Type what you ask and do; "help" says how, "end" ends it.', file=out)
    before = time.monotonic()
    for line in _lines(out):
        thought_s = time.monotonic() - before if sys.stdin.isatty() else 0.0
        try:
            read = read_line(line, protocol=encounter.protocol)
        except InputError as error:
            print(_not_understood(error), file=out)
            continue
        if isinstance(read, Asked):
            for text in _answers(read, encounter):
                print(text, file=out)
            continue
        for number, event in enumerate(read):
            encounter = act(encounter, _after(event, 0.0 if number else thought_s))
            for text in _brought(encounter):
                print(text, file=out)
        before = time.monotonic()
        if encounter.run.finished:
            break
    return encounter


def _not_understood(error: InputError) -> str:
    """Return what was not understood of a line, as sentences."""
    return " ".join(sentence(str(each).removeprefix(": ")) for each in error.problems)


def _after(event: Event, thought_s: float) -> Event:
    return replace(event, thought_s=round(thought_s, 1))


def _lines(out: TextIO) -> Iterator[str]:
    while True:
        if sys.stdin is None:
            return
        if sys.stdin.isatty():
            print("> ", end="", flush=True, file=out)
        line = sys.stdin.readline()
        if not line:
            return
        if line.strip():
            yield line


def _brought(encounter: Encounter) -> Iterator[str]:
    """Yield what the last event brought, the clock first."""
    turn = encounter.run.turns[-1]
    event, seen = turn.event, turn.seen
    parts = []
    if seen.covered:
        parts.append("the legs are covered")
    if seen.refused and not seen.said:
        parts.append(seen.told or "not now")
    elif seen.told:
        parts.append(seen.told)
    elif seen.shown is not None and event.sign is not None:
        parts.append(felt_words(encounter.protocol.sign(event.sign), event.side, seen.shown))
    if seen.said:
        parts.append(f"“{seen.said}”")
    if seen.face is not None and seen.face.value != "calm":
        parts.append(f"the face: {seen.face.value}")
    if event.act is Act.RECORD:
        parts.append("noted")
    if not seen.refused:
        parts.extend(_heard(event, encounter.protocol))
    if event.act is Act.WATCH_FACE or not parts:
        parts.append("done")
    text = "; ".join(each for each in parts if each)
    yield f"{clock(seen.clock_s)}  {text[:1].upper()}{text[1:]}"


def _heard(event: Event, protocol: Protocol) -> Iterator[str]:
    """Yield what was typed as it was understood, where nothing else shows it."""
    if event.act is Act.BELIEVE:
        named = (f"{load_lesions()[lesion].name} {chance:.0%}" for lesion, chance in event.beliefs)
        yield f"you think: {', '.join(named) or 'nothing yet'}"
    if event.act is Act.COMPLETE:
        yield f"to complete: {'; '.join(event.would) or 'nothing'}"
    if event.act is Act.POSITION and event.position is not None:
        yield f"position: {lowered(protocol.position(event.position).name)}"


def _answers(asked: Asked, encounter: Encounter) -> Iterator[str]:
    run, protocol = encounter.run, encounter.protocol
    match asked.what:
        case "help":
            yield HELP
        case "time":
            left = "" if run.left_s is None else f", {clock(run.left_s)} left"
            yield f"{clock(run.clock_s)}{left}; position: {lowered(protocol.position(run.position).name)}"
        case "list":
            yield from _listed(asked.about, protocol)
        case "levels":
            try:
                sign = find_sign([each for each in asked.about.split() if each not in list(Side)], protocol)
            except InputError as error:
                yield _not_understood(error)
                return
            measure = sign.scale.measure
            unit = f"a number of {measure.unit.value}" if measure else ""
            graded = (*(each.words for each in sign.scale.levels), unit)
            yield f"{sign.name}: {', '.join(filter(None, graded))}"


def _listed(about: str, protocol: Protocol) -> Iterator[str]:
    for position in protocol.positions:
        signs = [
            sign
            for sign in protocol.at(position.id)
            if sign.seconds
            and (
                not about
                or position.id.replace("_", " ").startswith(about)
                or sign.kind.value == about
                or about in sign.name.casefold()
            )
        ]
        if signs:
            yield f"{position.name}: {', '.join(sign.id.replace('_', ' ') for sign in signs)}"
