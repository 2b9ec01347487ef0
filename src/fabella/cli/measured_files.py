"""What a measuring command writes: a drawing of how it measured, and its findings in an examination file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace as changed
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.clock import today
from fabella.cli.intake import STANDARD_INPUT, take_one
from fabella.cli.whole_file import write_whole
from fabella.errors import InputError, Problem
from fabella.protocol import load_protocol
from fabella.record import Examination, Finding, check_examination
from fabella.report.document import Document

Replace = Annotated[
    bool,
    typer.Option("--replace", help="Replace what --into records already, and the file of --out."),
]
_DRAWN = frozenset({".svg", ".pdf"})


def faults_of_files(*, out: Path | None, into: Path | None, replacing: bool) -> Iterator[str]:
    """Yield what is wrong with the files that are to be written, each with its remedy."""
    if out is not None and out.suffix.lower() not in _DRAWN:
        yield f"{out}: --out draws a file ending in .svg or .pdf"
    elif out is not None and out.exists() and not replacing:
        yield f"{out}: is there already; name another file, or say --replace"
    if into == STANDARD_INPUT:
        yield "--into -: standard input cannot be written to; name an examination file"
    elif into is not None and into.suffix == ".jsonl":
        yield f"{into}: holds one examination a line; --into takes a file of one"
    if replacing and into is None and out is None:
        yield "--replace goes with --into or --out"


def with_findings(name: str, findings: tuple[Finding, ...], *, replacing: bool) -> Examination:
    """Return the examination of the file of this name with findings added, those there replaced if asked.

    Raises
    ------
    InputError
        Listing every finding recorded otherwise, unless ``replacing``, and all that no examination can hold.
    """
    examination = take_one(name)
    new = {(each.sign, each.side): each for each in findings}
    if not replacing and (problems := tuple(_recorded(examination, new.values()))):
        raise InputError(problems)
    kept = [new.pop((each.sign, each.side), each) for each in examination.findings]
    found = changed(examination, findings=(*kept, *new.values()))
    check_examination(found, protocol=load_protocol(), today=today())
    return found


def _recorded(examination: Examination, new: Iterable[Finding]) -> Iterator[Problem]:
    """Yield a problem for each finding that is there already with another value."""
    for each in new:
        old = examination.finding(each.sign, each.side)
        if old is not None and old != each:
            yield Problem(
                place=each.sign if each.side is None else f"{each.sign}, {each.side}",
                value=f"{old.value:g}" if old.value is not None else str(old.state),
                says=f"is recorded already; measured now: {each.value:g} {each.unit}",
                remedy="leave --into out to keep it, or say --replace",
            )


def draw(out: Path, *, svg: Callable[[], str], page: Callable[[], Document]) -> None:
    """Write a drawing as SVG, or a page with it as PDF, whichever the name of the file asks for."""
    if out.suffix.lower() == ".svg":
        write_whole(out, svg().encode())
        return
    from fabella.report.pdf import as_pdf  # a drawing alone needs no typesetting

    write_whole(out, as_pdf(page(), written_on=today()))
