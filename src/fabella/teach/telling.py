"""Findings told in words, as an examiner tells them in a spoken exam."""

from __future__ import annotations

from fabella.anatomy import Side
from fabella.protocol import Sign
from fabella.report.wording import lowered, signed
from fabella.teach.everything import rounded
from fabella.teach.seen import Shown


def told_words(sign: Sign, side: Side | None, shown: Shown) -> str:
    """Return one finding in words: ``Lachman test, right: slight, 5 mm``."""
    where = f"{sign.name}, {side}" if side is not None else sign.name
    return f"{where}: {shown_words(sign, shown)}."


def shown_words(sign: Sign, shown: Shown) -> str:
    """Return what a sign showed: the words of its level and its reading."""
    if not shown.possible:
        return "could not be tested"
    parts = []
    if shown.level is not None:
        parts.append(sign.scale.levels[shown.level].words)
    if shown.value is not None and shown.unit is not None:
        parts.append(signed(sign.id, rounded(shown.value, shown.unit), shown.unit).replace("\u00a0", " "))
    return ", ".join(parts)


def felt_words(sign: Sign, side: Side | None, shown: Shown) -> str:
    """Return what is seen and felt, ungraded, for whoever cannot see the figure: the grading is the skill.

    A reading is told about as an eye or a hand takes it; of a test whose sign is that it hurts only the
    patient's words tell, so that nothing more is said here.
    """
    if not shown.possible:
        return "the muscles do not let go; it cannot be tested"
    where = f"{side} " if side is not None else ""
    if shown.value is not None and shown.unit is not None:
        reading = signed(sign.id, rounded(shown.value, shown.unit), shown.unit).replace("\u00a0", " ")
        return f"{where}{lowered(sign.name)}: about {reading}"
    if shown.level is None:
        return ""
    if sign.scale.is_yes_or_no and sign.hurts:
        return f"{where}{lowered(sign.name)}: done"
    return f"{where}{lowered(sign.name)}: {sign.scale.levels[shown.level].words}"
