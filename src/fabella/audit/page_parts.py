"""What the parts of the page share: totals with their names, shares in words, tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fabella.audit.validation import CONFIDENT, Share, Validation
from fabella.stats.written import percentage


def totals(validation: Validation) -> tuple[tuple[str, Share], ...]:
    """Return the totals with their names."""
    return (
        ("right lesion first", validation.first),
        ("right lesion among the first three", validation.top_three),
        ("red flags raised", validation.red_flags_raised),
        ("false alarms in harmless knees", validation.false_alarms),
        (f"a wrong lesion held at {percentage(CONFIDENT)} or more", validation.confidently_wrong),
    )


def share_words(share: Share) -> str:
    """Return a share as "12 of 26, 46% (29 to 65)"."""
    if share.interval is None:
        return "none to count"
    low, high = round(100 * share.interval.low), round(100 * share.interval.high)
    return f"{share.count} of {share.of}, {round(100 * share.count / share.of)}% ({low} to {high})"


def share_tree(share: Share) -> dict[str, object]:
    """Return a share as plain data."""
    interval = share.interval
    return {
        "count": share.count,
        "of": share.of,
        "share": None if interval is None else interval.estimate,
        "low": None if interval is None else interval.low,
        "high": None if interval is None else interval.high,
    }


def totals_tree(validation: Validation) -> dict[str, object]:
    """Return the totals as plain data."""
    return {name: share_tree(share) for name, share in totals(validation)}


def table(columns: Iterable[str], rows: Iterable[Iterable[str]]) -> Iterator[str]:
    """Yield the lines of a Markdown table."""
    heading = list(columns)
    yield f"| {' | '.join(heading)} |"
    yield f"|{'---|' * len(heading)}"
    for row in rows:
        yield f"| {' | '.join(cell.replace('|', '/') for cell in row)} |"
