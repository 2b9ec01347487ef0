"""What `fabella exam` prints: feedback, reports, stations and their papers."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from fabella import __version__
from fabella.assess import Marks, Rules, alternatives, analyse, compare, decide
from fabella.cli.drawing import open_console
from fabella.cli.exam_analyse import frozen, write_files
from fabella.cli.exam_files import Stations, read_stations
from fabella.cli.whole_file import made_folder, write_whole
from fabella.errors import InputError, UsageError
from fabella.exam import load_topics, plain_stations, propose_station, write_station
from fabella.papers import (
    Analysed,
    Cohort,
    as_papers,
    board_report,
    feedback_files,
    station_leaves,
    station_report,
)
from fabella.papers.words import names_of
from fabella.protocol import load_protocol
from fabella.report import as_pdf
from fabella.report.wording import counted

_AT_RANDOM = "Candidates were allotted to circuits at random, as declared for this analysis (--at-random)."


def feedback(marks: Marks, known: Stations, rules: Rules, *, title: str, day: date, out: Path) -> None:
    """Write one PDF for each candidate into a folder, with a bar that shows how far it has come."""
    cohort = Cohort(
        exam=title,
        held_on=day,
        marks=marks,
        results=decide(marks, rules),
        stations=known.worded or plain_stations(known.blueprint),
    )
    made_folder(out)
    with _watch() as watch:
        task = watch.add_task("Feedback", total=marks.n_candidates)
        for name, content in feedback_files(cohort, written_on=day):
            write_whole(out / name, content)
            watch.advance(task)
    print(f"{counted(marks.n_candidates, 'page')} in {out}")


def report(
    marks: Marks,
    known: Stations,
    rules: Rules,
    *,
    title: str,
    day: date,
    at_random: bool,
    target: float,
    out: Path,
) -> None:
    """Write the board's report, one of each station, and what is needed to make them again."""
    found = analyse(marks, rules, at_random=at_random, target=target)
    analysed = Analysed(
        title=title,
        held_on=day,
        analysis=found,
        alternatives=compare(marks, alternatives(rules)),
        target=target,
        version=__version__,
        names=names_of(known.worded or ()),
        allotted=_AT_RANDOM if at_random else "",
    )
    documents = {"board.pdf": board_report(analysed)}
    for place, station in enumerate(known.worded or plain_stations(known.blueprint)):
        documents[f"station-{place + 1}.pdf"] = station_report(analysed, marks, station, place)
    files: dict[str, str | bytes] = {}
    with _watch() as watch:
        task = watch.add_task("Reports", total=len(documents))
        for name, document in documents.items():
            files[name] = as_pdf(document, written_on=day)
            watch.advance(task)
    write_files(out, {**files, **frozen(marks, rules, found)})
    print(f"{counted(len(documents), 'report')} in {out}")


def station(topic: str, *, minutes: float, called: str, painful: bool, out: Path | None) -> None:
    """Propose a station from the protocol; what does not fit its time is said."""
    topics = load_topics()
    if topic == "?":
        for each in topics.values():
            print(f"{each.id:16} {each.name}")
        return
    try:
        proposal = propose_station(
            load_protocol(), topic=topic, minutes=minutes, station_id=called, painful=painful
        )
    except InputError as error:  # all of it was said on the command line
        raise UsageError(str(error)) from None
    text = write_station(proposal.station)
    if out is None:
        print(text, end="")
    else:
        write_whole(out, text.encode())
    # What is to be known of it, beside the station itself where that goes to standard output.
    stream, begins = (sys.stderr, "fabella: ") if out is None else (sys.stdout, "")
    items = counted(len(proposal.station.items), "item")
    print(f"{begins}{items} take {proposal.seconds / 60:.1f} of {minutes:g} minutes", file=stream)
    if proposal.over_s:
        print(f"{begins}{proposal.over_s} s too long: take items out, or give it more time", file=stream)
    if proposal.painful:
        names = ", ".join(each.id for each in proposal.painful)
        print(f"{begins}left out because they hurt: {names}", file=stream)
    if proposal.hurried:
        names = ", ".join(each.id for each in proposal.hurried)
        print(f"{begins}left out for want of time: {names}", file=stream)


def papers(path: Path, *, title: str, day: date, out: Path | None) -> None:
    """Print what candidate, examiner and volunteer read at each station, and what has to be there."""
    if not path.exists():
        raise UsageError(f"{path}: there is no such file")
    if out is None or out.suffix != ".pdf":
        raise UsageError("exam papers needs --out: a file ending in .pdf")
    known = read_stations(path)
    if not known.worded:
        raise UsageError(f"{path}: papers are printed from station files, which have words")
    leaves = [leaf for each in known.worded for leaf in station_leaves(each, exam=title)]
    write_whole(out, as_papers(leaves, title=title, foot=title, written_on=day))
    print(f"{counted(len(leaves), 'paper')} of {counted(len(known.worded), 'station')} in {out}")


def _watch() -> Progress:
    console = open_console(stderr=True)
    return Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=console,
        disable=not console.is_terminal,
        transient=True,
    )
