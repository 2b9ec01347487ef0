"""A step as a sentence says it: what to do for a sign, an image by its name, and what either may show."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from fabella.packaged import packaged_table
from fabella.protocol import Sign, load_protocol
from fabella.report.wording import lowered
from fabella.stats.written import spaced
from fabella.workup import Confirms, NextStep

_GRADE = re.compile(r"\d\+")


def _words() -> Mapping[str, Any]:
    return packaged_table("report/step_words.toml")


def doing(sign: Sign) -> str:
    """Return what to do for a sign, as an order: ``look for a scar``, ``do the Lachman test``.

    A courtesy, which is no step, has its name alone.
    """
    words = _words()
    measured = not sign.scale.levels and not sign.is_history
    verb = words["verb"].get("measured" if measured else sign.kind.value, "")
    return str(words["do"].get(sign.id, f"{verb} {lowered(sign.name)}".strip()))


def showing(sign: Sign, outcome: str) -> str:
    """Return an outcome of a sign behind ``if``: what is asked is yes, what is done positive."""
    words = _words()
    if said := words["shows"].get(sign.id, {}).get(outcome):
        return str(said)
    if outcome in ("no", "yes"):
        verb = doing(sign).split(" ", maxsplit=1)[0]
        no_yes = words["no_yes"]
        return str(no_yes.get(verb, no_yes["other"])[outcome == "yes"])
    level = next((each.words for each in sign.scale.levels if each.id == outcome), spaced(outcome))
    return f"{outcome} ({level})" if _GRADE.fullmatch(outcome) else level


def step_words(step: NextStep) -> str:
    """Return a step for the middle of a sentence: what to do, or the image and in which way it is taken."""
    protocol = load_protocol()
    if step.kind != "image" and step.id in protocol:
        return doing(protocol.sign(step.id))
    how = step.purpose.how if isinstance(step.purpose, Confirms) else ""
    return lowered(f"{step.name}, {how}" if how else step.name)


_OF_NO_KNEE = frozenset({"hip_radiograph", "spine_mri"})
"""Images that show no knee; the one of the hips shows both, whichever side asks for it."""


def placed(step: NextStep, where: str) -> str:
    """Return a step with the knee it is done on; a step about the whole person is for that knee."""
    if not taken_on_each(step):
        return step_words(step)
    protocol = load_protocol()
    person = step.kind != "image" and step.id in protocol and protocol.sign(step.id).is_person
    of_one = "for " if where.startswith("both") else "for the "
    return f"{step_words(step)}, {of_one if person else ''}{where}"


def taken_on_each(step: NextStep) -> bool:
    """Say whether a step that both knees need is done twice, as no image of hips or back is."""
    return not (step.kind == "image" and step.id in _OF_NO_KNEE)


def outcome_words(step: NextStep, outcome: str) -> str:
    """Return what a step may show, behind ``if``."""
    protocol = load_protocol()
    if step.kind != "image" and step.id in protocol:
        return showing(protocol.sign(step.id), outcome)
    return spaced(outcome)
