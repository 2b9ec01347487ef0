"""The command that writes the JSON Schema of examination files."""

import json
from pathlib import Path
from typing import Annotated

import typer

from fabella.errors import UsageError
from fabella.protocol import load_protocol
from fabella.record import examination_schema


def schema(
    out: Annotated[
        Path | None,
        typer.Option("--out", dir_okay=False, help="Write to this file; without it, to standard output."),
    ] = None,
) -> None:
    """Write the JSON Schema (draft 2020-12) of examination files."""
    text = json.dumps(examination_schema(load_protocol()), ensure_ascii=False, indent=2) + "\n"
    if out is None:
        print(text, end="")
        return
    try:
        out.write_text(text, encoding="utf-8")
    except OSError as error:
        raise UsageError(f"cannot write {out}: {error.strerror}") from error
