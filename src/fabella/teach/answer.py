"""A debrief as plain values for JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from fabella.teach.actions import event_tree
from fabella.teach.debriefed import Debrief
from fabella.teach.seen import seen_tree

FORMAT = "fabella.debrief/1"


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
        "conduct": [
            {"id": check.id, "kept": check.kept, "share": _rounded(check.share)} for check in debrief.conduct
        ],
        "hurts": [
            {
                "sign": each.sign,
                "side": each.side.value,
                "at_s": each.at_s,
                "degree": each.degree,
                "forbidden": list(each.forbidden),
                "known": list(each.known),
            }
            for each in debrief.hurts
        ],
        "left_out": [
            {
                "sign": each.sign,
                "side": each.side and each.side.value,
                "bits": _rounded(each.bits),
                "seconds": each.seconds,
                "would": each.would,
                "lesion": each.lesion,
                "now": _rounded(each.now),
                "then": _rounded(each.then),
            }
            for each in debrief.left_out
        ],
        "missed": [
            {
                "rule": each.alarm.rule,
                "name": each.alarm.name,
                "side": each.alarm.side and each.alarm.side.value,
                "urgency": each.alarm.urgency.value,
                "because": [criterion.words for criterion in each.alarm.met],
                "asked": list(each.asked),
                "true": each.true,
            }
            for each in debrief.missed
        ],
        "unchecked": [
            {"sign": each.sign, "side": each.side.value, "lesion": each.lesion} for each in debrief.unchecked
        ],
        "misread": [
            {
                "sign": each.sign,
                "side": each.side and each.side.value,
                "slip": each.slip.value,
                "recorded": each.recorded,
                "shown": each.shown,
                "at_s": each.at_s,
            }
            for each in debrief.misread
        ],
        "moments": [
            {
                "at_s": each.at_s,
                "sign": each.sign,
                "side": each.side and each.side.value,
                "chances": {lesion: _rounded(p) for lesion, p in each.chances.items()},
                "believed": dict(each.believed),
            }
            for each in debrief.moments
        ],
        "worth": {
            lesion: [{"sign": reason.sign, "bits": _rounded(reason.weight_bits)} for reason in reasons]
            for lesion, reasons in debrief.worth.items()
        },
        "ideal": {
            "seconds": debrief.ideal_seconds,
            "steps": [
                {
                    "at_s": each.at_s,
                    "sign": each.sign,
                    "bits": _rounded(each.bits),
                    "chances": {lesion: _rounded(p) for lesion, p in each.chances.items()},
                }
                for each in debrief.ideal
            ],
        },
        "believed": dict(debrief.believed),
        "allowed": {lesion: _rounded(p) for lesion, p in debrief.allowed.items()},
        "guarded_from_s": debrief.guarded_from_s,
        "scores": {
            who: {"brier": _rounded(each.brier), "log_bits": _rounded(each.log)}
            for who, each in debrief.scores.items()
        },
        "lesson": {"topic": debrief.lesson.topic.value, "about": debrief.lesson.about},
        "evidence": debrief.workup.edition,
        "failures": list(debrief.workup.failures),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
