"""Which of several rival accuracies to believe, and why."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import NamedTuple

from fabella.errors import EvidenceError
from fabella.evidence.accuracy import Accuracy, Anaesthesia, Design, StudyAcuity, StudySetting
from fabella.evidence.source import RECALLED, Caution
from fabella.stats.written import spaced

_DESIGNS = {
    Design.OWN_POOLED: "pooled by us from study-level counts",
    Design.BIVARIATE_POOLED: "published bivariate pooling",
    Design.POOLED: "published pooling",
    Design.PRIMARY: "single study",
}
_ORDER = tuple(_DESIGNS)
_CAUTIONS = {
    Caution.NONE: "",
    Caution.OUTLIER: "outlier",
    Caution.INVENTOR: "series of the test's inventor",
    Caution.HEALTHY_CONTROLS: "compared with healthy volunteers",
}
_COMPLETENESS = ("the whole accuracy", "only part of the accuracy", "no accuracy printed")
_EMPTY = len(_COMPLETENESS) - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """An accuracy in its place; ``barred`` rows are shown but never chosen."""

    accuracy: Accuracy
    barred: bool
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """Rival accuracies, the most believable first, and the one to use (None when none can be)."""

    ordered: tuple[Ranked, ...]
    chosen: Accuracy | None
    reason: str


class _Wanted(NamedTuple):
    setting: StudySetting | None
    acuity: StudyAcuity | None


class _Criterion(NamedTuple):
    """A way to be the better row: the lower score wins; the words say what a row with a worse score is.

    ``shortcoming`` is True when the words are worth saying of the chosen row as well.
    """

    score: Callable[[Accuracy, _Wanted], float]
    words: Callable[[Accuracy], str]
    shortcoming: bool = False


def _completeness(row: Accuracy) -> int:
    ratio, shares = row.likelihood_ratio, (row.sensitivity, row.specificity)
    both_ratios = ratio is not None and ratio.positive is not None and ratio.negative is not None
    if row.pair is not None or both_ratios:
        return 0
    has_part = ratio is not None or any(share is not None and share.value is not None for share in shares)
    return 1 if has_part else _EMPTY


def _has_only_ratios(row: Accuracy) -> bool:
    return row.pair is None and _completeness(row) == 0


def _caution(row: Accuracy) -> str:
    if row.caution is Caution.NONE:
        return ""
    return f"{_CAUTIONS[row.caution]}: {row.source.remark}"


# The first criterion in which two rows differ decides between them.
CRITERIA = (
    _Criterion(lambda row, _: row.caution is not Caution.NONE, _caution),
    _Criterion(
        lambda row, _: _completeness(row),
        lambda row: _COMPLETENESS[_completeness(row)],
        shortcoming=True,
    ),
    _Criterion(
        lambda row, _: row.anaesthesia is Anaesthesia.ANAESTHETISED,
        lambda _: "examined under anaesthesia",
        shortcoming=True,
    ),
    _Criterion(
        lambda row, wanted: not row.suits_setting(wanted.setting),
        lambda row: f"another setting ({spaced(row.setting)})",
        shortcoming=True,
    ),
    _Criterion(
        lambda row, wanted: not row.suits_acuity(wanted.acuity),
        lambda row: f"another acuity ({spaced(row.acuity)})",
        shortcoming=True,
    ),
    _Criterion(lambda row, _: row.recalled, lambda _: RECALLED, shortcoming=True),
    _Criterion(lambda row, _: row.source.second_hand, lambda _: "read at second hand", shortcoming=True),
    _Criterion(
        lambda row, _: not row.source.traceable, lambda _: "paper cannot be found again", shortcoming=True
    ),
    _Criterion(lambda row, _: not row.independent, lambda _: "the same knees as in another row"),
    _Criterion(lambda row, _: _ORDER.index(row.design), lambda row: _DESIGNS[row.design]),
    _Criterion(lambda row, _: _has_only_ratios(row), lambda _: "likelihood ratios only", shortcoming=True),
    _Criterion(lambda row, _: -(row.knees or 0), lambda row: f"fewer knees ({row.knees or 'not stated'})"),
    _Criterion(lambda row, _: -(row.source.year or 0), lambda row: f"older ({row.source.year or 'no year'})"),
)


def rank(
    accuracies: Iterable[Accuracy], *, setting: StudySetting | None = None, acuity: StudyAcuity | None = None
) -> Ranking:
    """Return rival accuracies in the order in which to believe them, each with its reason.

    Pooled by us from counts comes before published bivariate pooling, published pooling and the largest
    single study; rows for the setting and acuity asked for, awake patients, values read rather than recalled
    come first; outliers, inventors' own series and comparisons with healthy volunteers come last and are
    never chosen.

    Parameters
    ----------
    accuracies
        Rows of one sign, read in one way, for one target; may be empty.
    setting, acuity
        Where and when the answer is to be used; None when that is open.

    Raises
    ------
    EvidenceError
        When the rows answer different questions.
    """
    rows = tuple(accuracies)
    questions = {(row.sign_id, row.target, row.finding_level) for row in rows}
    if len(questions) > 1:
        listed = "; ".join(sorted(" for ".join(question[:2]) + f" ({question[2]})" for question in questions))
        raise EvidenceError(f"these rows answer different questions and cannot be ranked: {listed}")
    wanted = _Wanted(setting, acuity)
    ordered = sorted(rows, key=lambda row: (_scores(row, wanted), row.source.key))
    usable = [row for row in ordered if not _barred(row)]
    best = usable[0] if usable else None
    ranked = tuple(
        Ranked(accuracy=row, barred=_barred(row), reason=_why(row, best, wanted)) for row in ordered
    )
    return Ranking(ordered=ranked, chosen=best, reason=_why_chosen(rows, best, wanted))


def _scores(row: Accuracy, wanted: _Wanted) -> tuple[float, ...]:
    return tuple(criterion.score(row, wanted) for criterion in CRITERIA)


def _barred(row: Accuracy) -> bool:
    return row.caution is not Caution.NONE or _completeness(row) == _EMPTY


def _why(row: Accuracy, best: Accuracy | None, wanted: _Wanted) -> str:
    if row is best:
        return "first in order"
    if row.caution is not Caution.NONE or best is None:
        return _caution(row) or _COMPLETENESS[_completeness(row)]
    pairs = zip(CRITERIA, _scores(row, wanted), _scores(best, wanted), strict=True)
    worse = (criterion.words(row) for criterion, own, other in pairs if own != other)
    return next(worse, "nothing between them")


def _why_chosen(rows: tuple[Accuracy, ...], best: Accuracy | None, wanted: _Wanted) -> str:
    if not rows:
        return "no source"
    if best is None:
        return "no source can be used as it stands"
    knees = f", {best.knees} knees" if best.knees else ""
    told = (each for each in CRITERIA if each.shortcoming and each.score(best, wanted))
    return f"{_DESIGNS[best.design]}{knees}" + "".join(f"; {each.words(best)}" for each in told)
