"""``fabella fhir``: a worked-up examination as a document of HL7 FHIR R4, or the codes that it uses."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from fabella.cli.intake import Earlier, JsonAnyway, take_earlier, take_one
from fabella.cli.streams import print_json
from fabella.cli.whole_file import write_whole
from fabella.errors import UsageError
from fabella.fhir import as_json, bundle, code_systems
from fabella.report import as_pdf, build_letter, letter_document, not_signed
from fabella.workup import run_workup


def fhir(
    file: Annotated[
        str | None,
        typer.Argument(help="An examination file; - is standard input.", show_default=False),
    ] = None,
    *,
    out: Annotated[
        Path | None,
        typer.Option("--out", dir_okay=False, help="Write to this file; without it, to standard output."),
    ] = None,
    to: Annotated[str, typer.Option("--to", help="Addressee of the letter, as written.")] = "",
    earlier: Earlier = None,
    issuer: Annotated[
        str, typer.Option("--issuer", help="Who numbers these examinations; goes into every id.")
    ] = "",
    at: Annotated[
        str | None,
        typer.Option("--at", help="Moment of the document, such as 2026-02-03T14:05+01:00; now by default."),
    ] = None,
    pdf: Annotated[bool, typer.Option("--pdf", help="Put the letter in as PDF, too.")] = False,
    practice: Annotated[
        bool, typer.Option("--practice", help="Mark it as practice; needed for a simulated patient.")
    ] = False,
    codes: Annotated[
        bool, typer.Option("--codes", help="Write our code systems instead; takes no file.")
    ] = False,
    as_json: JsonAnyway = False,  # noqa: ARG001  there is nothing to choose
) -> None:
    """Write a worked-up examination as a document of HL7 FHIR R4, for other programs."""
    if codes:
        if file is not None:
            raise UsageError("--codes writes the codes of every document; leave the file out")
        _write(code_systems(), out)
        return
    if file is None:
        raise UsageError("name an examination file, - for standard input, or --codes")
    when = datetime.now(tz=UTC).astimezone().replace(microsecond=0) if at is None else _moment(at)
    workup = run_workup(take_one(file))
    letter = build_letter(
        workup,
        written_on=when.date(),
        addressee=to,
        earlier=tuple(map(run_workup, take_earlier(earlier))),
        practice=practice,
    )
    tree = bundle(
        workup,
        not_signed(letter_document(letter, drawn=False)),
        when=when,
        issuer=issuer,
        pdf=as_pdf(not_signed(letter_document(letter)), written_on=when.date()) if pdf else None,
        practice=practice,
    )
    _write(tree, out)
    if workup.failures:
        raise typer.Exit(1)


def _moment(written: str) -> datetime:
    try:
        when = datetime.fromisoformat(written)
    except ValueError:
        when = None
    if when is None or when.tzinfo is None:
        raise UsageError(f"--at '{written}' is no moment with a time zone; write 2026-02-03T14:05+01:00")
    return when


def _write(tree: dict[str, Any], out: Path | None) -> None:
    if out is None:
        print_json(tree)
        return
    write_whole(out, as_json(tree).encode())
    print(f"fabella: wrote {out}", file=sys.stderr)
