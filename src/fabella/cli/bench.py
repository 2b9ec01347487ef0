"""``fabella bench``: how fast and how large, as ratios measured in one run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from time import perf_counter, process_time
from typing import Annotated

import numpy as np
import typer
from rich.console import RenderableType
from rich.text import Text

from fabella.bench import Machine, Part, Report, Sizes, about, as_markdown, as_tree, line_of, run
from fabella.cli.clock import today
from fabella.cli.drawing import open_console, paragraph, show
from fabella.cli.intake import AsJson
from fabella.cli.streams import print_json
from fabella.errors import InputError, UsageError
from fabella.protocol import load_protocol
from fabella.record import Examination, read_examination

_EXAMPLES = Path("examples")
_MILLION = 1_000_000
_ALL_PAGES = 2_000
_SEED = 20
_ROW = "{:<36}{:>12}{:>12}{:>8}  {}"


def bench(
    part: Annotated[
        list[Part] | None,
        typer.Argument(help="Measure only these parts.", show_default=False),
    ] = None,
    *,
    full: Annotated[
        bool, typer.Option("--full", help="Conclude a million examinations, write feedback for 2,000.")
    ] = False,
    knees: Annotated[
        int | None, typer.Option("--knees", min=1, help="Examinations of the cohort.", show_default=False)
    ] = None,
    examinations: Annotated[
        int, typer.Option("--examinations", min=1, help="Simulated examinations worked up.")
    ] = Sizes().examinations,
    as_json: AsJson = False,
    markdown: Annotated[
        bool, typer.Option("--markdown", help="Print the page of the documentation.")
    ] = False,
) -> None:
    """Measure speed and memory on this machine, as ratios in one run."""
    if as_json and markdown:
        raise UsageError("ask for --json or --markdown, not for both")
    if full and knees is not None:
        raise UsageError("ask for --full or --knees, not for both")
    sizes = replace(Sizes(), examinations=examinations, knees=_MILLION if full else knees or Sizes().knees)
    if full:
        sizes = replace(sizes, pages=_ALL_PAGES)
    with open_console(stderr=True).status("") as status:
        report = run(
            Machine(perf_counter, process_time),
            measured_on=today(),
            sizes=sizes,
            rng=np.random.default_rng(_SEED),
            parts=part or tuple(Part),
            examples=tuple(_examples()),
            begin=lambda name: status.update(f"Measuring: {name}"),
        )
    if as_json:
        print_json(as_tree(report))
    elif markdown:
        print(as_markdown(report), end="")
    else:
        show(open_console(), _page(report))


def _examples() -> Iterator[Examination]:
    """Yield the examples that lie here, if any."""
    for path in sorted(_EXAMPLES.glob("*.json")):
        try:
            yield read_examination(path.read_bytes(), protocol=load_protocol(), today=today())
        except InputError:
            continue


def _page(report: Report) -> Iterator[RenderableType]:
    before = ""
    for figure in report.figures:
        part, what, measured, limit, ratio, met, note = line_of(figure)
        if part != before:
            yield Text(
                _ROW.format(part, "measured", "limit", "ratio", "") if not before else part, style="bold"
            )
        before = part
        row = Text(_ROW.format(f"  {what}", measured, limit, ratio, ""))
        yield row.append(met, style={"met": "green", "not met": "bold red"}.get(met, ""))
        if note:
            yield paragraph(note, indent=4, style="dim")
    yield ""
    yield paragraph(about(report), indent=0, style="dim")
