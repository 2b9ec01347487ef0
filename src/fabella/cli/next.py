"""``fabella next``: what to ask, examine or image next, with what each outcome would do."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

import typer
from rich.console import RenderableType

from fabella.anatomy import Side
from fabella.cli.drawing import open_console, paragraph, show
from fabella.cli.intake import AsJson, OneFile, OneSide, sides_of, take_one
from fabella.cli.page import pressing_questions
from fabella.cli.steps_page import steps_block
from fabella.cli.streams import print_json
from fabella.cli.words import CAUTION, load_words
from fabella.report.answer import steps_tree
from fabella.report.cannot_wait import matters_of, open_rules, urgent_matters
from fabella.report.wording import sentence
from fabella.workup import Workup, run_workup


def next(  # noqa: A001  it is the name of the command
    file: OneFile,
    *,
    side: OneSide = None,
    top: Annotated[
        int, typer.Option("--top", min=1, help="How many steps at the bedside, and as many images.")
    ] = 8,
    as_json: AsJson = False,
) -> None:
    """Rank what to ask, examine or image next, with what each outcome would do.

    What cannot wait comes first, then what could not be excluded, then what tells most for its time and pain;
    what must not be done now is named with the reason.
    """
    workup, sides = run_workup(take_one(file)), sides_of(side)
    if as_json:
        print_json(steps_tree(workup, sides=sides, top=top))
    else:
        show(open_console(), _page(workup, sides, top))
    if workup.failures:
        raise typer.Exit(1)


def _page(workup: Workup, sides: tuple[Side, ...], top: int) -> Iterator[RenderableType]:
    for failure in workup.failures:
        yield paragraph(sentence(failure), indent=0, style="bold")
    matters = matters_of(urgent_matters(workup.alarms))
    for matter in matters:
        names = "; ".join(each.name for each in (matter.told, *matter.also))
        mark, style = ("-", "") if matter.can_wait else ("!", "bold")
        yield paragraph(f"{matter.told.place}: {names}. {matter.told.action}", mark=mark, style=style)
    unsettled = tuple(pressing_questions(open_rules(workup.alarms)))
    yield from unsettled
    if matters or unsettled:
        yield ""
    if workup.advice is not None:
        yield from steps_block(workup.advice, load_words(), sides=sides, top=top)
    yield ""
    yield paragraph(f"Evidence {workup.edition}. {CAUTION}", indent=0, style="dim")
