"""Which error a change between two visits is held against.

The same examiner at both visits: a published retest error goes before one within a session, and that before
one between examiners. Another examiner, or one not named: the error between examiners goes first. Two
different tools are compared only where one source had both on the same knees; then the coarser one's error
counts, because a bias between tools is no change of the knee (judgement).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fabella.evidence import Edition
from fabella.follow.verdicts import ChangeWhy
from fabella.grade import ErrorUsed
from fabella.grade.precision import error_of
from fabella.grade.thresholds import Reading, load_thresholds

SAME_EXAMINER = ("retest", "intra", "inter")
OTHER_EXAMINER = ("inter", "retest", "intra")


class Precision:
    """The measurement errors of one edition, by who measured and with what."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self._thresholds = load_thresholds()
        self._narrowed: dict[tuple[str, str], Edition] = {}

    def reading(self, sign: str) -> Reading | None:
        """Return how the measurement of a sign is read, None when no rule can read it."""
        return self._thresholds.readings.get(sign)

    def of(self, reading: Reading, method: str | None, *, unit: str, same: bool) -> ErrorUsed | None:
        """Return the error of a reading by a method, for a change seen by the ``same`` examiner or not."""
        found = [
            error_of(reading, method=method, unit=unit, edition=edition, thresholds=self._thresholds)
            for edition in self._in_order(same=same)
        ]
        known = [error for error in found if error is not None]
        stated = (error for error in known if error.row is not None and not error.assumed)
        return next(stated, known[0] if known else None)

    def between(
        self, reading: Reading, methods: tuple[str | None, str | None], *, unit: str, same: bool
    ) -> tuple[ErrorUsed | None, tuple[ChangeWhy, ...]]:
        """Return the error of a change between readings by two methods, and what has to be said of it.

        No error and `ChangeWhy.METHODS_DIFFER` when the two cannot be compared. A method that is not stated
        is taken as the usual one.
        """
        first, second = methods
        if first is not None and second is not None and self._names(first) != self._names(second):
            shared = self._of_two_tools(reading, first, second, unit=unit, same=same)
            if shared is None:
                return None, (ChangeWhy.METHODS_DIFFER,)
            return shared, (ChangeWhy.COARSER_METHOD, *_caveats(shared, same=same))
        errors = [self.of(reading, method, unit=unit, same=same) for method in methods]
        wider = max((each for each in errors if each is not None), key=_coarseness, default=None)
        if wider is None or None in errors:
            return None, (ChangeWhy.ERROR_UNKNOWN,)
        assumed = (ChangeWhy.METHOD_ASSUMED,) if any(each and each.assumed for each in errors) else ()
        return wider, (*assumed, *_caveats(wider, same=same))

    def _of_two_tools(
        self, reading: Reading, first: str, second: str, *, unit: str, same: bool
    ) -> ErrorUsed | None:
        for comparison in SAME_EXAMINER if same else OTHER_EXAMINER:
            rows = [
                row
                for measure in reading.errors
                for row in self.edition.measurement_error_of(measure)
                if row.comparison == comparison
            ]
            for source in dict.fromkeys(row.source.key for row in rows):
                pair = [
                    error_of(
                        reading,
                        method=method,
                        unit=unit,
                        edition=self._only(comparison, source),
                        thresholds=self._thresholds,
                    )
                    for method in (first, second)
                ]
                both = [each for each in pair if each is not None and each.row is not None]
                if len(both) == len(pair) and not any(each.assumed for each in both):
                    return max(both, key=_coarseness)
        return None

    def _names(self, method: str) -> tuple[str, ...]:
        """Return the tabled methods that a word stands for; two words for the same tool give the same."""
        word = " ".join(method.casefold().split())
        return self._thresholds.methods.get(word, (word,))

    def _in_order(self, *, same: bool) -> Iterator[Edition]:
        return (self._only(comparison) for comparison in (SAME_EXAMINER if same else OTHER_EXAMINER))

    def _only(self, comparison: str, source: str = "") -> Edition:
        """Return the edition with the errors of one comparison, and of one source when it is named."""
        key = comparison, source
        if key not in self._narrowed:
            rows = tuple(
                row
                for row in self.edition.measurement_error
                if row.comparison == comparison and source in {"", row.source.key}
            )
            self._narrowed[key] = replace(self.edition, measurement_error=rows)
        return self._narrowed[key]


def _coarseness(error: ErrorUsed) -> tuple[float, bool]:
    return error.detectable, error.assumed


def _caveats(error: ErrorUsed, *, same: bool) -> Sequence[ChangeWhy]:
    """Say that an error within one examiner stands for one between two, where no better is published."""
    one = error.row is not None and error.row.comparison in {"retest", "intra"}
    return (ChangeWhy.ERROR_OF_ONE_EXAMINER,) if one and not same else ()
