"""The rules of an exam in a few sentences, as they stand beside what was decided by them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fabella.assess import CutMethod, Rules, StationsRule, Unreached
from fabella.papers.own_errors import added_words
from fabella.papers.words import METHODS
from fabella.report.wording import counted


def rules_words(
    rules: Rules, weights: Mapping[str, float], annulled: Mapping[str, str], names: Mapping[str, str]
) -> tuple[str, ...]:
    """Return rules, weights of stations and those annulled in sentences; ``names`` are the titles by id."""
    return (*_sentences(rules, weights), *annulled_words(annulled, names))


def annulled_words(annulled: Mapping[str, str], names: Mapping[str, str]) -> tuple[str, ...]:
    """Return in a sentence each that a station counts for nobody, and why; ``names`` are the titles."""
    return tuple(
        f"{names.get(station, station)} is annulled and counts for nobody: {why}."
        for station, why in annulled.items()
    )


def _sentences(rules: Rules, weights: Mapping[str, float]) -> Iterator[str]:
    mark = METHODS[rules.method]
    if rules.method is CutMethod.FIXED and rules.fixed_cut is not None:
        mark = f"{rules.fixed_cut:g}%, {mark}"
    added = added_words(rules)
    yield f"Pass mark: {mark}, {added} added." if added else f"Pass mark: {mark}."
    if rules.stations is StationsRule.FIXED:
        yield f"Stations: {rules.stations_needed} must be passed."
    if rules.stations is StationsRule.PREDICTED:
        yield f"Stations: the number predicted at the pass mark, rounded {rules.rounding.value}, is needed."
    if rules.most_critical_failed is not None:
        yield f"Critical items: {rules.most_critical_failed} may be failed."
    items = ""
    if rules.items_prorated:
        up_to = f"{100 * rules.largest_prorated:g}%"
        items = f", or {counted(rules.items_prorated, 'item')} worth up to {up_to} of it"
    unreached = "counts as not done" if rules.unreached is Unreached.NOT_DONE else "is missing like any other"
    yield (
        f"Missing marks: filled in up to {100 * rules.most_prorated:g}% of a sheet{items}; what the bell "
        f"came before {unreached}."
    )
    least = f"{100 * rules.least_stations:g}% of the stations"
    yield f"Whoever has scores for less than {least} is not decided about."
    told = [f"{name} counts {weight:g}" for name, weight in weights.items() if weight != 1]
    yield f"Stations count the same{' but: ' + ', '.join(told) if told else ''}."
