"""What the evidence holds and what the knee model takes from it, as one Markdown page.

``python -m fabella.evidence.survey docs/evidence.md`` writes it, so that it cannot grow stale.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from fabella.evidence.edition import Edition
from fabella.evidence.facts import Knowledge
from fabella.evidence.footings import Rests, tables
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.loader import load_edition
from fabella.evidence.named import AGE_WORDS, Names, names_of, spaced
from fabella.evidence.rows import KINDS
from fabella.evidence.source import RECALLED, Provenance
from fabella.stats.written import number_words, percent_words, share_words

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

_ACCURACY = """\
## Accuracy

Each sign here is fitted so that the model finds it, in the population named, as often as was published.
*Anywhere* gives way to a row for the clinic at hand."""

_LINKS = """\
## Links and signs

What brings a manifestation about, and how surely a sign shows it, where that is more than judgement. The
chance is of the first degree or more; *worth* is the number of imagined knees that keeps it uncertain."""

_RATES = "## How common\n\nRates of the model with a footing of their own."
_LEVELS = (
    "## Levels by age\n\nHow a lesion is shared among its levels, least first, where age changes that and it"
    " is more than judgement."
)
_COMPANY = "## Company\n\nHow one lesion goes with another, where that is more than judgement."
_IMAGES = (
    "## Images\n\nHow well images and laboratory tests show a lesion, where that is more than judgement."
)
_FIRST_IMAGES = """\
## First images

The first image by which a lesion is confirmed or graded before treatment rests on it: judgement, common
practice. It is named for a lesion that is likelier than not, however little it would tell."""
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
    yield from _accuracy(knowledge, names)
    yield from _links(knowledge, names)
    yield from _rates(knowledge, names)
    yield from _shares_by_age(knowledge, names)
    yield from _company(knowledge, names)
    yield from _images(knowledge, names)
    yield from _first_images(knowledge, names)
    yield from _gaps(edition, names)
    yield from _sources(edition, knowledge)


def _holdings(edition: Edition) -> Iterator[str]:
    yield f"\n## What the tables hold\n\nEdition {edition.id}, {len(edition.sources)} sources.\n"
    yield from _table("Table", "Rows", "Sources", "Published", "Derived", "Judgement", "From memory")
    for kind in KINDS:
        rows = getattr(edition, kind)
        kinds = Counter(row.provenance for row in rows)
        recalled = sum(row.recalled for row in rows)
        sources = len({row.source.key for row in rows})
        yield _row(spaced(kind), len(rows), sources, *(kinds[each] for each in Provenance), recalled)


def _shares(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_MODEL}\n"
    yield from _table("Table", "Rows", "Published", "Derived", "Judgement", "From memory")
    for name, rows in tables(knowledge).items():
        kinds = Counter(row.provenance for row in rows)
        shares = [f"{kinds[each]} ({100 * kinds[each] / len(rows):.0f}%)" for each in Provenance]
        yield _row(name, len(rows), *shares, sum(RECALLED in row.source for row in rows))
    fitted = len({used.sign for used in knowledge.accuracy})
    yield f"\nOf {len(knowledge.indicators)} signs {fitted} are fitted to an accuracy, not to a judged hit."
    yield "Which lesions a mechanism of injury brings is judged throughout."


def _accuracy(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_ACCURACY}\n"
    accurate = ("Sensitivity", "Specificity", "Knees")
    yield from _table("Sign", "For", "Used", "Fitted in", *accurate, "Rests on", "How")
    for used in knowledge.accuracy:
        yield _row(
            names.sign(used.sign),
            " or ".join(map(names.lesion, used.targets)),
            spaced(used.setting or "anywhere"),
            spaced(used.reference),
            share_words(used.sensitivity, *(used.sensitivity_bounds or ())),
            share_words(used.specificity, *(used.specificity_bounds or ())),
            used.n or "",
            _rests(used),
            names.note(used.note),
        )


def _links(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_LINKS}\n"
    yield from _table("From", "To", "Chance", "Worth", "Rests on", "How")
    for cause in knowledge.causes:
        if cause.keys:
            when = f", {cause.acuity}" if cause.acuity else ""
            yield _row(
                names.together(cause.parts) + when,
                spaced(cause.manifestation),
                percent_words(cause.at_least[0]),
                f"{cause.strength:g}",
                _rests(cause),
                names.note(cause.note),
            )
    for each in knowledge.indicators.values():
        if each.keys:
            shown = ", ".join(spaced(name) for name, _ in each.manifestations)
            hit, worth, note = percent_words(each.hit), f"{each.strength:g}", names.note(each.note)
            yield _row(shown, names.sign(each.sign), hit, worth, _rests(each), note)


def _rates(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_RATES}\n"
    yield from _table("Lesion", "Where", "Rate", "Rests on", "How")
    for base in knowledge.base_rates.values():
        for column, footing in base.rests.items():
            rate, note = percent_words(base.rates[column]), names.note(footing.note)
            yield _row(names.lesion(base.lesion), spaced(column), rate, _rests(footing), note)
        for column, own in base.replaced.items():
            if own.keys:
                where, rate = f"{spaced(column)}, total prosthesis", percent_words(own.rate)
                yield _row(names.lesion(base.lesion), where, rate, _rests(own), names.note(own.note))
        if (change := base.after_operation) and change.keys:
            where, rate = "within a year of an operation", f"odds × {number_words(change.odds)}"
            yield _row(names.lesion(base.lesion), where, rate, _rests(change), names.note(change.note))


def _shares_by_age(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_LEVELS}\n"
    yield from _table("Lesion", "Age", "Acute", "Chronic", "Rests on", "How")
    for base in knowledge.base_rates.values():
        for band, shares in base.shares_by_age.items():
            if shares.keys:
                each = (" : ".join(map(percent_words, split)) for split in (shares.acute, shares.chronic))
                lesion, age, note = names.lesion(base.lesion), AGE_WORDS[band], names.note(shares.note)
                yield _row(lesion, age, *each, _rests(shares), note)


def _company(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_COMPANY}\n"
    yield from _table("Given", "Also", "How often", "Rests on", "How")
    for pair in knowledge.company:
        if pair.keys:
            both = (names.lesion(pair.given), names.lesion(pair.also))
            often = percent_words(pair.value) if pair.measure == "probability" else f"odds × {pair.value:g}"
            yield _row(*both, often, _rests(pair), names.note(pair.note))


def _images(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_IMAGES}\n"
    yield from _table("Image", "Lesion", "Sensitivity", "Specificity", "Rests on", "How")
    for image in knowledge.images:
        if image.keys:
            numbers = (share_words(image.sensitivity), share_words(image.specificity))
            lesion, note = names.lesion(image.lesion), names.note(image.note)
            yield _row(image.name, lesion, *numbers, _rests(image), note)


def _first_images(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_FIRST_IMAGES}\n"
    yield from _table("Lesion", "Image", "Remark")
    for each in knowledge.first_images:
        image = ", ".join(filter(None, (names.image(each.image), each.how)))
        yield _row(names.lesion(each.lesion, each.level), image, names.note(each.note))


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


def _rests(row: Rests) -> str:
    return f"{row.provenance}: {row.source}"


def _table(*columns: str) -> Iterable[str]:
    return (_row(*columns), _row(*["---"] * len(columns)))


def _row(*cells: object) -> str:
    return "| " + " | ".join(str(cell).replace("|", "\\|") for cell in cells) + " |"


def main(arguments: Sequence[str]) -> None:
    """Write the page of the latest edition to the file named."""
    if len(arguments) != 1:
        sys.exit("name the file to write: python -m fabella.evidence.survey docs/evidence.md")
    Path(arguments[0]).write_text(as_markdown(load_edition(), load_knowledge()), "utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
