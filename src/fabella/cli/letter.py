"""``fabella letter``: the letter to the referring doctor or the page for the patient: text, PDF, drawing."""

import sys
from dataclasses import asdict, replace
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.clock import day_of
from fabella.cli.intake import Earlier, OneFile, take_earlier, take_one
from fabella.cli.letterhead import letterhead_in
from fabella.cli.streams import print_json
from fabella.cli.whole_file import write_whole
from fabella.errors import UsageError
from fabella.report import (
    Document,
    LetterContext,
    SummaryContext,
    as_pdf,
    as_text,
    build_letter,
    build_plate,
    build_summary,
    letter_document,
    not_signed,
    readings_of,
    render_plate,
    summary_document,
)
from fabella.workup import Workup, run_workup

_SUFFIXES = (".pdf", ".txt", ".svg")


def letter(  # noqa: PLR0917  a command line has no keywords of its own
    file: OneFile,
    patient: Annotated[bool, typer.Option("--patient", help="Write the page for the patient.")] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", help="File to write: .pdf, .txt, or .svg for the drawing alone.", show_default=False
        ),
    ] = None,
    earlier: Earlier = None,
    text: Annotated[
        bool, typer.Option("--text", help="Print plain text; also what happens without --out.")
    ] = False,
    to: Annotated[str, typer.Option("--to", help="Addressee, as written.", show_default=False)] = "",
    letterhead: Annotated[
        Path | None,
        typer.Option("--letterhead", help="A text file that heads it: the sender.", show_default=False),
    ] = None,
    dated: Annotated[
        str | None,
        typer.Option("--date", help="Date of the letter, YYYY-MM-DD; today by default.", show_default=False),
    ] = None,
    practice: Annotated[
        bool, typer.Option("--practice", help="Mark it as practice; needed for a simulated patient.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print everything it says as JSON.")] = False,
) -> None:
    """Write the letter about one examination, or the page for the patient."""
    written_on = day_of(dated)
    if out is not None and out.suffix not in _SUFFIXES:
        raise UsageError(f"{out.name}: the name must end in {', '.join(_SUFFIXES)}")
    if patient and to:
        raise UsageError("the page for the patient has no addressee; leave --to out")
    workup = run_workup(take_one(file))
    before = tuple(map(run_workup, take_earlier(earlier)))
    context: LetterContext | SummaryContext = (
        build_summary(workup, written_on=written_on, earlier=before, practice=practice)
        if patient
        else build_letter(workup, written_on=written_on, addressee=to, earlier=before, practice=practice)
    )
    drawn = out is not None and out.suffix == ".pdf"
    head = letterhead_in(letterhead)
    document = not_signed(
        summary_document(context, drawn=drawn)
        if isinstance(context, SummaryContext)
        else letter_document(context, drawn=drawn)
    )
    document = replace(document, sender=head)
    if out is not None:
        write_whole(out, _content(out.suffix, document, workup, written_on))
        print(f"fabella: wrote {out}", file=sys.stderr)
    if as_json:
        print_json(asdict(context))
    elif text or out is None:
        print(as_text(document), end="")


def _content(suffix: str, document: Document, workup: Workup, written_on: date) -> bytes:
    if suffix == ".pdf":
        return as_pdf(document, written_on=written_on)
    if suffix == ".svg":
        return render_plate(build_plate(readings_of(workup))).encode()
    return as_text(document).encode()
