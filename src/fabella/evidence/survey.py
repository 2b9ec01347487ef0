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
from fabella.evidence.footings import tables
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.loader import load_edition
from fabella.evidence.rates import AGE_BANDS
from fabella.evidence.rows import KINDS
from fabella.evidence.source import RECALLED, Provenance

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
_SOURCES = "## Sources of the model"


def as_markdown(edition: Edition, knowledge: Knowledge) -> str:
    """Return the page, ending in a line break."""
    return "\n".join(_lines(edition, knowledge)) + "\n"


def _lines(edition: Edition, knowledge: Knowledge) -> Iterator[str]:
    yield _HEAD
    yield from _holdings(edition)
    yield from _shares(knowledge)
    yield from _accuracy(knowledge)
    yield from _links(knowledge)
    yield from _rates(knowledge)
    yield from _shares_by_age(knowledge)
    yield from _company(knowledge)
    yield from _images(knowledge)
    yield from _first_images(knowledge)
    yield from _gaps(edition)
    yield from _sources(edition, knowledge)


def _holdings(edition: Edition) -> Iterator[str]:
    yield f"\n## What the tables hold\n\nEdition {edition.id}, {len(edition.sources)} sources.\n"
    yield from _table("Table", "Rows", "Sources", "Published", "Derived", "Judgement", "From memory")
    for kind in KINDS:
        rows = getattr(edition, kind)
        kinds = Counter(row.provenance for row in rows)
        recalled = sum(row.recalled for row in rows)
        sources = len({row.source.key for row in rows})
        yield _row(_words(kind), len(rows), sources, *(kinds[each] for each in Provenance), recalled)


def _shares(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_MODEL}\n"
    yield from _table("Table", "Rows", "Published", "Derived", "Judgement", "From memory")
    for name, rows in tables(knowledge).items():
        kinds = Counter(row.provenance for row in rows)
        shares = [f"{kinds[each]} ({100 * kinds[each] / len(rows):.0f} %)" for each in Provenance]
        yield _row(name, len(rows), *shares, sum(RECALLED in row.source for row in rows))
    fitted = len({used.sign for used in knowledge.accuracy})
    yield f"\nOf {len(knowledge.indicators)} signs {fitted} are fitted to an accuracy, not to a judged hit."
    yield "Which lesions a mechanism of injury brings is judged throughout."


def _accuracy(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_ACCURACY}\n"
    columns = ("Sign", "For", "Used", "Fitted in", "Sensitivity", "Specificity", "Knees", "Rests on", "How")
    yield from _table(*columns)
    for used in knowledge.accuracy:
        yield _row(
            f"`{used.sign}`",
            " or ".join(map(_words, used.targets)),
            _words(used.setting or "anywhere"),
            _words(used.reference),
            _interval(used.sensitivity, used.sensitivity_bounds),
            _interval(used.specificity, used.specificity_bounds),
            used.n or "",
            _rests(used.provenance, used.source),
            used.note,
        )


def _links(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_LINKS}\n"
    yield from _table("From", "To", "Chance", "Worth", "Rests on", "How")
    for cause in knowledge.causes:
        if cause.keys:
            parts = " with ".join(f"{_words(name)} {_words(level)}".strip() for name, level in cause.parts)
            when = f", {cause.acuity}" if cause.acuity else ""
            yield _row(
                (parts or "no listed lesion") + when,
                _words(cause.manifestation),
                f"{cause.at_least[0]:g}",
                f"{cause.strength:g}",
                _rests(cause.provenance, cause.source),
                cause.note,
            )
    for each in knowledge.indicators.values():
        if each.keys:
            shown = ", ".join(_words(name) for name, _ in each.manifestations)
            rests = _rests(each.provenance, each.source)
            yield _row(shown, f"`{each.sign}`", f"{each.hit:g}", f"{each.strength:g}", rests, each.note)


def _rates(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_RATES}\n"
    yield from _table("Lesion", "Where", "Rate", "Rests on", "How")
    for base in knowledge.base_rates.values():
        for column, footing in base.rests.items():
            rests = _rests(footing.provenance, footing.source)
            yield _row(_words(base.lesion), _words(column), f"{base.rates[column]:g}", rests, footing.note)
        for column, own in base.replaced.items():
            if own.keys:
                where, rests = f"{_words(column)}, total prosthesis", _rests(own.provenance, own.source)
                yield _row(_words(base.lesion), where, f"{own.rate:g}", rests, own.note)


def _shares_by_age(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_LEVELS}\n"
    yield from _table("Lesion", "Age", "Acute", "Chronic", "Rests on", "How")
    for base in knowledge.base_rates.values():
        for band, shares in base.shares_by_age.items():
            if shares.keys:
                each = (" : ".join(f"{part:g}" for part in split) for split in (shares.acute, shares.chronic))
                rests = _rests(shares.provenance, shares.source)
                yield _row(_words(base.lesion), _words(AGE_BANDS[band]), *each, rests, shares.note)


def _company(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_COMPANY}\n"
    yield from _table("Given", "Also", "Measure", "Value", "Rests on", "How")
    for pair in knowledge.company:
        if pair.keys:
            names = (_words(pair.given), _words(pair.also), _words(pair.measure))
            yield _row(*names, f"{pair.value:g}", _rests(pair.provenance, pair.source), pair.note)


def _images(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_IMAGES}\n"
    yield from _table("Image", "Lesion", "Sensitivity", "Specificity", "Rests on", "How")
    for image in knowledge.images:
        if image.keys:
            numbers = (f"{image.sensitivity:g}", f"{image.specificity:g}")
            rests = _rests(image.provenance, image.source)
            yield _row(_words(image.image), _words(image.lesion), *numbers, rests, image.note)


def _first_images(knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_FIRST_IMAGES}\n"
    yield from _table("Lesion", "Image", "Remark")
    for each in knowledge.first_images:
        lesion, image = (" ".join(map(_words, parts)) for parts in ((each.lesion, each.level), (each.image,)))
        yield _row(lesion.strip(), ", ".join(filter(None, (image, each.how))), each.note)


def _gaps(edition: Edition) -> Iterator[str]:
    yield f"\n{_GAPS}\n"
    for gap in edition.gaps:
        yield f"- {_words(gap.subject)}: {gap.looked_for}"


def _sources(edition: Edition, knowledge: Knowledge) -> Iterator[str]:
    yield f"\n{_SOURCES}\n"
    keys = {key for rows in tables(knowledge).values() for row in rows for key in row.keys}
    for key in sorted(keys):
        source = edition.source(key)
        said = ". ".join(filter(None, (source.citation, source.identifier, source.remark.rstrip("."))))
        yield f"- `{key}`: {said}."


def _rests(provenance: Provenance, source: str) -> str:
    return f"{provenance}: {source}"


def _interval(value: float, bounds: tuple[float, float] | None) -> str:
    return f"{value:g} ({bounds[0]:g} to {bounds[1]:g})" if bounds else f"{value:g}"


def _words(name: str) -> str:
    return name.replace("_", " ")


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
