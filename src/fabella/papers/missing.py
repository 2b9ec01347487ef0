"""The part of a report that says what is missing: how much, and what becomes of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.assess import Analysis, Rules, Unreached
from fabella.papers.words import gone_words
from fabella.report.document import Block, Paragraph, Points
from fabella.report.wording import counted, listed, sentence


def missing_blocks(found: Analysis, void: Sequence[str], annulled: Sequence[str] = ()) -> Iterator[Block]:
    """Yield what is missing, by which rules it counts or is filled in, what was void or annulled and why."""
    have, rules = found.coverage, found.results.rules
    gone = gone_words(have)
    yield Paragraph(
        text=(
            f"Missing of {counted(have.marks, 'mark')} on {counted(have.sheets, 'sheet')}: "
            f"{', '.join(gone) if gone else 'none'}."
        )
    )
    yield Paragraph(
        text=(
            f"{_zeros(rules)} Up to {_prorated(rules)} is filled in "
            f"proportion ({counted(have.prorated, 'sheet')}); beyond that the sheet has no score "
            f"({counted(have.without_score, 'sheet')}). A candidate is held against the pass mark of the "
            f"stations they took, and not decided below {100 * rules.least_stations:.0f}% of them. "
            f"{_ungraded(have.without_grade)}"
        )
    )
    if have.void:
        yield Paragraph(text=sentence(f"Void for a whole circuit: {listed(have.void)}"))
    for says in annulled:
        yield Paragraph(text=says, weighty=True)
    if void:
        yield Paragraph(text="Sheets lost or stations not held, as the exam lead said; each counts as void:")
        yield Points(texts=tuple(map(sentence, void)))


def _ungraded(sheets: int) -> str:
    if not sheets:
        return "Every sheet has a global rating."
    told = counted(sheets, "sheet").capitalize()
    return f"{told} without a global rating took no part where the pass mark rests on grades."


def _zeros(rules: Rules) -> str:
    if rules.unreached is Unreached.NOT_DONE:
        return "What the bell came before counts as not done; nothing else missing counts as 0."
    return "Nothing missing counts as 0."


def _prorated(rules: Rules) -> str:
    share = f"{100 * rules.most_prorated:.0f}% of a sheet"
    if not rules.items_prorated:
        return share
    items = counted(rules.items_prorated, "item")
    return f"{share}, or {items} worth up to {100 * rules.largest_prorated:g}% of it,"
