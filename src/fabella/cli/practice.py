"""``fabella practice``: examine a simulated patient in the terminal, and be debriefed."""

from __future__ import annotations

import secrets
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from fabella.cli.drawing import open_console, show
from fabella.cli.intake import AsJson
from fabella.cli.practice_page import cards_page, debrief_page
from fabella.cli.practice_play import played
from fabella.cli.practice_record import OwnRecord, due_line, kept_page, own_record, record_page, with_run
from fabella.cli.streams import print_json
from fabella.cli.whole_file import text_of
from fabella.cli.words import load_words
from fabella.errors import FabellaError, UsageError, suggestion
from fabella.protocol import load_protocol
from fabella.record import Setting, Sex
from fabella.teach import (
    Encounter,
    Recipe,
    Terms,
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
        chosen = read_recipe(text_of(recipe)[:_LONGEST_RECIPE])
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
    encounter = played(encounter, chosen.seed, out)
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
