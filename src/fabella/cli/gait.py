"""``fabella gait``: a walk measured from taps, a film's events, angles of the knees, or markers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.clock import today
from fabella.cli.drawing import open_console, show
from fabella.cli.gait_answer import gait_tree
from fabella.cli.gait_page import page_of
from fabella.cli.intake import AsJson, paths_of
from fabella.cli.measured_files import Replace, draw, faults_of_files, with_findings
from fabella.cli.streams import print_json
from fabella.cli.whole_file import read_whole, text_in, text_of, write_whole
from fabella.errors import InputError, UsageError
from fabella.measure.walking import Record, measure_walk
from fabella.measure.walking_c3d import is_c3d, read_c3d
from fabella.measure.walking_markers import Markers
from fabella.measure.walking_table import Events, read_table
from fabella.record import write_examination
from fabella.record.walked import findings_of_walk
from fabella.report.walking_chart import build_walk, render_walk
from fabella.report.walking_document import walk_document
from fabella.report.wording import counted


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
            help="CSV of contacts (foot, time_s), of knee angles or of markers, or a C3D file; - is standard "
            "input.",
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
    unit: Annotated[Unit | None, typer.Option("--unit", help="Of markers in CSV; mm if not given.")] = None,
    up: Annotated[
        Axis | None, typer.Option("--up", help="Which axis of the markers points upwards; z if not given.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", dir_okay=False, help="Draw the walk: a new file, .svg or .pdf."),
    ] = None,
    into: Annotated[
        Path | None,
        typer.Option("--into", dir_okay=False, help="Add the findings to this examination file."),
    ] = None,
    replace: Replace = False,
    as_json: AsJson = False,
) -> None:
    """Measure a walk from taps, a film's events, knee angles or markers, with errors."""
    names, misnamed = _names_given(name or ())
    if faults := (*misnamed, *faults_of_files(out=out, into=into, replacing=replace)):
        raise UsageError("\n".join(faults))
    paths_of([file])
    path, content = Path(file), read_whole(Path(file))
    record = _read(path, content, names, fps=fps, unit=unit or Unit.MM, up=tuple(Axis).index(up or Axis.Z))
    given_for = {"--unit": unit, "--up": up, "--fps": fps}
    if idle := _idle(path, content, record, events=events, given=given_for):
        raise UsageError("\n".join(idle))
    given = None if events is None else _events(events, fps)
    walking = measure_walk(record, events=given, ends=ends, distance_m=distance)
    findings = findings_of_walk(walking)
    examination = None if into is None else with_findings(str(into), findings, replacing=replace)
    if out is not None:
        draw(
            out,
            svg=lambda: render_walk(build_walk(walking)),
            page=lambda: walk_document(walking, made_on=today()),
        )
    if into is not None and examination is not None:
        write_whole(into, write_examination(examination).encode())
    if as_json:
        print_json(gait_tree(walking, findings))
        return
    show(open_console(), page_of(walking))
    if into is not None:
        stand = "stands" if len(findings) == 1 else "stand"
        print(f"{counted(len(findings), 'finding')} {stand} in {into}.")


def _names_given(given: Iterable[str]) -> tuple[dict[str, str], tuple[str, ...]]:
    """Return the names by role, and what is wrong with how they are written."""
    names: dict[str, str] = {}
    faults = []
    for each in given:
        role, _, name = (part.strip() for part in each.partition("="))
        if not (role and name):
            faults.append(f"--name {each}: write ROLE=NAME, such as right_heel=HEEL_R")
        elif names.setdefault(role, name) != name:
            faults.append(f"--name {each}: {role} is named twice")
    return names, tuple(faults)


def _is_c3d(path: Path, content: bytes) -> bool:
    return is_c3d(content) or path.suffix.lower() == ".c3d"


def _read(
    path: Path, content: bytes, names: dict[str, str], *, fps: float | None, unit: Unit, up: int
) -> Record:
    if _is_c3d(path, content):
        return read_c3d(content, names=names, up=up)
    text = text_in(content, name=str(path))
    return read_table(text, names=names, frames_per_s=fps, unit=unit, up=up)


def _idle(
    path: Path, content: bytes, record: Record, *, events: Path | None, given: Mapping[str, object]
) -> list[str]:
    """Return what was asked for that such a file has no use for."""
    faults = []
    if events is not None and isinstance(record, Events):
        faults.append(f"--events {events}: {path} holds contacts itself; leave one of the two out")
    if not isinstance(record, Markers):
        why, idle = "holds no markers", ["--unit", "--up"]
    elif _is_c3d(path, content):
        why, idle = "says it itself", ["--unit", *(["--fps"] if events is None else [])]
    else:
        why, idle = "", []
    faults += [
        f"{each} {given[each]}: {path} {why}; leave it out" for each in idle if given[each] is not None
    ]
    return faults


def _events(path: Path, fps: float | None) -> Events:
    paths_of([str(path)])
    found = read_table(text_of(path), names={}, frames_per_s=fps)
    if isinstance(found, Events):
        return found
    remedy = "give a table with the columns foot and time_s, or frame with --fps"
    raise InputError.of(place=str(path), says="is no table of contacts", remedy=remedy)
