"""What has changed since earlier visits, as sections of the letter."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fabella.report.document import Paragraph, Section
from fabella.report.since_words import SinceWords


def since_sections(visits: Sequence[SinceWords]) -> Iterator[Section]:
    """Yield a section for each visit before; how often a change is told by chance stands once, last."""
    last = max((number for number, each in enumerate(visits) if each.by_chance), default=None)
    for number, each in enumerate(visits):
        blocks = tuple(_since_then(each.since, each, chance=number == last))
        yield Section(id=each.since, heading=each.heading, blocks=blocks)


def _since_then(section: str, since: SinceWords, *, chance: bool) -> Iterator[Paragraph]:
    """What has truly changed first, then what has not, and what nobody can say."""
    told = (
        ("operation", "", since.operation),
        ("worse", "Worse", " ".join(since.worse)),
        ("better", "Better", " ".join(since.better)),
        ("changed", "Changed", " ".join(since.changed)),
        ("more", "", since.more),
        ("regraded", "Graded otherwise", since.regraded),
        ("unchanged", "Unchanged", since.unchanged),
        ("unjudged", "Cannot be judged", since.unjudged),
        ("not-again", "Not looked at again", since.not_again),
        ("chance", "", since.by_chance if chance else ""),
    )
    for name, label, text in told:
        if text:
            yield Paragraph(id=f"{section}-{name}", label=label, text=text)
