"""What is taken from a source, with the page on which each of it stands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TypeVar

from fabella.anatomy import Lesions
from fabella.evidence import Edition, SourceEvidence
from fabella.evidence.facts import BaseRate, Knowledge
from fabella.evidence.source import Footing
from fabella.protocol import Protocol
from fabella.stats.written import spaced
from fabella.web.evidence.measures import measure_name

F = TypeVar("F", bound=Footing)

_PAGE_OF = {
    "accuracy": "sign",
    "reliability": "sign",
    "norms": "measure",
    "measurement_error": "measure",
    "prevalence": "lesion",
    "cooccurrence": "lesion",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """Something that has a page of its own: ``part`` is sign, lesion, measure or image; empty for none."""

    part: str
    id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """One table: how many rows come from the source, and what they are about."""

    table: str
    rows: int
    subjects: tuple[Subject, ...]


def taken_from(
    edition: Edition, found: SourceEvidence, protocol: Protocol, lesions: Lesions
) -> tuple[Taken, ...]:
    """Return what the published tables take from a source."""
    return tuple(
        Taken(
            table=spaced(kind),
            rows=rows,
            subjects=tuple(
                _subject(edition, _PAGE_OF.get(kind, ""), each, protocol, lesions)
                for each in found.subjects[kind]
            ),
        )
        for kind, rows in found.rows.items()
    )


def _subject(edition: Edition, part: str, name: str, protocol: Protocol, lesions: Lesions) -> Subject:
    if part == "sign":
        words = protocol.name_of(name)
        return Subject(part=part, id=name, name=words)
    if part == "measure":
        return Subject(part=part, id=name, name=measure_name(edition, name))
    known = lesions.of_diagnosis(name) if part == "lesion" else None
    return Subject(part="lesion" if known else "", id=known.id if known else "", name=spaced(name))


def taken_by_model(
    knowledge: Knowledge, source: str, protocol: Protocol, lesions: Lesions
) -> tuple[Taken, ...]:
    """Return what the model takes from a source."""

    def own(rows: Iterable[F]) -> Iterator[F]:
        return (each for each in rows if source in each.keys)

    bases = knowledge.base_rates.values()
    by_table = {
        "accuracy of signs": _signs((each.sign for each in own(knowledge.accuracy)), protocol),
        "how surely a sign shows": _signs(
            (each.sign for each in own(knowledge.indicators.values())), protocol
        ),
        "links from lesions": _lesions(
            (part for each in own((*knowledge.causes, *knowledge.at_ages)) for part, _ in each.parts), lesions
        ),
        "what an operated knee shows of itself": tuple(
            Subject(part="", id="", name=f"{spaced(each.manifestation)}, up to {each.within_weeks} weeks")
            for each in own(knowledge.healing)
        ),
        "how common": _lesions((base.lesion for base in bases if any(own(_rates(base)))), lesions),
        "levels by age": _lesions(
            (base.lesion for base in bases if any(own(base.shares_by_age.values()))), lesions
        ),
        "company": _lesions((each.given for each in own(knowledge.company)), lesions),
        "images": tuple(
            Subject(part="image", id=each.image, name=f"{each.name}: {lesions[each.lesion].name}")
            for each in own(knowledge.images)
        ),
    }
    return tuple(
        Taken(table=table, rows=len(subjects), subjects=subjects)
        for table, subjects in by_table.items()
        if subjects
    )


def _rates(base: BaseRate) -> Iterator[Footing]:
    """Yield everything that says how common a lesion is, in any knee and in an operated one."""
    yield base
    yield from (*base.rests.values(), *base.replaced.values(), *base.mended.values())
    if base.after_operation is not None:
        yield base.after_operation


def _signs(ids: Iterator[str], protocol: Protocol) -> tuple[Subject, ...]:
    return tuple(Subject(part="sign", id=each, name=protocol.sign(each).name) for each in dict.fromkeys(ids))


def _lesions(ids: Iterator[str], lesions: Lesions) -> tuple[Subject, ...]:
    return tuple(Subject(part="lesion", id=each, name=lesions[each].name) for each in dict.fromkeys(ids))
