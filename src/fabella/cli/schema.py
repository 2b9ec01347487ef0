"""The command that writes the JSON Schema of what Fabella reads and of what it answers."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from fabella.cli.streams import print_json
from fabella.cli.whole_file import write_whole
from fabella.protocol import load_protocol
from fabella.record import examination_schema


class Of(StrEnum):
    """What a schema can describe: a file that is read, or an answer in JSON."""

    EXAMINATION = "examination"
    CONFIRMATION = "confirmation"
    CONCLUSION = "conclusion"
    NEXT_STEPS = "next_steps"
    POINTS = "points"
    MEASUREMENT = "measurement"
    VIEWS = "views"
    GAIT = "gait"


def schema(
    of: Annotated[
        Of, typer.Option("--of", help="A file that is read, or what a command prints as JSON.")
    ] = Of.EXAMINATION,
    out: Annotated[
        Path | None,
        typer.Option("--out", dir_okay=False, help="Write to this file; without it, to standard output."),
    ] = None,
) -> None:
    """Write the JSON Schema (draft 2020-12) of files that are read, or of answers in JSON."""
    if out is None:
        print_json(_schema(of))
        return
    write_whole(out, (json.dumps(_schema(of), ensure_ascii=False, indent=2) + "\n").encode())


def _schema(of: Of) -> dict[str, Any]:
    if of is Of.EXAMINATION:
        return examination_schema(load_protocol())
    # What describes an answer comes with the whole of numpy.
    from fabella.anatomy import load_lesions
    from fabella.cli import answer_schema, measured_schema
    from fabella.hands.schema import confirmation_schema

    schemas: Mapping[Of, Callable[[], dict[str, Any]]] = {
        Of.CONFIRMATION: lambda: confirmation_schema(load_lesions()),
        Of.CONCLUSION: lambda: answer_schema.conclusion_schema(load_lesions()),
        Of.NEXT_STEPS: answer_schema.steps_schema,
        Of.POINTS: measured_schema.points_schema,
        Of.MEASUREMENT: measured_schema.measurement_schema,
        Of.VIEWS: measured_schema.views_schema,
        Of.GAIT: measured_schema.gait_schema,
    }
    return schemas[of]()
