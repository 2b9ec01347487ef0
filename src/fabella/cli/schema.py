"""The command that writes the JSON Schema of what Fabella reads and of what it answers."""

from __future__ import annotations

import json
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from fabella.cli.whole_file import write_whole
from fabella.protocol import load_protocol
from fabella.record import examination_schema


class Of(StrEnum):
    """What a schema can describe: a file that is read, or an answer in JSON."""

    EXAMINATION = "examination"
    CONFIRMATION = "confirmation"
    CONCLUSION = "conclusion"
    NEXT_STEPS = "next_steps"


def schema(
    of: Annotated[
        Of, typer.Option("--of", help="A file that is read, or what conclude or next print as JSON.")
    ] = Of.EXAMINATION,
    out: Annotated[
        Path | None,
        typer.Option("--out", dir_okay=False, help="Write to this file; without it, to standard output."),
    ] = None,
) -> None:
    """Write the JSON Schema (draft 2020-12) of files that are read, or of answers in JSON."""
    text = json.dumps(_schema(of), ensure_ascii=False, indent=2) + "\n"
    if out is None:
        print(text, end="")
        return
    write_whole(out, text.encode())


def _schema(of: Of) -> dict[str, Any]:
    if of is Of.EXAMINATION:
        return examination_schema(load_protocol())
    from fabella.anatomy import load_lesions  # noqa: PLC0415  the answers come with the whole of numpy
    from fabella.cli.answer_schema import conclusion_schema, steps_schema  # noqa: PLC0415
    from fabella.hands.schema import confirmation_schema  # noqa: PLC0415

    if of is Of.CONFIRMATION:
        return confirmation_schema(load_lesions())
    return conclusion_schema(load_lesions()) if of is Of.CONCLUSION else steps_schema()
