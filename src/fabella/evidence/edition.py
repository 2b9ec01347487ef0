"""All tables of one edition, and how to look things up in them."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from fabella.errors import InputError, suggestion
from fabella.evidence.accuracy import Accuracy
from fabella.evidence.measures import ErrorStatistic, MeasurementError, Norm, StudySex
from fabella.evidence.source import Source
from fabella.evidence.tables import (
    Cooccurrence,
    Gap,
    GradeBand,
    Milestone,
    Prevalence,
    Reliability,
    RuleCriterion,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """A frozen set of evidence tables; every stored result names the edition that it used.

    ``id`` ends in ``(edited)`` when the tables are not those that were frozen under it. Look-ups return
    tuples in the order of the tables, empty when nothing is known: which row to believe is `rank`'s matter.
    """

    id: str
    date: dt.date
    sha256: str
    sources: Mapping[str, Source]
    accuracy: tuple[Accuracy, ...] = ()
    prevalence: tuple[Prevalence, ...] = ()
    cooccurrence: tuple[Cooccurrence, ...] = ()
    norms: tuple[Norm, ...] = ()
    measurement_error: tuple[MeasurementError, ...] = ()
    reliability: tuple[Reliability, ...] = ()
    recovery: tuple[Milestone, ...] = ()
    grading: tuple[GradeBand, ...] = ()
    decision_rules: tuple[RuleCriterion, ...] = ()
    gaps: tuple[Gap, ...] = ()

    def source(self, key: str) -> Source:
        """Return the source called ``key``; raise `InputError` with the nearest key when there is none."""
        if key not in self.sources:
            says, remedy = "is no source of this edition", suggestion(key, self.sources)
            raise InputError.of(place="source", value=key, says=says, remedy=remedy)
        return self.sources[key]

    def accuracy_of(self, sign_id: str) -> tuple[Accuracy, ...]:
        """Return every accuracy row of a sign, whatever its target."""
        return tuple(row for row in self.accuracy if row.sign_id == sign_id)

    def accuracy_for(
        self, sign_id: str, target: str, *, finding_level: str | None = None
    ) -> tuple[Accuracy, ...]:
        """Return the accuracy rows of a sign for a target.

        Parameters
        ----------
        sign_id, target
            The sign and the lesion it speaks for.
        finding_level
            How the sign was read (``positive``, ``>=25000 per uL``); None takes every way.
        """
        return tuple(
            row
            for row in self.accuracy_of(sign_id)
            if row.target == target and finding_level in {None, row.finding_level}
        )

    def norms_of(
        self, measure_id: str, *, age_years: float | None = None, sex: StudySex | None = None
    ) -> tuple[Norm, ...]:
        """Return the norms of a measurement that hold for a person, the most fitting first.

        Norms of that person's own sex come before those of both, narrow age bands before wide ones,
        values read before values recalled.

        Parameters
        ----------
        measure_id
            What is measured.
        age_years
            Age in years; None when unknown, which keeps every age.
        sex
            None when unknown, which keeps both.
        """
        fitting = (
            norm
            for norm in self.norms
            if norm.measure_id == measure_id and norm.holds_for(age_years=age_years, sex=sex)
        )
        return tuple(sorted(fitting, key=_fit))

    def measurement_error_of(
        self, measure_id: str, *, method: str | None = None, statistic: ErrorStatistic | None = None
    ) -> tuple[MeasurementError, ...]:
        """Return the errors of a measurement, of one method and statistic when they are given."""
        return tuple(
            row
            for row in self.measurement_error
            if row.measure_id == measure_id
            and method in {None, row.method}
            and statistic in {None, row.statistic}
        )

    def reliability_of(self, sign_id: str) -> tuple[Reliability, ...]:
        """Return how far examiners agree on a sign."""
        return tuple(row for row in self.reliability if row.sign_id == sign_id)

    def bands(self, scale_id: str) -> tuple[GradeBand, ...]:
        """Return the grades of a scale, in the printed order."""
        return tuple(row for row in self.grading if row.scale_id == scale_id)

    def gaps_of(self, subject: str) -> tuple[Gap, ...]:
        """Return what was looked for on a sign or measurement and not found."""
        return tuple(gap for gap in self.gaps if gap.subject == subject)


def _fit(norm: Norm) -> tuple[bool, float, bool]:
    width = (norm.age_below_years or 200.0) - norm.age_from_years
    return norm.sex is StudySex.BOTH, width, norm.recalled
