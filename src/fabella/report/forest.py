"""Rival sources on one question side by side: which is used, and where each stands on a scale from 0 to 1."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import load_lesions
from fabella.evidence import Accuracy, Edition, Estimate, Provenance, Ranked, Source, rank
from fabella.evidence.facts import AccuracyUsed, Knowledge
from fabella.evidence.plain import plain
from fabella.evidence.pool_model import ENOUGH, studies
from fabella.report.study_words import target_words, whom_words
from fabella.report.whiskers import Whisker, bounded, side_px, whisker_of
from fabella.stats.written import number_words, spaced


class Mark(StrEnum):
    """What becomes of a source; each has a shape of its own."""

    USED = "used"
    POOLED = "pooled"  # one of the studies that we pooled
    FIRST = "first"  # first in our order, though the model takes none, or another
    RIVAL = "rival"
    BARRED = "barred"


_TAKEN = {Mark.USED, Mark.POOLED}


@dataclass(frozen=True, slots=True, kw_only=True)
class ForestRow:
    """One source: its mark and the words for it, in whom, how many, how surely, and both shares.

    ``side_px`` is the side of its mark; ``counts`` are tp, fp, fn, tn.
    """

    source: Source
    mark: Mark
    place: str
    population: str
    whom: str
    knees: int | None
    counts: tuple[int | None, int | None, int | None, int | None] | None
    side_px: float
    sensitivity: Whisker
    specificity: Whisker
    ratios: str
    standing: str
    notes: str

    @property
    def facts(self) -> tuple[str, ...]:
        """How many knees, the counts and the likelihood ratios, as far as they are known."""
        named = zip(("true +", "false +", "false −", "true −"), self.counts or (), strict=False)
        counted = ", ".join(f"{name} {cell}" for name, cell in named if cell is not None)
        return tuple(filter(None, (f"{self.knees} knees" if self.knees else "", counted, self.ratios)))


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedRow:
    """What the model takes: for which sign and where, both shares, what they rest on and why they were taken.

    ``by_us`` is true when we pooled them from the counts of the studies above.
    """

    sign: str
    where: str
    fitted_in: str
    knees: int | None
    sensitivity: Whisker
    specificity: Whisker
    provenance: str
    sources: tuple[Source, ...]
    why: str
    by_us: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Forest:
    """One question: how well a sign, read in one way, tells a target; its rivals in our order.

    ``words`` and ``read_words`` are target and way of reading as words; ``lesion`` is the lesion of the
    model that the target counts as, empty when there is none; ``first`` says which source stands first in our
    order, and why.
    """

    sign: str
    target: str
    words: str
    read: str
    read_words: str
    lesion: str
    rows: tuple[ForestRow, ...]
    used: tuple[UsedRow, ...]
    first: str

    @property
    def taken(self) -> tuple[ForestRow, ...]:
        """The sources that the numbers of the model come from."""
        return tuple(row for row in self.rows if row.mark in _TAKEN)

    @property
    def others(self) -> tuple[ForestRow, ...]:
        """The sources that the model takes no number from."""
        return tuple(row for row in self.rows if row.mark not in _TAKEN)


def forests(edition: Edition, knowledge: Knowledge, sign: str) -> tuple[Forest, ...]:
    """Return every question on a sign, those that the model takes a number from before the others."""
    own = dict.fromkeys((sign, row.target, row.finding_level) for row in edition.accuracy_of(sign))
    borrowed = (tuple(used.row.split("/")) for used in knowledge.accuracy if used.sign == sign and used.row)
    asked = dict.fromkeys((*own, *borrowed))
    found = (forest(edition, knowledge, *each) for each in asked)
    return tuple(sorted((each for each in found if each.rows), key=lambda each: not each.used))


def forest(edition: Edition, knowledge: Knowledge, sign: str, target: str, read: str) -> Forest:
    """Return one question with all its sources."""
    rows = edition.accuracy_for(sign, target, finding_level=read)
    ranking = rank(rows)
    taken = [each for each in knowledge.accuracy if each.row == f"{sign}/{target}/{read}"]
    ours = studies(edition, sign, target, read)
    pooled = {each.source.key for each in ours} if any(_is_ours(each, ours) for each in taken) else set()
    used = [_row_used(rows, each) for each in taken if not _is_ours(each, ours)]
    lesion = load_lesions().of_diagnosis(target)
    first = ranking.chosen
    return Forest(
        sign=sign,
        target=target,
        words=target_words(target),
        read=read,
        read_words=typeset(read),
        lesion=lesion.id if lesion else "",
        rows=tuple(
            _row(edition, each, _mark(each, first=first, used=used, pooled=pooled, ours=ours))
            for each in ranking.ordered
        ),
        used=tuple(_used(edition, each, by_us=_is_ours(each, ours)) for each in taken),
        first=f"{first.source.short}: {ranking.reason}" if first else ranking.reason,
    )


def _is_ours(used: AccuracyUsed, ours: Sequence[Accuracy]) -> bool:
    keys = {each.source.key for each in ours}
    return len(ours) >= ENOUGH and set(used.keys) == keys


def _row_used(rows: Sequence[Accuracy], used: AccuracyUsed) -> Accuracy | None:
    """Return the row of the source taken that prints its numbers; its first when none prints them so."""
    same = [row for row in rows if row.source.key in used.keys]
    wanted = {used.sensitivity, used.specificity}
    printed = [row for row in same if row.pair is not None and wanted & set(row.pair)]
    return next(iter((*printed, *same)), None)


def _mark(
    each: Ranked,
    *,
    first: Accuracy | None,
    used: Sequence[Accuracy | None],
    pooled: set[str],
    ours: Sequence[Accuracy],
) -> Mark:
    row = each.accuracy
    if any(row is one for one in used):
        return Mark.USED
    if row.source.key in pooled and any(row is one for one in ours):
        return Mark.POOLED
    if each.barred:
        return Mark.BARRED
    return Mark.FIRST if row is first else Mark.RIVAL


def _row(edition: Edition, each: Ranked, mark: Mark) -> ForestRow:
    row = each.accuracy
    places = {
        Mark.USED: "used by the model",
        Mark.POOLED: "one of those we pooled",
        Mark.FIRST: "first in our order",
        Mark.BARRED: f"shown, never used: {each.reason}",
        Mark.RIVAL: f"stands back: {_BACK.get(each.reason, each.reason)}",
    }
    tp, fp, fn, tn = row.counts.cells if row.counts else (None,) * 4
    return ForestRow(
        source=row.source,
        mark=mark,
        place=places[mark],
        population=row.population,
        whom=whom_words(row.setting, row.acuity, row.anaesthesia),
        knees=row.knees,
        counts=row.counts.cells if row.counts else None,
        side_px=side_px(row.knees),
        sensitivity=whisker_of(row.sensitivity, tp, fn),
        specificity=whisker_of(row.specificity, tn, fp),
        ratios=_ratios(row),
        standing="" if row.standing == Provenance.PUBLISHED else row.standing.removeprefix("published; "),
        notes=plain(edition, row.notes),
    )


def _used(edition: Edition, used: AccuracyUsed, *, by_us: bool) -> UsedRow:
    return UsedRow(
        sign=used.sign,
        where=spaced(used.setting) if used.setting else "anywhere",
        fitted_in=spaced(used.reference),
        knees=used.n,
        sensitivity=bounded(used.sensitivity, used.sensitivity_bounds),
        specificity=bounded(used.specificity, used.specificity_bounds),
        provenance=str(used.provenance),
        sources=tuple(edition.source(key) for key in used.keys),
        why=plain(edition, used.note),
        by_us=by_us,
    )


def _ratios(row: Accuracy) -> str:
    if row.likelihood_ratio is None:
        return ""
    return "; ".join(_ratio_words(row.likelihood_ratio.positive, row.likelihood_ratio.negative))


def _ratio_words(positive: Estimate | None, negative: Estimate | None) -> Iterator[str]:
    for name, ratio in (("LR+", positive), ("LR−", negative)):
        if ratio is not None:
            yield f"{name} {number_words(ratio.value, ratio.low, ratio.high)}"


_BACK = {"published pooling": "pooled by its authors, but not bivariate"}


def typeset(text: str) -> str:
    """Return the plain text of a table with true signs: ``≥ 3 mm`` for ``>=3 mm``."""
    for typed, sign in (("->", "→"), (">=", "≥ "), ("<=", "≤ ")):
        text = text.replace(typed, sign)
    return spaced(" ".join(text.split()))
