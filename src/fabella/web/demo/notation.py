"""The short way in which the invented people's findings are written down."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

from fabella.anatomy import Side
from fabella.protocol import Protocol
from fabella.record import Finding, Key, Part, Reason, State, change_to

_SIDES: dict[str, tuple[Side | None, ...]] = {
    "right": (Side.RIGHT,),
    "left": (Side.LEFT,),
    "both": tuple(Side),
    "person": (None,),
}


def changes_of(lines: list[str], protocol: Protocol) -> Iterator[dict[str, object]]:
    """Yield the changes that state findings written as ``side sign what``."""
    for line in lines:
        side, sign, what = line.split(" ", maxsplit=2)
        for each in _SIDES[side]:
            finding = _finding(sign, each, what, protocol)
            yield change_to(Key(Part.FINDING, sign, each), finding)


def _finding(sign_id: str, side: Side | None, what: str, protocol: Protocol) -> Finding:
    sign, word = protocol.sign(sign_id), what.partition(" ")
    ranks = {level.id: level.rank for level in sign.scale.levels}
    if word[0] == State.UNTESTABLE:
        return Finding(sign=sign_id, side=side, state=State.UNTESTABLE, reason=Reason(word[2]))
    if what in ranks:
        state = State.ABNORMAL if ranks[what] else State.NORMAL
        return Finding(sign=sign_id, side=side, state=state, level=what)
    if what in {State.NORMAL, State.ABNORMAL}:
        return Finding(sign=sign_id, side=side, state=State(what))
    measure = sign.scale.measure
    if measure is None:
        raise ValueError(f"{sign_id}: '{what}' is none of {', '.join(ranks)}")
    return Finding(sign=sign_id, side=side, value=float(what), unit=measure.unit.value)


def image_changes(visit: dict[str, Any], day: date) -> Iterator[dict[str, object]]:
    """Yield the changes that state images, each taken so many days before the ``day`` of the visit."""
    for each in visit.get("images", ()):
        on = day - timedelta(days=each["days_before"])
        result = {"on": str(on), **{name: each[name] for name in ("shows", "words") if name in each}}
        yield {"change": "set_imaging", "image": each["image"], "side": each["side"], "result": result}


def context_changes(visit: dict[str, Any]) -> Iterator[dict[str, object]]:
    """Yield the changes that state what brought the patient, and that the courtesies were observed."""
    for name in ("acuity", "onset_days", "mechanism", "mechanism_words"):
        if name in visit:
            yield {"change": "set_context", "field": name, "value": visit[name]}
    for name in ("consent_given", "chaperone_offered", "pain_asked"):
        yield {"change": "set_conduct", "field": name, "value": True}
    for item, value in visit.get("history", {}).items():
        yield {"change": "set_history", "item": item, "value": value}
