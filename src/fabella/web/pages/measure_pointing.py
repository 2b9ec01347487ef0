"""Pointing at the landmarks of a picture, and what the points come to while they are moved."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse

from fabella.errors import InputError
from fabella.measure import Frame, Point, View, side_of, view_of
from fabella.measure.views import SeenFrom
from fabella.store import Role
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.visits import VisitRecord, examination_now
from fabella.web.door import enter
from fabella.web.forms import new_id
from fabella.web.measuring.draft import Draft
from fabella.web.measuring.reading import POINT, Reading, come_to, points_in
from fabella.web.templating import render, said
from fabella.web.visitor import Request


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A landmark to be pointed at; ``at`` is ``x,y`` in pixels, empty until it was."""

    number: int
    id: str
    name: str
    where: str
    at: str
    is_next: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PointingPage:
    """A picture with the landmarks that are pointed at on it."""

    template: ClassVar[str] = "measure_pointing.html"

    visit: VisitLine = field(metadata=said("The visit, with the version that is on the screen."))
    sign: str = field(metadata=said("The sign that is to be measured; empty for none in particular."))
    draft: Draft = field(metadata=said("The picture, with the view that it is."))
    marks: tuple[Mark, ...] = field(metadata=said("The landmarks in the order in which they are pointed at."))
    aim: str = field(metadata=said("The landmark that the next press on the picture sets; empty for none."))
    asks_mirrored: bool = field(metadata=said("Whether a mirror image would be measured wrongly."))
    is_mirrored: bool = field(metadata=said("Whether the picture is said to be a mirror image."))
    reading: Reading = field(metadata=said("What the points come to."))
    key: str = field(metadata=said("Under which the picture is kept, so that it is kept once."))
    problems: tuple[str, ...] = field(metadata=said("Why it could not be kept."))


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingNow:
    """What the points come to: the part of the page that moves with them."""

    template: ClassVar[str] = "_reading.html"

    reading: Reading = field(metadata=said("Lines, arc, values, and the signs they can be entered as."))


@enter(Role.CLINICIAN, methods=("POST",))
def measure_now(request: Request, visit_id: int) -> HttpResponse:
    """Show what points come to, for a page on which they are being moved."""
    examination = examination_now(request.person, visit_id)
    typed = request.POST.dict()
    try:
        width, height = (float(typed.get(name, "")) for name in ("width", "height"))
        frame = Frame(width_px=width, height_px=height, mm_per_px=float(typed.get("mm") or 0) or None)
    except ValueError:
        raise InputError.of(place="width", says="is no size", remedy="load the page again") from None
    view, side = view_of(typed.get("view", "")), side_of(typed.get("side", ""))
    reading = come_to(view, side=side, frame=frame, typed=typed, examination=examination)
    return render(request, ReadingNow(reading=reading))


def show_pointing(
    request: Request,
    record: VisitRecord,
    draft: Draft,
    typed: Mapping[str, str],
    *,
    problems: tuple[str, ...] = (),
) -> HttpResponse:
    """Show a picture with the points set so far, what they come to, and why it could not be kept."""
    points = points_in(typed, draft.view)
    aim = typed.get("aim") or _unplaced(draft.view, points)
    page = PointingPage(
        visit=record.line,
        sign=request.POST.get("sign", ""),
        draft=draft,
        marks=tuple(
            Mark(
                number=number,
                id=each.id,
                name=each.name,
                where=each.where,
                at=_written(points.get(each.id)),
                is_next=each.id == aim,
            )
            for number, each in enumerate(draft.view.landmarks, start=1)
        ),
        aim=aim,
        asks_mirrored=draft.view.seen_from is not SeenFrom.SIDE,
        is_mirrored="mirrored" in typed,
        reading=come_to(
            draft.view, side=draft.side, frame=draft.frame, typed=typed, examination=record.examination
        ),
        key=typed.get("key") or new_id(),
        problems=problems,
    )
    return render(request, page, status=400 if problems else 200)


def _written(point: Point | None) -> str:
    return "" if point is None else f"{point.x:.1f},{point.y:.1f}"


def after_press(typed: Mapping[str, str], draft: Draft, aim: str) -> dict[str, str]:
    """Return a form after a press on the picture, or with another landmark to be pointed at."""
    now = {**typed, "aim": aim}
    x, y = typed.get("at.x", ""), typed.get("at.y", "")
    points = points_in(typed, draft.view)
    if not aim and x.isdecimal() and y.isdecimal() and (x, y) != ("0", "0"):  # pressed by a key: nowhere
        target = typed.get("aim") or _unplaced(draft.view, points)
        now[POINT + target] = f"{x},{y}"
    return now


def _unplaced(view: View, points: Container[str]) -> str:
    """Return the first landmark that has no point, empty where all have one."""
    return next((each.id for each in view.landmarks if each.id not in points), "")
