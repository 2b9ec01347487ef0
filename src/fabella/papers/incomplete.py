"""Whose reliability is told where some candidates missed a station: alpha's of some, REML's of all."""

from __future__ import annotations

from fabella.assess import Analysis
from fabella.report.wording import counted


def incomplete_words(found: Analysis) -> str:
    """Return of whom alpha is, and what is told of all candidates; empty where nobody missed a station."""
    whole = found.results.alpha
    if not whole.n_left_out:
        return ""
    are = "is" if whole.n == 1 else "are"
    told = (
        f"Alpha needs whole rows: {whole.n or 'none'} of {counted(whole.n + whole.n_left_out, 'candidate')} "
        f"{are if whole.n else 'is'} in it."
    )
    study = found.dependability.value
    if study is None:
        return told
    told += (
        " G, Phi and their errors above are of all, whatever stations they took: REML needs no whole table, "
        "as long as nobody missed a station because of how they did."
    )
    held = len(whole.stations)
    point = next((each for each in study.curve if each.count == held), None)
    if point is None or not found.counts_alike:
        return told
    error = point.dependability.sem_absolute
    return (
        f"{told} Over all {held} stations it gives an absolute error of {error:.2f}%, which rules may name."
    )
