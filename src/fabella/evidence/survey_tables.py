"""The numbers of the knee model that are more than judgement, as Markdown tables: links, rates, images."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fabella.evidence.facts import Knowledge
from fabella.evidence.named import AGE_WORDS, Names, firm_odds
from fabella.evidence.source import Footing
from fabella.stats.written import number_words, percent_words, share_words, spaced

_ACCURACY = """\
## Accuracy

Each sign here is fitted so that the model finds it, in the population named, as often as was published.
*Anywhere* gives way to a row for the clinic at hand."""

_LINKS = """\
## Links and signs

What brings a manifestation about, and how surely a sign shows it, where that is more than judgement. The
chance is of the first degree or more; *worth* is the number of imagined knees that keeps it uncertain."""

_DONE = {
    "": "an operation",
    "bone": "an operation of bone",
    "ligament": "the reconstruction of a ligament",
    "anterior_cruciate": "the reconstruction of an anterior cruciate ligament",
}

_RATES = "## How common\n\nRates of the model, and odds by age and sex, with a footing of their own."
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

The first image by which a lesion is confirmed or graded before treatment rests on it: mostly judgement,
common practice. It is named for a lesion that is likelier than not, however little it would tell."""


def model_lines(knowledge: Knowledge, names: Names) -> Iterator[str]:
    """Yield the tables of the model, a heading before each; that of first images is mostly judgement."""
    yield from _accuracy(knowledge, names)
    yield from _links(knowledge, names)
    yield from _rates(knowledge, names)
    yield from _shares_by_age(knowledge, names)
    yield from _company(knowledge, names)
    yield from _images(knowledge, names)
    yield from _first_images(knowledge, names)


def _accuracy(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_ACCURACY}\n"
    accurate = ("Sensitivity", "Specificity", "Knees")
    yield from head("Sign", "For", "Used", "Fitted in", *accurate, "Rests on", "How")
    for used in knowledge.accuracy:
        yield line(
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
    yield from head("From", "To", "Chance", "Worth", "Rests on", "How")
    for cause in (*knowledge.causes, *knowledge.at_ages):
        if cause.keys:
            when = f", {cause.acuity}" if cause.acuity else ""
            when += f", below {cause.below_years:g} years" if cause.below_years else ""
            yield line(
                names.together(cause.parts, cause.without) + when,
                spaced(cause.manifestation),
                percent_words(cause.at_least[0]),
                f"{cause.strength:g}",
                _rests(cause),
                names.note(cause.note),
            )
    for own in knowledge.healing:
        if own.keys:
            done = _DONE[own.tissue]
            where, chance = f"{done}, up to {own.within_weeks} weeks", percent_words(own.at_least[0])
            note = names.note(own.note)
            yield line(where, spaced(own.manifestation), chance, f"{own.strength:g}", _rests(own), note)
    for each in knowledge.indicators.values():
        if each.keys:
            shown = ", ".join(spaced(name) for name, _ in each.manifestations)
            hit, worth, note = percent_words(each.hit), f"{each.strength:g}", names.note(each.note)
            yield line(shown, names.sign(each.sign), hit, worth, _rests(each), note)


def _rates(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_RATES}\n"
    yield from head("Lesion", "Where", "Rate", "Rests on", "How")
    for base in knowledge.base_rates.values():
        for column, footing in base.rests.items():
            if column in base.rates:
                rate, note = percent_words(base.rates[column]), names.note(footing.note)
                yield line(names.lesion(base.lesion), spaced(column), rate, _rests(footing), note)
        for whom, odds, firm in firm_odds(base):
            yield line(names.lesion(base.lesion), whom, _odds(odds), _rests(firm), names.note(firm.note))
        for column, own in base.replaced.items():
            if own.keys:
                where, rate = f"{spaced(column)}, total prosthesis", percent_words(own.rate)
                yield line(names.lesion(base.lesion), where, rate, _rests(own), names.note(own.note))
        if (change := base.after_operation) and change.keys:
            when = "a year" if change.within_weeks is None else f"{change.within_weeks} weeks"
            where, rate = f"within {when} of an operation", _odds(change.odds)
            yield line(names.lesion(base.lesion), where, rate, _rests(change), names.note(change.note))
        for operation, again in base.mended.items():
            if again.keys:
                where, rate = f"again, after {spaced(operation)}", percent_words(again.rate)
                yield line(names.lesion(base.lesion), where, rate, _rests(again), names.note(again.note))


def _odds(factor: float) -> str:
    return f"odds × {number_words(factor)}"


def _shares_by_age(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_LEVELS}\n"
    yield from head("Lesion", "Age", "Acute", "Chronic", "Rests on", "How")
    for base in knowledge.base_rates.values():
        for band, shares in base.shares_by_age.items():
            if shares.keys:
                each = (" : ".join(map(percent_words, split)) for split in (shares.acute, shares.chronic))
                lesion, age, note = names.lesion(base.lesion), AGE_WORDS[band], names.note(shares.note)
                yield line(lesion, age, *each, _rests(shares), note)


def _company(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_COMPANY}\n"
    yield from head("Given", "Also", "How often", "Rests on", "How")
    for pair in knowledge.company:
        if pair.keys:
            when = f", {pair.acuity}" if pair.acuity else ""
            both = (names.lesion(pair.given) + when, names.lesion(pair.also))
            often = percent_words(pair.value) if pair.measure == "probability" else f"odds × {pair.value:g}"
            yield line(*both, often, _rests(pair), names.note(pair.note))


def _images(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_IMAGES}\n"
    yield from head("Image", "Lesion", "Sensitivity", "Specificity", "Rests on", "How")
    for image in knowledge.images:
        if image.keys:
            numbers = (share_words(image.sensitivity), share_words(image.specificity))
            lesion, note = names.lesion(image.lesion), names.note(image.note)
            yield line(image.name, lesion, *numbers, _rests(image), note)


def _first_images(knowledge: Knowledge, names: Names) -> Iterator[str]:
    yield f"\n{_FIRST_IMAGES}\n"
    yield from head("Lesion", "Image", "Rests on", "Remark")
    for each in knowledge.first_images:
        image = ", ".join(filter(None, (names.image(each.image), each.how)))
        yield line(names.lesion(each.lesion, each.level), image, _rests(each), names.note(each.note))


def _rests(each: Footing) -> str:
    return f"{each.provenance}: {each.source}"


def head(*columns: str) -> Iterable[str]:
    """Return the head of a table."""
    return (line(*columns), line(*["---"] * len(columns)))


def line(*cells: object) -> str:
    """Return one row of a table."""
    return "| " + " | ".join(str(cell).replace("|", "\\|") for cell in cells) + " |"
