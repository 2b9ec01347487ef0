"""Findings told in words, as an examiner tells them in a spoken exam."""

from __future__ import annotations

from fabella.anatomy import Side
from fabella.protocol import Sign
from fabella.report.wording import signed
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
