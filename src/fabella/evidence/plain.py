"""Cells of the published tables as a reader sees them: units and sources by name, not by id."""

from __future__ import annotations

import re

from fabella.evidence.edition import Edition

_UNITS = {
    "deg": "°",
    "deg_per_cm": "° a centimetre",
    "pct": "%",
    "pct_cycle": "% of the gait cycle",
    "ratio": "",
}
_KEY = re.compile(r"\b[a-z]\w*_(?:19|20)\d\d[a-z]?\b")
_PERCENT = re.compile(r"(?<=\d) ?pct\b")


def with_unit(figure: str, unit: str) -> str:
    """Return a figure with its unit as it is printed, the degree sign close to the number."""
    words = _UNITS.get(unit, unit)
    return f"{figure}{words}" if words.startswith("°") else f"{figure} {words}".rstrip()


def plain(edition: Edition, text: str) -> str:
    """Return a remark with its sources as author and year, and per cent as a sign."""

    def named(found: re.Match[str]) -> str:
        return edition.source(found[0]).short if found[0] in edition.sources else found[0]

    return _KEY.sub(named, percents(text))


def percents(text: str) -> str:
    """Return a text with per cent as a sign."""
    return _PERCENT.sub(" %", text)
