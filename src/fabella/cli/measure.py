"""``fabella measure``: an angle from landmarks on a photograph or a radiograph."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace as changed
from pathlib import Path
from typing import Annotated

import typer

from fabella.anatomy import Side
from fabella.cli.clock import today
from fabella.cli.drawing import open_console, show
from fabella.cli.intake import AsJson, paths_of
from fabella.cli.measure_answer import measure_tree, views_tree
from fabella.cli.measure_page import page_of, views_page
from fabella.cli.measure_points import gathered
from fabella.cli.measured_files import Replace, draw, faults_of_files, with_findings
from fabella.cli.streams import print_json
from fabella.cli.whole_file import read_whole, write_whole
from fabella.errors import InputError, UsageError, suggestion
from fabella.measure import VIEWS, View, measure_on_picture, side_of, view_of
from fabella.picture import read_picture
from fabella.protocol import load_protocol
from fabella.record import Examination, Finding, write_examination
from fabella.record.pictured import finding_of_picture
from fabella.report import readings_of
from fabella.report.measured_document import measured_document
from fabella.report.measured_plate import build_measured_plate, render_measured_plate
from fabella.report.wording import described, sentence
from fabella.workup import run_workup


def measure(  # noqa: PLR0917  a command line has no keywords of its own
    picture: Annotated[
        Path | None,
        typer.Argument(
            help="A photograph (JPEG, PNG) or a radiograph (DICOM); - is standard input.", show_default=False
        ),
    ] = None,
    view: Annotated[
        str | None,
        typer.Option(
            "--view", help="How the limb is pictured; without a picture, tell of it.", show_default=False
        ),
    ] = None,
    side: Annotated[
        Side | None, typer.Option("--side", help="The patient's own side.", show_default=False)
    ] = None,
    point: Annotated[
        list[str] | None,
        typer.Option(
            "--point", help="A landmark and its pixel: patella=512,388; may be repeated.", show_default=False
        ),
    ] = None,
    points: Annotated[
        Path | None,
        typer.Option("--points", help="The same from a JSON file (fabella.points/1).", show_default=False),
    ] = None,
    mirrored: Annotated[bool, typer.Option("--mirrored", help="The picture is a mirror image.")] = False,
    within: Annotated[
        float, typer.Option("--within", min=0, max=1000, help="How exactly points are hit, in pixels.")
    ] = 1.0,
    sign: Annotated[
        str | None,
        typer.Option(
            "--as", help="Which sign of the protocol it is, where a view gives several.", show_default=False
        ),
    ] = None,
    beside: Annotated[
        str | None,
        typer.Option(
            "--beside", help="Set it against the other side in this examination.", show_default=False
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", dir_okay=False, help="Draw how it was taken: a new file, .svg or .pdf."),
    ] = None,
    into: Annotated[
        Path | None,
        typer.Option("--into", dir_okay=False, help="Add the finding to this examination file."),
    ] = None,
    replace: Replace = False,
    as_json: AsJson = False,
) -> None:
    """Measure an angle from landmarks on a photograph or a radiograph, with its error."""
    if picture is None:
        if side or point or points or mirrored or sign or beside or out or into or replace:
            raise UsageError("name the picture that is to be measured; to be told of the views, only --view")
        _tell(view, as_json=as_json)
        return
    asked = gathered(view=view, side=side, given=point or (), file=points, mirrored=mirrored)
    faults = (
        *_unreadable(picture),
        *asked.faults,
        *_faults(asked.view, sign, needed=into is not None or beside is not None),
        *faults_of_files(out=out, into=into, replacing=replace),
        *(["--into sets it against the other side anyway; leave --beside out"] if into and beside else []),
    )
    if faults:
        raise UsageError("\n".join((*faults, *map(str, asked.problems))))
    if asked.problems or asked.view is None or asked.side is None:
        raise InputError(asked.problems)
    read = read_picture(read_whole(picture), name=str(picture))
    measurement = measure_on_picture(
        asked.view,
        side=side_of(asked.side),
        points=asked.points,
        frame=read.frame,
        mirrored=asked.mirrored,
        pointed_within_px=within,
    )
    finding = finding_of_picture(measurement, sign or asked.view.signs[0]) if asked.view.signs else None
    examination = _examination(into, beside, finding, replacing=replace)
    against = _against(examination, finding)
    if out is not None:
        draw(
            out,
            svg=lambda: render_measured_plate(build_measured_plate(measurement, read)),
            page=lambda: measured_document(measurement, read, made_on=today()),
        )
    if into is not None and examination is not None:
        write_whole(into, write_examination(examination).encode())
    if as_json:
        print_json(measure_tree(measurement, finding, read, against=against))
        return
    show(open_console(), page_of(measurement, read, against=against))
    if into is not None and finding is not None:
        print(f"{load_protocol().sign(finding.sign).name} ({finding.side}) stands in {into}.")


def _tell(view: str | None, *, as_json: bool) -> None:
    chosen = VIEWS if view is None else (view_of(view),)
    if as_json:
        print_json(views_tree(chosen))
    else:
        show(open_console(), views_page(chosen))


def _unreadable(picture: Path) -> Iterator[str]:
    try:
        paths_of([str(picture)])
    except UsageError as error:
        yield str(error)


def _faults(view: View | None, sign: str | None, *, needed: bool) -> Iterator[str]:
    """Yield what is wrong with the sign asked for, as far as the view is known."""
    if view is None:
        return
    if sign is not None and sign not in view.signs:
        remedy = suggestion(sign, view.signs) if view.signs else "leave --as out"
        yield f"--as {sign}: {view.id} says nothing of it; {remedy}"
    if needed and not view.signs:
        yield (
            f"{view.id} gives {view.quantities[0].name.lower()}, for which the examination has no sign; "
            "leave --into and --beside out"
        )


def _examination(
    into: Path | None, beside: str | None, finding: Finding | None, *, replacing: bool
) -> Examination | None:
    """Return the examination with the finding in it, None when none was named."""
    if finding is None or (into is None and beside is None):
        return None
    name = str(into) if into is not None else str(beside)
    return with_findings(name, (finding,), replacing=replacing or into is None)


def _against(examination: Examination | None, finding: Finding | None) -> str | None:
    """Return how the finding reads beside the other side and the norm, None without an examination."""
    if examination is None or finding is None:
        return None
    reading = readings_of(run_workup(examination)).find(finding.sign, finding.side)
    return None if reading is None else sentence(f"{described(changed(reading, note=''))}; {reading.outcome}")
