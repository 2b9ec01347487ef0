"""The state of a visit for scripts: read with its version, written operation by operation."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict
from typing import Any
from urllib.parse import unquote

from django.http import HttpResponse, HttpResponseNotModified, JsonResponse

from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Key, Sheet, Stated, check_examination, plain, write_examination
from fabella.store import NotAllowed, Role
from fabella.store.clinic.charting import save
from fabella.store.clinic.lines import VisitLine
from fabella.store.clinic.trail import Action
from fabella.store.clinic.visits import VisitRecord, examination_now, line_of, see_visit
from fabella.web.api.conclusion import live_tree
from fabella.web.concluding import anticipate, live, workup_of
from fabella.web.door import enter
from fabella.web.visitor import Request

_Tree = dict[str, Any]


@enter(Role.CLINICIAN)
def state(request: Request, visit_id: int) -> HttpResponse:
    """Give the state of a visit, or say that it has not changed (304): nothing is read then."""
    return _unless_known(request, visit_id, lambda record: state_tree(request, record))


@enter(Role.CLINICIAN, methods=("POST",))
def operations(request: Request, visit_id: int) -> HttpResponse:
    """Save a batch of operations; every one has its own answer, and a repeat is answered the same."""
    _check_writer(request)
    saved = save(request.person, visit_id, request.body, now=request.now)
    results = [
        {
            "id": each.id,
            "outcome": each.outcome.value,
            "version": each.version,
            "problems": list(map(asdict, each.problems)),
        }
        for each in saved.results
    ]
    if request.GET.get("conclude") == "yes":
        anticipate(examination_now(request.person, visit_id))
    version = saved.sheet.version
    return JsonResponse({"version": version, "results": results, "conflicts": _conflicts(saved.sheet)})


def _check_writer(request: Request) -> None:
    """Refuse what somebody else wrote, or a browser known here by another name: it has to wait."""
    writer = request.person.writer
    for header, name in (("X-Author", writer.author), ("X-Device", writer.device)):
        told = request.headers.get(header)
        if told and unquote(told) != name:
            raise NotAllowed("These entries were made by somebody else, who has to log in to send them.")


@enter(Role.CLINICIAN)
def conclusion(request: Request, visit_id: int) -> HttpResponse:
    """Give what a visit comes to as it stands, or say that it has not changed (304)."""
    return _unless_known(request, visit_id, _concluded)


def _concluded(record: VisitRecord) -> _Tree:
    concluded = live(record.examination).concluded
    tree = live_tree(concluded, workup_of(record.examination), load_protocol())
    return {"version": record.line.version, **tree}


def _unless_known(request: Request, visit_id: int, tree: Callable[[VisitRecord], _Tree]) -> HttpResponse:
    """Give something about a visit unless the browser has it as it stands."""
    tag = _tag(line_of(request.person, visit_id))
    if request.headers.get("If-None-Match") == tag:
        return HttpResponseNotModified(headers={"ETag": tag})
    record = see_visit(request.person, visit_id, now=request.now, action=Action.FOLLOWED)
    return JsonResponse(tree(record), headers={"ETag": _tag(record.line)})


def _tag(line: VisitLine) -> str:
    return f'"{line.mark}"'


def state_tree(request: Request, record: VisitRecord) -> _Tree:
    """Return the state of a visit, as scripts read it."""
    line = record.line
    return {
        "visit": line.id,
        "version": line.version,
        "mark": line.mark,
        "status": "signed" if line.is_signed else "open",
        "reason": record.reason,
        "signatures": [each.number for each in record.signatures],
        "patient": {"id": line.patient.id, "number": line.patient.number, "label": line.patient.label},
        "examination": json.loads(write_examination(record.examination)),
        "stated": [_stated(key, each) for key, each in record.sheet.stated.items()],
        "conflicts": _conflicts(record.sheet),
        "problems": _problems(request, record),
    }


def _stated(key: Key, each: Stated) -> _Tree:
    return {**_key(key), "version": each.version, "author": each.writer.author, "device": each.writer.device}


def _conflicts(sheet: Sheet) -> list[_Tree]:
    return [
        {
            **_key(key),
            "stands": _value(key, sheet.stated[key]),
            "beside": [_value(key, each) for each in beside],
        }
        for key, beside in sheet.conflicts.items()
    ]


def _key(key: Key) -> _Tree:
    return {"part": key.part.value, "name": key.name, "side": key.side.value if key.side else None}


def _value(key: Key, each: Stated) -> _Tree:
    writer = each.writer
    return {
        "value": plain(key, each.value),
        "version": each.version,
        "author": writer.author,
        "device": writer.device,
    }


def _problems(request: Request, record: VisitRecord) -> list[_Tree]:
    """Return what has to be put right before the examination can be signed."""
    try:
        check_examination(record.examination, protocol=load_protocol(), today=request.today)
    except InputError as error:
        return list(map(asdict, error.problems))
    return []
