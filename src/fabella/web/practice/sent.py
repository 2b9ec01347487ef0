"""A form of the run as the event it means; the scripts put the same together."""

from __future__ import annotations

import json
from typing import Any

from django.http import QueryDict

from fabella.errors import InputError
from fabella.web.forms import typed_number

_HUNDRED = 100


def sent_event(form: QueryDict) -> dict[str, Any]:
    """Return the event of a form: what its button carries, and what was typed beside it."""
    try:
        event = json.loads(form.get("event", ""))
    except (ValueError, RecursionError):
        event = None
    if not isinstance(event, dict):
        raise InputError.of(place="event", says="is missing", remedy="press a button")
    if event.get("act") == "record" and form.get("value", "").strip():
        event["value"] = _number("reading", form.get("value", ""))
    if event.get("act") == "believe":
        pairs = zip(form.getlist("lesion"), form.getlist("chance"), strict=False)
        event["beliefs"] = [
            [lesion, _number("how sure", chance or "0") / _HUNDRED] for lesion, chance in pairs if lesion
        ]
    if event.get("act") == "complete":
        lines = form.get("would", "").replace(";", "\n").splitlines()
        event["would"] = [each.strip() for each in lines if each.strip()]
    return {**event, "id": form.get("id", "")}


def _number(place: str, text: str) -> float:
    number = typed_number(text)
    if number is None:
        raise InputError.of(place=place, value=text, says="is no number", remedy="write a number")
    return number
