"""What the patient says, in the ordinary words of ``answers.toml`` and ``story.toml``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fabella.packaged import packaged_table
from fabella.record import NO_INJURY, Acuity, Mechanism
from fabella.teach.hidden import Hidden
from fabella.teach.history import AT_THE_INJURY, beside_the_point

_LIVES_YEARS = ((16, "child"), (36, "young"), (61, "middle"), (200, "old"))
_POINTS = ("anterior", "medial", "lateral", "posterior")
_TIMES = ((2, 24, "hours"), (14, 1, "days"), (90, 1 / 7, "weeks"), (730, 1 / 30.4, "months"))

_COURTEOUS = {
    "consent": "Yes, go ahead.",
    "chaperone": "No need, thank you.",
    "identity": "Yes, that is me.",
    "greeting": "Hello.",
}


def phrases() -> Mapping[str, Any]:
    """Read what patients answer."""
    return packaged_table("teach/data/answers.toml")


def _story() -> Mapping[str, Any]:
    return packaged_table("teach/data/story.toml")


def answer_words(hidden: Hidden, item: str) -> str:
    """Return the answer to one question of the history."""
    answer, row = hidden.answers[item], phrases()[item]
    if item in beside_the_point(hidden.person):
        said = phrases()["no_injury" if item in AT_THE_INJURY else "injury"]
    elif answer is None:
        said = row.get("unknown", phrases()["unknown"])
    elif isinstance(answer, bool):
        said = row["yes" if answer else "no"]
    else:
        said = row["number" if answer else "zero"]
    return _one(hidden, said, item).format(number=f"{float(answer or 0):.0f}")


def story_words(hidden: Hidden, courtesy: str) -> str:
    """Return the answer to an open question or a courtesy; empty where nothing is said."""
    context, patient = hidden.person.context, hidden.person.patient
    match courtesy:
        case "presenting_complaint":
            kind = "slow" if context.mechanism in NO_INJURY else "injury"
            return _one(hidden, _story()["complaint"][kind], courtesy).format(side=hidden.person.side)
        case "mechanism_of_injury":
            mechanism = context.mechanism or Mechanism.INSIDIOUS
            return _one(hidden, _story()["mechanism"][mechanism.value], courtesy)
        case "time_since_onset":
            slow = context.acuity is Acuity.ACUTE and context.mechanism in NO_INJURY
            said = _story()["since"]["acute_slow" if slow else (context.acuity or "chronic")]
            words = _one(hidden, said, courtesy).format(since=_since(context.onset_days or 0.0))
            return words[:1].upper() + words[1:]
        case "age_and_activity":
            age = patient.age_years or 0
            life = next(life for below, life in _LIVES_YEARS if age < below)
            return _one(hidden, _story()["life"][life], courtesy).format(age=f"{age:g}")
        case "pain_first":
            return _where(hidden)
        case _:
            return _COURTEOUS.get(courtesy, "")


def hurt_words(hidden: Hidden, degree: str, *name: object) -> str:
    """Return what the patient says when hurt ``none``, ``little``, ``much`` or ``too_much``."""
    return _one(hidden, _story()["hurt"][degree], "hurt", *name)


def prevented_words(hidden: Hidden, *name: object) -> str:
    """Return what the patient says when the muscles do not let go."""
    return _one(hidden, _story()["prevented"]["words"], "prevented", *name)


def _where(hidden: Hidden) -> str:
    points = _story()["points"]
    sore = [points[each] for each in _POINTS if hidden.answers.get(f"pain_{each}") is True]
    if not sore:
        return _one(hidden, points["none"], "points")
    return _one(hidden, points["one"], "points").format(where=" and ".join(sore))


def _since(days: float) -> str:
    for below, per_day, unit in _TIMES:
        if days < below:
            number = max(1, round(days * per_day))
            return f"{number} {unit if number > 1 else unit[:-1]}"
    return f"{round(days / 365)} years"


def _one(hidden: Hidden, said: Sequence[str], *name: object) -> str:
    return said[int(hidden.dice.fraction("says", *name) * len(said))]
