"""``fabella exam``: marks analysed, decided and reported; exams planned; stations proposed and printed."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.clock import day_of
from fabella.cli.intake import AsJson
from fabella.errors import UsageError


class Deed(StrEnum):
    """What is done."""

    ANALYSE = "analyse"
    COMPARE = "compare"
    FEEDBACK = "feedback"
    REPORT = "report"
    PLAN = "plan"
    STATION = "station"
    PAPERS = "papers"


def exam(  # noqa: PLR0917  a command line has no keywords of its own
    deed: Annotated[Deed, typer.Argument(help="What to do.", show_default=False)],
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT",
            help="Marks (CSV, Parquet), file of a plan, topic of station (? lists them), stations to print.",
            show_default=False,
        ),
    ],
    stations: Annotated[
        Path | None,
        typer.Option(
            "--stations",
            help="A folder of station files, a blueprint in JSON, or a table of items in CSV.",
            exists=True,
            show_default=False,
        ),
    ] = None,
    rules: Annotated[
        Path | None,
        typer.Option(
            "--rules", help="Rules in JSON; else the usual.", exists=True, dir_okay=False, show_default=False
        ),
    ] = None,
    candidates: Annotated[
        Path | None,
        typer.Option(
            "--candidates",
            help="Who was invited, one a line.",
            exists=True,
            dir_okay=False,
            show_default=False,
        ),
    ] = None,
    examiners: Annotated[
        Path | None,
        typer.Option(
            "--examiners", help="Who may mark, one a line.", exists=True, dir_okay=False, show_default=False
        ),
    ] = None,
    at_random: Annotated[
        bool,
        typer.Option(
            "--at-random",
            help="Candidates were allotted at random: compare examiners who share none of them.",
        ),
    ] = False,
    target: Annotated[
        float, typer.Option("--target", min=0.01, max=0.99, help="Coefficient that stations are asked for.")
    ] = 0.8,
    title: Annotated[
        str, typer.Option("--title", help="Name of the exam on what is printed.")
    ] = "Practical exam",
    dated: Annotated[
        str | None,
        typer.Option("--date", help="Its day, YYYY-MM-DD; today by default.", show_default=False),
    ] = None,
    minutes: Annotated[float, typer.Option("--minutes", help="Length of a station.")] = 8.0,
    called: Annotated[str, typer.Option("--id", help="Name of a station.")] = "S1",
    painful: Annotated[bool, typer.Option("--painful", help="Keep what hurts the volunteer.")] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", help="Folder, or for station and papers a file, to write to.", show_default=False
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Analyse the marks of an exam, decide, report and give feedback; plan exams, make stations.

    Everything wrong with the files is listed at once. The same files give the same bytes.
    """
    day, title = day_of(dated), _titled(title)
    match deed:
        case Deed.PLAN:
            from fabella.cli.exam_plan import plan

            plan(Path(what), as_json=as_json)
        case Deed.STATION:
            from fabella.cli.exam_prints import station

            station(what, minutes=minutes, called=called, painful=painful, out=out)
        case Deed.PAPERS:
            from fabella.cli.exam_prints import papers

            papers(Path(what), title=title, day=day, out=out)
        case _:
            from fabella.cli.exam_files import read_exam

            if stations is None:
                raise UsageError(f"exam {deed} needs --stations: what the marks are of")
            if deed in {Deed.FEEDBACK, Deed.REPORT} and out is None:
                raise UsageError(f"exam {deed} needs --out: the folder to write to")
            marks, known, chosen = read_exam(
                _there(what), stations, rules, candidates=candidates, examiners=examiners
            )
            if deed is Deed.ANALYSE:
                from fabella.cli.exam_analyse import run_analysis

                run_analysis(marks, chosen, at_random=at_random, target=target, out=out, as_json=as_json)
            elif deed is Deed.COMPARE:
                from fabella.cli.exam_analyse import run_comparison

                run_comparison(marks, chosen, as_json=as_json)
            elif out is not None:
                from fabella.cli import exam_prints

                if deed is Deed.FEEDBACK:
                    exam_prints.feedback(marks, known, chosen, title=title, day=day, out=out)
                else:
                    exam_prints.report(
                        marks,
                        known,
                        chosen,
                        title=title,
                        day=day,
                        at_random=at_random,
                        target=target,
                        out=out,
                    )


def _titled(title: str) -> str:
    if not title.strip():
        raise UsageError("--title is empty; write the name of the exam")
    return title


def _there(name: str) -> Path:
    path = Path(name)
    if not path.is_file():
        raise UsageError(f"{name}: {'is no file of marks' if path.exists() else 'there is no such file'}")
    return path
