"""Measuring on a picture: a view is chosen, a picture taken, its landmarks pointed at, the value kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problem
from fabella.measure import VIEWS, Frame, Point, View, view_of
from fabella.measure.views import SeenFrom
from fabella.picture import MOST_BYTES
from fabella.protocol import load_protocol
from fabella.store import Role
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.picturing import Taken, keep_picture
from fabella.store.clinic.visits import VisitRecord, examination_now, see_visit
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled, new_id, typed_whole
from fabella.web.measuring.draft import Draft, KnownSide, begin_draft, open_draft
from fabella.web.measuring.reading import (
    NOTHING,
    POINT,
    Reading,
    finding_of,
    measured,
    points_in,
    reading_of,
)
from fabella.web.templating import render, said, url
from fabella.web.visitor import Request

_PICTURE = "picture"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One view that can be chosen: what it gives, and how its picture is taken."""

    id: str
    name: str
    medium: str
    gives: str
    taking: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoosingPage:
    """Which picture is to be taken, and how."""

    template: ClassVar[str] = "measure.html"

    visit: VisitLine = field(metadata=said("The visit, which is open."))
    sign: str = field(metadata=said("The sign that is to be measured; empty for none in particular."))
    sign_name: str = field(metadata=said("Its name; empty for none."))
    choices: tuple[Choice, ...] = field(metadata=said("The views that can be chosen."))
    form: Form = field(metadata=said("What was chosen, and what is wrong with it."))


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


@enter(Role.CLINICIAN, methods=SENDING)
def measure(request: Request, visit_id: int) -> HttpResponse:
    """Ask for a picture, then for its landmarks, and keep what they give."""
    record = see_visit(request.person, visit_id, now=request.now)
    if record.is_signed:
        return HttpResponseRedirect(url("visit", visit_id=visit_id))
    if request.method != "POST":
        complaint = record.line.complaint or ()
        side = request.GET.get("side") or (complaint[0].value if len(complaint) == 1 else "")
        return _choosing(request, record, blank(side=side, view=request.GET.get("view", "")))
    deed, _, which = request.POST.get("do", "point").partition(":")
    try:
        if deed == "read":
            return _pointing(request, record, _chosen(request, visit_id), {})
        draft = open_draft(request.POST.get(_PICTURE, ""), visit_id=visit_id)
    except InputError as error:
        return _choosing(request, record, filled(request, error.problems), status=400)
    typed = request.POST.dict()
    if deed == "keep":
        return _kept(request, record, draft, typed)
    return _pointing(request, record, draft, _pressed(typed, draft, which if deed == "aim" else ""))


@enter(Role.CLINICIAN, methods=("POST",))
def measure_now(request: Request, visit_id: int) -> HttpResponse:
    """Show what points come to, for a page on which they are being moved."""
    examination = examination_now(request.person, visit_id)
    typed = request.POST.dict()
    try:
        width, height = (float(typed.get(name, "")) for name in ("width", "height"))
        frame = Frame(width_px=width, height_px=height, mm_per_px=float(typed.get("mm") or 0) or None)
    except ValueError:
        problem = Problem(place="width", value="", says="is no size", remedy="load the page again")
        raise InputError([problem]) from None
    view, side = view_of(typed.get("view", "")), _side(typed.get("side", ""))
    reading = NOTHING
    points = points_in(typed, view)
    if len(points) == len(view.landmarks):
        try:
            found = measured(view, side=side, points=points, frame=frame, mirrored="mirrored" in typed)
            reading = reading_of(found, examination, typed=typed)
        except InputError as error:
            reading = Reading(problems=tuple(map(str, error.problems)))
    return render(request, ReadingNow(reading=reading))


def _choosing(request: Request, record: VisitRecord, form: Form, *, status: int = 200) -> HttpResponse:
    protocol, sign = load_protocol(), request.GET.get("sign", "") or form.value("sign")
    views = [each for each in VIEWS if sign in each.signs]
    page = ChoosingPage(
        visit=record.line,
        sign=sign if views else "",
        sign_name=protocol.sign(sign).name if views else "",
        choices=tuple(_choice(each) for each in views or VIEWS),
        form=form,
    )
    return render(request, page, status=status)


def _choice(view: View) -> Choice:
    protocol = load_protocol()
    gives = [protocol.sign(each).name for each in view.signs] or [view.quantities[0].name]
    return Choice(
        id=view.id, name=view.name, medium=view.medium.value, gives=", ".join(gives), taking=view.taking
    )


def _chosen(request: Request, visit_id: int) -> Draft:
    """Return the picture that was chosen as a draft, or raise everything that is wrong with the form."""
    typed, upload = request.POST, request.FILES.get("file")
    problems = []
    views = {each.id: each for each in VIEWS}
    if typed.get("view") not in views:
        problems.append(Problem(place="view", value="", says="is not chosen", remedy="choose one"))
    if typed.get("side") not in ("right", "left"):
        problems.append(Problem(place="side", value="", says="is not chosen", remedy="choose one"))
    if upload is None:
        sent = typed_whole(request.META.get("CONTENT_LENGTH") or "")
        says = f"is larger than {MOST_BYTES / 1e6:.0f} MB" if sent > MOST_BYTES else "is not chosen"
        remedy = "save it smaller; a side of 2000 pixels is plenty" if sent > MOST_BYTES else "choose one"
        problems.append(Problem(place="file", value="", says=says, remedy=remedy))
    if problems or upload is None:
        raise InputError(problems)
    view, side = views[typed["view"]], _side(typed["side"])
    return begin_draft(upload.read(), name="file", view=view, side=side, visit_id=visit_id)


def _side(text: str) -> KnownSide:
    if text == "right":
        return "right"
    if text == "left":
        return "left"
    raise InputError([Problem(place="side", value=text[:10], says="is no side", remedy="right or left")])


def _pressed(typed: Mapping[str, str], draft: Draft, aim: str) -> dict[str, str]:
    """Return a form after a press on the picture, or with another landmark to be pointed at."""
    now = {**typed, "aim": aim}
    x, y = typed.get("at.x", ""), typed.get("at.y", "")
    points = points_in(typed, draft.view)
    if not aim and x.isdecimal() and y.isdecimal() and (x, y) != ("0", "0"):  # pressed by a key: nowhere
        target = typed.get("aim") or next(
            (each.id for each in draft.view.landmarks if each.id not in points), ""
        )
        now[POINT + target] = f"{x},{y}"
    return now


def _pointing(
    request: Request,
    record: VisitRecord,
    draft: Draft,
    typed: Mapping[str, str],
    *,
    problems: tuple[str, ...] = (),
) -> HttpResponse:
    points = points_in(typed, draft.view)
    reading, is_mirrored = NOTHING, "mirrored" in typed
    if len(points) == len(draft.view.landmarks):
        try:
            found = measured(
                draft.view, side=draft.side, points=points, frame=draft.frame, mirrored=is_mirrored
            )
            reading = reading_of(found, record.examination, typed=typed)
        except InputError as error:
            reading = Reading(problems=tuple(map(str, error.problems)))
    missing = [each.id for each in draft.view.landmarks if each.id not in points]
    aim = typed.get("aim") or (missing[0] if missing else "")
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
        is_mirrored=is_mirrored,
        reading=reading,
        key=typed.get("key") or new_id(),
        problems=problems,
    )
    return render(request, page, status=400 if problems else 200)


def _written(point: Point | None) -> str:
    return "" if point is None else f"{point.x:.1f},{point.y:.1f}"


def _kept(request: Request, record: VisitRecord, draft: Draft, typed: dict[str, str]) -> HttpResponse:
    visit_id, sign = record.line.id, typed.get("as", "")
    try:
        found = measured(
            draft.view,
            side=draft.side,
            points=points_in(typed, draft.view),
            frame=draft.frame,
            mirrored="mirrored" in typed,
        )
        taken = Taken(
            measurement=found,
            jpeg=draft.jpeg,
            remarks=draft.remarks,
            finding=finding_of(found, record.examination, sign),
        )
        base = typed_whole(typed.get("base", ""))
        number = keep_picture(
            request.person, visit_id, taken, id_=typed.get("key", ""), base=base, now=request.now
        )
    except InputError as error:
        return _pointing(request, record, draft, typed, problems=tuple(map(str, error.problems)))
    return HttpResponseRedirect(f"{url('pictures', visit_id=visit_id)}#picture-{number}")
