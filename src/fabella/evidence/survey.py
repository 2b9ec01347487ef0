"""What the evidence holds and what the knee model takes from it, as one Markdown page.

``python -m fabella.evidence.survey docs/evidence.md`` writes it, so that it cannot grow stale.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from fabella.evidence.edition import Edition
from fabella.evidence.facts import Knowledge
from fabella.evidence.footings import tables
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.loader import load_edition
from fabella.evidence.named import Names, names_of
from fabella.evidence.rows import KINDS
from fabella.evidence.source import RECALLED, Provenance
from fabella.evidence.survey_tables import head, line, model_lines
from fabella.stats.written import spaced

_HEAD = """\
# The evidence

Made from the tables by `python -m fabella.evidence.survey docs/evidence.md`; do not edit.

The numbers of Fabella stand in tables, one folder for each edition (`src/fabella/evidence/editions`). Every
number names its source and says what it rests on:

- *published*: printed there; *from memory* where it was recalled and the original not read again;
- *derived*: worked out of published numbers; the table says how;
- *judgement*: common practice, or ours.

Rivals stand side by side and are never averaged. `fabella evidence lachman` shows all there are for one sign,
which is believed and why: first those that carry no caution (an outlier, the inventor's own series, healthy
volunteers as the comparison: shown, never chosen), that print the whole accuracy, that examined patients
awake, in the setting and acuity asked for; then values read before values recalled, first hand before second
hand, papers that can be found again, knees counted once; then pooled by us from counts before published
bivariate pooling, published pooling and a single study; last the larger and the younger study.

The knee model takes one number for each of its links. It departs from that order only where its table says
why. What no study measured is judged, visibly so: most links from a lesion to what it brings about are."""

_MODEL = """\
## What the model rests on

Rows of each table of the model, and how many of them are published, derived or judged. A row of rates is
one lesion; single rates with a footing of their own are counted apart."""

_GAPS = "## Not found\n\nLooked for, without an answer; judged by the model where it needs one."
_SOURCES = """\
## Sources of the model

What is taken from one: `fabella evidence --source`, with its key as it stands here."""


def as_markdown(edition: Edition, knowledge: Knowledge) -> str:
    """Return the page, ending in a line break."""
    return "\n".join(_lines(edition, knowledge)) + "\n"


def _lines(edition: Edition, knowledge: Knowledge) -> Iterator[str]:
    names = names_of(edition, knowledge)
    yield _HEAD
    yield from _holdings(edition)
    yield from _shares(knowledge)
    yield from model_lines(knowledge, names)
    yield from _gaps(edition, names)
    yield from _sources(edition, knowledge)


def _holdings(edition: Edition) -> Iterator[str]:
    yield f"\n## What the tables hold\n\nEdition {edition.id}, {len(edition.sources)} sources.\n"
    yield from head("Table", "Rows", "Sources", "Published", "Derived", "Judgement", "From memory")
    for kind in KINDS:
        rows = getattr(edition, kind)
        kinds = Counter(row.provenance for row in rows)
        recalled = sum(row.recalled for row in rows)
        sources = len({row.source.key for row in rows})
        yield line(spaced(kind), len(rows), sources, *(kinds[each] for each in Provenance), recalled)


def _shares(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_MODEL}\n"
    yield from head("Table", "Rows", "Published", "Derived", "Judgement", "From memory")
    for name, rows in tables(knowledge).items():
        kinds = Counter(row.provenance for row in rows)
        shares = [f"{kinds[each]} ({100 * kinds[each] / len(rows):.0f}%)" for each in Provenance]
        yield line(name, len(rows), *shares, sum(RECALLED in row.source for row in rows))
    fitted = len({used.sign for used in knowledge.accuracy})
    yield f"\nOf {len(knowledge.indicators)} signs {fitted} are fitted to an accuracy, not to a judged hit."
    yield "Which lesions a mechanism brings is judged, but for how often an injury is told of bone sarcomas"
    yield "and a fall of torn quadriceps tendons."


def _gaps(edition: Edition, names: Names) -> Iterator[str]:
    yield f"\n{_GAPS}\n"
    for gap in edition.gaps:
        yield f"- {names.sign(gap.subject)}: {gap.looked_for}"


def _sources(edition: Edition, knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_SOURCES}\n"
    keys = {key for rows in tables(knowledge).values() for row in rows for key in row.keys}
    for key in sorted(keys):
        source = edition.source(key)
        said = ". ".join(filter(None, (source.citation, source.identifier, source.remark.rstrip("."))))
        yield f"- `{key}`: {said}."


def main(arguments: Sequence[str]) -> None:
    """Write the page of the latest edition to the file named."""
    if len(arguments) != 1:
        sys.exit("name the file to write: python -m fabella.evidence.survey docs/evidence.md")
    Path(arguments[0]).write_text(as_markdown(load_edition(), load_knowledge()), "utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
