"""From the cells of a row to the thing it states: one function for each kind of table."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from fabella.evidence.accuracy import Accuracy, Anaesthesia, Design, StudyAcuity, StudySetting
from fabella.evidence.cells import Cells
from fabella.evidence.measures import ErrorStatistic, LoHi, MeasurementError, Norm, NormAbout, StudySex
from fabella.evidence.numbers import Counts2x2, LikelihoodRatio
from fabella.evidence.source import Caution, EvidenceKind, Source, Sourced
from fabella.evidence.tables import Cooccurrence, GradeBand, Milestone, Prevalence, Reliability, RuleCriterion

_TAIL = "source provenance verified notes"


class Kind(NamedTuple):
    """The columns of a kind of table and the function that makes one thing of one row."""

    columns: tuple[str, ...]
    make: Callable[[Cells], Sourced]


def _stated(cells: Cells) -> dict[str, Any]:
    return {"source": cells.source(), "provenance": cells.provenance(), "recalled": cells.recalled()}


def _tail(cells: Cells) -> dict[str, Any]:
    return {**_stated(cells), "notes": cells.text("notes")}


def _texts(cells: Cells, names: str) -> dict[str, Any]:
    return {name: cells.text(name) for name in names.split()}


def _needed(cells: Cells, names: str) -> dict[str, Any]:
    return {name: cells.text(name, needed=True) for name in names.split()}


def _likelihood_ratio(cells: Cells) -> LikelihoodRatio | None:
    positive = cells.estimate("lr_pos", "lr_pos_lo", "lr_pos_hi")
    negative = cells.estimate("lr_neg", "lr_neg_lo", "lr_neg_hi")
    if positive is None and negative is None:
        return None
    return LikelihoodRatio(positive=positive, negative=negative, **_stated(cells))


def _counts(cells: Cells) -> Counts2x2 | None:
    counts: dict[str, Any] = {name: cells.count(name) for name in ("tp", "fp", "fn", "tn")}
    if set(counts.values()) == {None}:
        return None
    return Counts2x2(**counts, **{**_stated(cells), "provenance": cells.provenance("counts_provenance")})


def _accuracy(cells: Cells) -> Accuracy:
    return Accuracy(
        **_needed(cells, "sign_id sign_name finding_level target"),
        **_texts(cells, "population reference_standard"),
        setting=cells.choice("setting", StudySetting),
        acuity=cells.choice("acuity", StudyAcuity),
        anaesthesia=cells.choice("anaesthesia", Anaesthesia),
        sensitivity=cells.estimate("sens", "sens_lo", "sens_hi"),
        specificity=cells.estimate("spec", "spec_lo", "spec_hi"),
        likelihood_ratio=_likelihood_ratio(cells),
        counts=_counts(cells),
        studies=cells.count("n_studies"),
        knees=cells.count("n_knees"),
        design=cells.choice("design", Design),
        composite=cells.flag("composite"),
        independent=cells.flag("independent"),
        caution=cells.choice("caution", Caution),
        **_tail(cells),
    )


def _prevalence(cells: Cells) -> Prevalence:
    return Prevalence(
        **_needed(cells, "lesion"),
        **_texts(cells, "age_band stratum"),
        setting=cells.choice("setting", StudySetting),
        sex=cells.choice("sex", StudySex),
        share=cells.needed_estimate("prevalence", "lo", "hi"),
        n=cells.count("n"),
        **_tail(cells),
    )


def _cooccurrence(cells: Cells) -> Cooccurrence:
    return Cooccurrence(
        **_needed(cells, "lesion_a lesion_b measure"),
        **_texts(cells, "population"),
        estimate=cells.needed_estimate("value", "lo", "hi"),
        n=cells.count("n"),
        **_tail(cells),
    )


def _norm(cells: Cells) -> Norm:
    return Norm(
        **_needed(cells, "measure_id unit age_band"),
        age_from_years=cells.needed_number("age_from_years"),
        name=cells.text("measure_name", needed=True),
        age_below_years=cells.number("age_below_years"),
        sex=cells.choice("sex", StudySex),
        about=cells.choice("side_rule", NormAbout),
        mean=cells.number("mean"),
        sd=cells.number("sd"),
        low=cells.number("lo"),
        high=cells.number("hi"),
        lohi=cells.choice("lohi", LoHi),
        n=cells.count("n"),
        **_tail(cells),
    )


def _measurement_error(cells: Cells) -> MeasurementError:
    return MeasurementError(
        **_needed(cells, "measure_id method"),
        **_texts(cells, "comparison end unit"),
        statistic=cells.choice("statistic", ErrorStatistic),
        value=cells.number("value"),
        **_tail(cells),
    )


def _reliability(cells: Cells) -> Reliability:
    return Reliability(
        **_needed(cells, "sign_id sign_name statistic comparison"),
        **_texts(cells, "target summary population scale"),
        estimate=cells.estimate("value", "lo", "hi"),
        knees=cells.count("n_knees"),
        raters=cells.count("n_raters"),
        **_tail(cells),
    )


def _milestone(cells: Cells) -> Milestone:
    return Milestone(
        **_needed(cells, "item_id category procedure_or_population measure_id timepoint statistic"),
        **_texts(cells, "unit"),
        estimate=cells.needed_estimate("value", "lo", "hi"),
        n=cells.count("n"),
        **_tail(cells),
    )


def _grade_band(cells: Cells) -> GradeBand:
    lower, upper = cells.number("lower"), cells.number("upper")
    return GradeBand(
        **_needed(cells, "scale_id structure criterion"),
        **_texts(cells, "grade unit"),
        lower=lower,
        lower_strict=lower is not None and cells.flag("lower_strict"),
        upper=upper,
        upper_strict=upper is not None and cells.flag("upper_strict"),
        **_tail(cells),
    )


def _rule_criterion(cells: Cells) -> RuleCriterion:
    return RuleCriterion(
        **_needed(cells, "rule_id rule_name criterion_no criterion threshold action"),
        **_texts(cells, "applies_to excludes"),
        **_tail(cells),
    )


def _kind(columns: str, make: Callable[[Cells], Sourced]) -> Kind:
    return Kind(tuple(f"{columns} {_TAIL}".split()), make)


KINDS: Mapping[str, Kind] = {
    "accuracy": _kind(
        "sign_id sign_name finding_level target population setting acuity anaesthesia reference_standard "
        "tp fp fn tn counts_provenance sens sens_lo sens_hi spec spec_lo spec_hi lr_pos lr_pos_lo lr_pos_hi "
        "lr_neg lr_neg_lo lr_neg_hi interval n_studies n_knees design composite independent caution",
        _accuracy,
    ),
    "prevalence": _kind("lesion setting age_band sex stratum prevalence lo hi interval n", _prevalence),
    "cooccurrence": _kind("lesion_a lesion_b measure value lo hi interval n population", _cooccurrence),
    "norms": _kind(
        "measure_id measure_name unit age_band age_from_years age_below_years sex side_rule "
        "mean sd lo hi lohi n",
        _norm,
    ),
    "measurement_error": _kind("measure_id method statistic end value unit comparison", _measurement_error),
    "reliability": _kind(
        "sign_id sign_name target statistic comparison summary value lo hi interval "
        "n_knees n_raters population scale",
        _reliability,
    ),
    "recovery": _kind(
        "item_id category procedure_or_population measure_id timepoint statistic value lo hi interval unit n",
        _milestone,
    ),
    "grading": _kind(
        "scale_id structure grade unit lower lower_strict upper upper_strict criterion", _grade_band
    ),
    "decision_rules": _kind(
        "rule_id rule_name criterion_no criterion threshold action applies_to excludes", _rule_criterion
    ),
}
SOURCE_COLUMNS = ("key", "citation", "identifier", "kind", "caution", "remark")
GAP_COLUMNS = ("subject", "looked_for", "note")


def make_source(cells: Cells) -> Source:
    """Return the source that a row of ``sources.csv`` states."""
    return Source(
        **_texts(cells, "key citation identifier remark"),
        kind=cells.choice("kind", EvidenceKind),
        caution=cells.choice("caution", Caution),
    )
