"""``fabella measure``: an angle from landmarks on a photograph or a radiograph."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import replace as changed
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from fabella.anatomy import Side
from fabella.cli.drawing import open_console, show
from fabella.cli.intake import AsJson, paths_of, take_one
from fabella.cli.measure_answer import measure_tree, views_tree
from fabella.cli.measure_page import page_of, views_page
from fabella.cli.measure_points import Asked, points_file, points_given
from fabella.cli.streams import print_json
from fabella.cli.whole_file import read_whole, write_whole
from fabella.errors import UsageError, suggestion
from fabella.measure import VIEWS, PictureMeasurement, measure_on_picture, view_of
from fabella.picture import Picture, read_picture
from fabella.protocol import load_protocol
from fabella.record import Examination, Finding, check_examination, write_examination
from fabella.record.pictured import finding_of_picture
from fabella.record.walked import with_measured
from fabella.report import readings_of
from fabella.report.measured_plate import build_measured_plate, render_measured_plate
from fabella.report.wording import described, sentence
from fabella.workup import run_workup

_DRAWN = frozenset({".svg", ".pdf"})


def measure(  # noqa: PLR0917  a command line has no keywords of its own
    picture: Annotated[
        Path | None,
        typer.Argument(help="A photograph (JPEG, PNG) or a radiograph (DICOM).", show_default=False),
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
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace what --into records already, and the file of --out."),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Measure an angle from landmarks on a photograph or a radiograph, with its error."""
    if picture is None:
        _tell(view, as_json=as_json)
        return
    _check(out, into, beside, replacing=replace)
    asked = _asked(view, side, points_given(point or ()), points, mirrored=mirrored)
    paths_of([str(picture)])
    read = read_picture(read_whole(picture), name=str(picture))
    measurement = measure_on_picture(
        view_of(asked.view),
        side="right" if asked.side is Side.RIGHT else "left",
        points=asked.points,
        frame=read.frame,
        mirrored=asked.mirrored,
        pointed_within_px=within,
    )
    finding = _finding(measurement, sign, needed=into is not None or beside is not None)
    examination = _examination(into, beside, finding, replacing=replace)
    against = _against(examination, finding)
    if out is not None:
        _draw(out, measurement, read)
    if into is not None and examination is not None:
        _put(into, examination)
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


def _check(out: Path | None, into: Path | None, beside: str | None, *, replacing: bool) -> None:
    if out is not None and out.suffix.lower() not in _DRAWN:
        raise UsageError(f"{out}: --out draws a file ending in .svg or .pdf")
    if out is not None and out.exists() and not replacing:
        raise UsageError(f"{out}: is there already; name another file, or say --replace")
    if into is not None and beside is not None:
        raise UsageError("--into sets it against the other side anyway; leave --beside out")
    if into is not None and into.suffix == ".jsonl":
        raise UsageError(f"{into}: holds one examination a line; --into takes a file of one")
    if replacing and into is None and out is None:
        raise UsageError("--replace goes with --into or --out")


def _asked(
    view: str | None, side: Side | None, given: Mapping[str, Any], points: Path | None, *, mirrored: bool
) -> Asked:
    """Return what is to be measured, from options and a file that must not contradict each other."""
    told = None if points is None else points_file(points)
    if told is None:
        told = Asked(view=view or "", side=side, points={}, mirrored=mirrored)
    for name, option, stands in (("--view", view, told.view), ("--side", side, told.side)):
        if option is not None and stands and option != stands:
            raise UsageError(f"{name} {option}: the file of --points says {stands}; leave one of them out")
    if twice := sorted(set(given) & set(told.points)):
        raise UsageError(f"--point {twice[0]}: stands in the file of --points, too")
    asked = Asked(
        view=view or told.view,
        side=side or told.side,
        points={**told.points, **given},
        mirrored=mirrored or told.mirrored,
    )
    if not asked.view:
        raise UsageError(f"say with --view how the limb is pictured: {', '.join(each.id for each in VIEWS)}")
    if asked.side is None:
        raise UsageError("say with --side whose side it is: right or left")
    return asked


def _finding(measurement: PictureMeasurement, sign: str | None, *, needed: bool) -> Finding | None:
    view = measurement.view
    if sign is not None and sign not in view.signs:
        remedy = suggestion(sign, view.signs) if view.signs else "leave --as out"
        raise UsageError(f"--as {sign}: {view.id} says nothing of it; {remedy}")
    if not view.signs:
        if needed:
            raise UsageError(
                f"{view.id} gives {view.quantities[0].name.lower()}, for which the examination has no sign; "
                "leave --into and --beside out"
            )
        return None
    return finding_of_picture(measurement, sign or view.signs[0])


def _examination(
    into: Path | None, beside: str | None, finding: Finding | None, *, replacing: bool
) -> Examination | None:
    """Return the examination with the finding in it, None when none was named."""
    if finding is None or (into is None and beside is None):
        return None
    there = take_one(str(into) if into is not None else str(beside))
    found = with_measured(there, (finding,), replacing=replacing or into is None)
    check_examination(found, protocol=load_protocol(), today=_today())
    return found


def _against(examination: Examination | None, finding: Finding | None) -> str | None:
    """Return how the finding reads beside the other side and the norm, None without an examination."""
    if examination is None or finding is None:
        return None
    reading = readings_of(run_workup(examination)).find(finding.sign, finding.side)
    return None if reading is None else sentence(f"{described(changed(reading, note=''))}; {reading.outcome}")


def _put(into: Path, examination: Examination) -> None:
    """Write an examination file, which is whole before and after."""
    with tempfile.NamedTemporaryFile("w", dir=into.parent, delete=False, encoding="utf-8") as beside:
        beside.write(write_examination(examination))
    Path(beside.name).chmod(into.stat().st_mode)
    Path(beside.name).replace(into)


def _draw(out: Path, measurement: PictureMeasurement, read: Picture) -> None:
    if out.suffix.lower() == ".svg":
        write_whole(out, render_measured_plate(build_measured_plate(measurement, read)).encode())
        return
    from fabella.report.measured_document import measured_document  # noqa: PLC0415  typesets
    from fabella.report.pdf import as_pdf  # noqa: PLC0415  a drawing alone needs no typesetting

    page = measured_document(measurement, read, made_on=_today())
    write_whole(out, as_pdf(page, written_on=_today()))


def _today() -> date:
    return datetime.now(tz=UTC).astimezone().date()
