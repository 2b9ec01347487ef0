"""``fabella gait``: a walk measured from taps, a film's events, angles of the knees, or markers."""

from __future__ import annotations

import tempfile
from datetime import UTC, date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.drawing import open_console, show
from fabella.cli.gait_answer import gait_tree
from fabella.cli.gait_page import page_of
from fabella.cli.intake import AsJson, paths_of, take_one
from fabella.cli.streams import print_json
from fabella.cli.whole_file import read_whole, text_of, write_whole
from fabella.errors import InputError, Problem, UsageError
from fabella.measure.walking import Record, Walking, measure_walk
from fabella.measure.walking_c3d import is_c3d, read_c3d
from fabella.measure.walking_table import Events, read_table
from fabella.protocol import load_protocol
from fabella.record import check_examination, write_examination
from fabella.record.walked import findings_of_walk, with_measured
from fabella.report.walking_chart import build_walk, render_walk
from fabella.report.walking_document import walk_document

_AXES = "xyz"


class Axis(StrEnum):
    """An axis of markers."""

    X = "x"
    Y = "y"
    Z = "z"


class Unit(StrEnum):
    """What markers in a table are measured in."""

    MM = "mm"
    CM = "cm"
    M = "m"


def gait(  # noqa: PLR0917  a command line has no keywords of its own
    file: Annotated[
        str,
        typer.Argument(
            metavar="FILE",
            help="CSV of contacts (foot, time_s), of knee angles or of markers, or a C3D file.",
        ),
    ],
    name: Annotated[
        list[str] | None,
        typer.Option(
            "--name", help="What a column or marker is called in the file: right_heel=NAME; may be repeated."
        ),
    ] = None,
    events: Annotated[
        Path | None,
        typer.Option("--events", help="CSV of contacts on the same clock, instead of those found."),
    ] = None,
    fps: Annotated[
        float | None,
        typer.Option("--fps", min=1, max=10_000, help="Frames a second, where frames are counted."),
    ] = None,
    distance: Annotated[
        float | None,
        typer.Option("--distance", min=0.5, max=1000, help="Metres between the first contact and the last."),
    ] = None,
    ends: Annotated[
        int | None,
        typer.Option(
            "--ends", min=0, max=20, help="Contacts left out at each end; 2 of those timed by hand."
        ),
    ] = None,
    unit: Annotated[Unit, typer.Option("--unit", help="Of markers in CSV.")] = Unit.MM,
    up: Annotated[Axis, typer.Option("--up", help="Which axis of the markers points upwards.")] = Axis.Z,
    out: Annotated[
        Path | None,
        typer.Option("--out", dir_okay=False, help="Draw the walk: a file ending in .svg or .pdf."),
    ] = None,
    into: Annotated[
        Path | None,
        typer.Option("--into", dir_okay=False, help="Add the findings to this examination file."),
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="With --into: replace what is recorded already.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Measure a walk from taps, a film's events, knee angles or markers, with errors."""
    if out is not None and out.suffix.lower() not in {".svg", ".pdf"}:
        raise UsageError(f"{out}: --out draws a file ending in .svg or .pdf")
    if replace and into is None:
        raise UsageError("--replace goes with --into")
    names = _names(name or [])
    record = _read(Path(file), names, fps=fps, unit=unit, up=_AXES.index(up))
    given = None if events is None else _events(events, fps)
    walking = measure_walk(record, events=given, ends=ends, distance_m=distance)
    findings = findings_of_walk(walking)
    if into is not None:
        _put(into, walking, replacing=replace)
    if out is not None:
        _draw(out, walking)
    if as_json:
        print_json(gait_tree(walking, findings))
        return
    show(open_console(), page_of(walking))
    if into is not None:
        print(f"{len(findings)} findings stand in {into}.")


def _names(given: list[str]) -> dict[str, str]:
    names: dict[str, str] = {}
    for each in given:
        role, parting, name = each.partition("=")
        if not (parting and role.strip() and name.strip()):
            raise UsageError(f"--name {each}: write ROLE=NAME, such as right_heel=HEEL_R")
        if names.setdefault(role.strip(), name.strip()) != name.strip():
            raise UsageError(f"--name {each}: {role.strip()} is named twice")
    return names


def _read(path: Path, names: dict[str, str], *, fps: float | None, unit: Unit, up: int) -> Record:
    paths_of([str(path)])
    if is_c3d(read_whole(path)) or path.suffix.lower() == ".c3d":
        return read_c3d(read_whole(path), names=names, up=up)
    return read_table(text_of(path), names=names, frames_per_s=fps, unit=unit, up=up)


def _events(path: Path, fps: float | None) -> Events:
    paths_of([str(path)])
    found = read_table(text_of(path), names={}, frames_per_s=fps)
    if isinstance(found, Events):
        return found
    remedy = "give a table with the columns foot and time_s, or frame with --fps"
    raise InputError([Problem(place=str(path), value="", says="is no table of contacts", remedy=remedy)])


def _put(into: Path, walking: Walking, *, replacing: bool) -> None:
    """Write the findings into an examination file, which is whole before and after."""
    if into.suffix == ".jsonl":
        raise UsageError(f"{into}: holds one examination a line; --into takes a file of one")
    found = with_measured(take_one(str(into)), findings_of_walk(walking), replacing=replacing)
    check_examination(found, protocol=load_protocol(), today=_today())
    with tempfile.NamedTemporaryFile("w", dir=into.parent, delete=False, encoding="utf-8") as beside:
        beside.write(write_examination(found))
    Path(beside.name).chmod(into.stat().st_mode)
    Path(beside.name).replace(into)


def _draw(out: Path, walking: Walking) -> None:
    if out.suffix.lower() == ".svg":
        write_whole(out, render_walk(build_walk(walking)).encode())
        return
    from fabella.report.pdf import as_pdf  # noqa: PLC0415  a drawing alone needs no typesetting

    write_whole(out, as_pdf(walk_document(walking, made_on=_today()), written_on=_today()))


def _today() -> date:
    return datetime.now(tz=UTC).astimezone().date()
