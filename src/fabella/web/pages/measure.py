"""Measuring on a picture: a view is chosen, a picture taken, its landmarks pointed at, the value kept."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import HttpResponse, HttpResponseRedirect

from fabella.errors import InputError, Problems
from fabella.measure import VIEWS, View, side_of
from fabella.picture import MOST_BYTES
from fabella.protocol import load_protocol
from fabella.store import Role
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.picturing import Taken, keep_picture
from fabella.store.clinic.visits import VisitRecord, see_visit
from fabella.web.door import SENDING, enter
from fabella.web.forms import Form, blank, filled, typed_whole
from fabella.web.measuring.draft import Draft, begin_draft, open_draft
from fabella.web.measuring.reading import entry_of, measured, points_in
from fabella.web.pages.measure_pointing import after_press, show_pointing
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
            return show_pointing(request, record, _chosen(request, visit_id), {})
        draft = open_draft(request.POST.get(_PICTURE, ""), visit_id=visit_id)
    except InputError as error:
        return _choosing(request, record, filled(request, error.problems))
    typed = request.POST.dict()
    if deed == "keep":
        return _kept(request, record, draft, typed)
    return show_pointing(request, record, draft, after_press(typed, draft, which if deed == "aim" else ""))


def _choosing(request: Request, record: VisitRecord, form: Form) -> HttpResponse:
    protocol, sign = load_protocol(), request.GET.get("sign", "") or form.value("sign")
    views = [each for each in VIEWS if sign in each.signs]
    page = ChoosingPage(
        visit=record.line,
        sign=sign if views else "",
        sign_name=protocol.sign(sign).name if views else "",
        choices=tuple(_choice(each) for each in views or VIEWS),
        form=form,
    )
    return render(request, page, status=form.status)


def _choice(view: View) -> Choice:
    protocol = load_protocol()
    gives = [protocol.sign(each).name for each in view.signs] or [view.quantities[0].name]
    return Choice(
        id=view.id, name=view.name, medium=view.medium.value, gives=", ".join(gives), taking=view.taking
    )


def _chosen(request: Request, visit_id: int) -> Draft:
    """Return the picture that was chosen as a draft, or raise everything that is wrong with the form."""
    typed, upload = request.POST, request.FILES.get("file")
    problems = Problems()
    views = {each.id: each for each in VIEWS}
    if typed.get("view") not in views:
        problems.add("view", "", "is not chosen", "choose one")
    if typed.get("side") not in ("right", "left"):
        problems.add("side", "", "is not chosen", "choose one")
    if upload is None:
        sent = typed_whole(request.META.get("CONTENT_LENGTH") or "")
        says = f"is larger than {MOST_BYTES / 1e6:.0f} MB" if sent > MOST_BYTES else "is not chosen"
        remedy = "save it smaller; a side of 2000 pixels is plenty" if sent > MOST_BYTES else "choose one"
        problems.add("file", "", says, remedy)
    if problems or upload is None:
        raise InputError(problems)
    view, side = views[typed["view"]], side_of(typed["side"])
    return begin_draft(upload.read(), name="file", view=view, side=side, visit_id=visit_id)


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
            finding=entry_of(found, record.examination, sign),
        )
        base = typed_whole(typed.get("base", ""))
        number = keep_picture(
            request.person, visit_id, taken, id_=typed.get("key", ""), base=base, now=request.now
        )
    except InputError as error:
        return show_pointing(request, record, draft, typed, problems=tuple(map(str, error.problems)))
    return HttpResponseRedirect(f"{url('pictures', visit_id=visit_id)}#picture-{number}")
