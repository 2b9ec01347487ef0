"""A debrief as plain values for JSON."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, fields
from enum import Enum
from typing import Any

from fabella.teach.actions import event_tree
from fabella.teach.debriefed import Debrief
from fabella.teach.left_out import Missed
from fabella.teach.seen import seen_tree

FORMAT = "fabella.debrief/1"

_COMPUTED = frozenset({"share", "bits", "now", "then", "chances"})
"""Fields whose numbers are rounded; the others are as they were recorded, or whole."""


def debrief_tree(debrief: Debrief) -> dict[str, Any]:
    """Return a debrief as plain values; probabilities 0..1, times in seconds from the beginning."""
    return {
        "format": FORMAT,
        "present": {
            side.value: [{"id": lesion, "level": level} for lesion, level in lesions]
            for side, lesions in debrief.present.items()
        },
        "rarest": debrief.rarest and asdict(debrief.rarest),
        "seconds": debrief.seconds,
        "timeline": [
            {"at_s": turn.at_s, "event": event_tree(turn.event), "seen": seen_tree(turn.seen)}
            for turn in debrief.turns
        ],
        "conduct": _rows(debrief.conduct),
        "hurts": _rows(debrief.hurts),
        "left_out": _rows(debrief.left_out),
        "missed": list(map(_missed, debrief.missed)),
        "unchecked": _rows(debrief.unchecked),
        "misread": _rows(debrief.misread),
        "moments": _rows(debrief.moments),
        "worth": {
            lesion: [{"sign": reason.sign, "bits": _rounded(reason.weight_bits)} for reason in reasons]
            for lesion, reasons in debrief.worth.items()
        },
        "ideal": {"seconds": debrief.ideal_seconds, "steps": _rows(debrief.ideal, without="side")},
        "believed": dict(debrief.believed),
        "allowed": _rounded(debrief.allowed),
        "guarded_from_s": debrief.guarded_from_s,
        "scores": {
            who: {"brier": _rounded(each.brier), "log_bits": _rounded(each.log)}
            for who, each in debrief.scores.items()
        },
        "lesson": {"topic": debrief.lesson.topic.value, "about": debrief.lesson.about},
        "evidence": debrief.workup.edition,
        "failures": list(debrief.workup.failures),
    }


def _missed(missed: Missed) -> dict[str, Any]:
    alarm = missed.alarm
    return {
        "rule": alarm.rule,
        "name": alarm.name,
        "side": alarm.side and alarm.side.value,
        "urgency": alarm.urgency.value,
        "because": [criterion.words for criterion in alarm.met],
        "asked": list(missed.asked),
        "true": missed.true,
    }


def _rows(things: Iterable[Any], *, without: str = "") -> list[dict[str, Any]]:
    """Return a key for each field of each thing, in its order."""
    return [
        {
            name: _rounded(getattr(each, name)) if name in _COMPUTED else _plain(getattr(each, name))
            for name in (field.name for field in fields(each))
            if name != without
        }
        for each in things
    ]


def _plain(value: Any) -> Any:
    match value:
        case Enum():
            return value.value
        case tuple():
            return list(value)
        case Mapping():
            return dict(value)
    return value


def _rounded(value: Any) -> Any:
    """Return a number, or each of several by name, to four decimals."""
    if isinstance(value, Mapping):
        return {name: _rounded(each) for name, each in value.items()}
    return None if value is None else round(value, 4)
