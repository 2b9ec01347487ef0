"""Everything known of a sign or taken from a source, as plain data for a command or page."""

from fabella.errors import InputError, suggestion
from fabella.evidence.accuracy import Accuracy, StudyAcuity, StudySetting
from fabella.evidence.dossier import (
    AgreementRow,
    PlainNumber,
    PlainSource,
    Question,
    Rival,
    SignEvidence,
    SignSummary,
    SourceEvidence,
)
from fabella.evidence.edition import Edition
from fabella.evidence.numbers import Estimate
from fabella.evidence.rank import rank
from fabella.evidence.rows import KINDS
from fabella.evidence.source import Source
from fabella.evidence.tables import Reliability


def signs(edition: Edition) -> tuple[SignSummary, ...]:
    """Return every sign that an edition knows the accuracy or reliability of, by name of sign."""
    names: dict[str, str] = {row.sign_id: row.sign_name for row in edition.reliability}
    names |= {row.sign_id: row.sign_name for row in reversed(edition.accuracy)}
    return tuple(
        SignSummary(
            sign_id=sign_id,
            name=names[sign_id],
            accuracy_sources=len({row.source.key for row in edition.accuracy_of(sign_id)}),
            agreement_sources=len({row.source.key for row in edition.reliability_of(sign_id)}),
        )
        for sign_id in sorted(names)
    )


def describe(
    edition: Edition, sign_id: str, *, setting: StudySetting | None = None, acuity: StudyAcuity | None = None
) -> SignEvidence:
    """Return everything known of a sign: rival sources, numbers, which is used and why, reliability, gaps.

    Parameters
    ----------
    edition
        The evidence to look in.
    sign_id
        For instance ``lachman``.
    setting, acuity
        Where and when the answer is to be used; None when that is open.

    Raises
    ------
    InputError
        When the edition knows nothing of the sign; the nearest names are given.
    """
    gaps = edition.gaps_of(sign_id)
    known = {sign.sign_id: sign.name for sign in signs(edition)}
    if sign_id not in known and not gaps:
        says, remedy = f"has no evidence in edition {edition.id}", suggestion(sign_id, known)
        raise InputError.of(place="sign", value=sign_id, says=says, remedy=remedy)
    rows = edition.accuracy_of(sign_id)
    asked = dict.fromkeys((row.target, row.finding_level) for row in rows)
    return SignEvidence(
        edition=edition.id,
        sign_id=sign_id,
        name=known.get(sign_id, sign_id.replace("_", " ")),
        questions=tuple(_question(rows, *each, setting, acuity) for each in asked),
        agreement=tuple(map(_agreement, edition.reliability_of(sign_id))),
        gaps=tuple(f"{gap.looked_for}: {gap.note}" for gap in gaps),
    )


def describe_source(edition: Edition, key: str) -> SourceEvidence:
    """Return what an edition takes from a source; raise `InputError` with the nearest key if unknown."""
    source = edition.source(key)
    by_kind = {kind: [row for row in getattr(edition, kind) if row.source is source] for kind in KINDS}
    found = {kind: rows for kind, rows in by_kind.items() if rows}
    return SourceEvidence(
        edition=edition.id,
        source=_source(source),
        rows={kind: len(rows) for kind, rows in found.items()},
        recalled=sum(row.recalled for rows in found.values() for row in rows),
        subjects={kind: tuple(dict.fromkeys(map(_subject, rows))) for kind, rows in found.items()},
    )


def _question(
    rows: tuple[Accuracy, ...],
    target: str,
    level: str,
    setting: StudySetting | None,
    acuity: StudyAcuity | None,
) -> Question:
    same = [row for row in rows if (row.target, row.finding_level) == (target, level)]
    ranking = rank(same, setting=setting, acuity=acuity)
    return Question(
        target=target,
        finding_level=level,
        used=ranking.chosen.source.key if ranking.chosen else "",
        reason=ranking.reason,
        rivals=tuple(
            _rival(each.accuracy, each.accuracy is ranking.chosen, each.barred, each.reason)
            for each in ranking.ordered
        ),
    )


def _rival(row: Accuracy, used: bool, barred: bool, reason: str) -> Rival:  # noqa: FBT001 - private
    ratio = row.likelihood_ratio
    return Rival(
        source=_source(row.source),
        used=used,
        barred=barred,
        reason=reason,
        sensitivity=_number(row.sensitivity),
        specificity=_number(row.specificity),
        lr_positive=_number(ratio.positive if ratio else None),
        lr_negative=_number(ratio.negative if ratio else None),
        counts=row.counts.cells if row.counts else None,
        knees=row.knees,
        studies=row.studies,
        design=row.design,
        population=row.population,
        setting=row.setting,
        acuity=row.acuity,
        anaesthesia=row.anaesthesia,
        reference_standard=row.reference_standard,
        standing=row.standing,
        notes=row.notes,
    )


def _agreement(row: Reliability) -> AgreementRow:
    return AgreementRow(
        source=_source(row.source),
        name=row.sign_name,
        statistic=row.statistic,
        comparison=row.comparison,
        summary=row.summary,
        number=_number(row.estimate),
        knees=row.knees,
        raters=row.raters,
        population=row.population,
        standing=row.standing,
        notes=row.notes,
    )


def _number(estimate: Estimate | None) -> PlainNumber | None:
    if estimate is None:
        return None
    return PlainNumber(
        value=estimate.value,
        low=estimate.low,
        high=estimate.high,
        interval=str(estimate.interval),
        level=estimate.level,
        standing=estimate.standing,
    )


def _source(source: Source) -> PlainSource:
    return PlainSource(
        key=source.key,
        short=source.short,
        citation=source.citation,
        identifier=source.identifier,
        kind=str(source.kind),
        remark=source.remark,
    )


def _subject(row: object) -> str:
    names = ("sign_id", "lesion", "lesion_a", "measure_id", "scale_id", "rule_id")
    return next(str(getattr(row, name)) for name in names if hasattr(row, name))
