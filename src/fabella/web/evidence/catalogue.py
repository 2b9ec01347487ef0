"""Everything that evidence is held on, in lines: signs in the order of the examination, then the rest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from fabella.anatomy import STRUCTURES, load_lesions
from fabella.evidence import Edition
from fabella.evidence import signs as known_signs
from fabella.evidence.facts import Knowledge
from fabella.evidence.plain import percents
from fabella.protocol import Protocol, Sign
from fabella.protocol.sequence import folded
from fabella.report.forest import UsedRow, forests, typeset
from fabella.report.wording import counted
from fabella.stats.written import spaced
from fabella.workup import URGENCY_WORDS, Rule, Urgency, load_rules


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One entry: id and name, what is known of it in short, and other words by which it is found."""

    id: str
    name: str
    known: str
    also: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Entries under one heading; ``page`` names the address that shows one, ``part`` the part of it."""

    title: str
    page: str
    part: str
    lines: tuple[Line, ...]


def catalogue(edition: Edition, knowledge: Knowledge, protocol: Protocol) -> tuple[Group, ...]:
    """Return every entry but the sources."""
    return (
        *_signs(edition, knowledge, protocol),
        _lesions(edition, knowledge),
        *_rules(),
        _measures(edition),
        _images(knowledge),
    )


def sources(edition: Edition) -> Group:
    """Return every source, by name."""
    lines = (
        Line(id=each.key, name=each.citation, known=spaced(each.kind), also=f"{each.key} {each.identifier}")
        for each in edition.sources.values()
    )
    ordered = sorted(lines, key=lambda each: each.name.casefold())
    return Group(title="Sources", page="evidence_source", part="source", lines=tuple(ordered))


def found(groups: Iterable[Group], query: str) -> tuple[Group, ...]:
    """Return the entries that hold every word of a query in id, name or other words; all without one."""
    words = folded(query).split()
    if not words:
        return tuple(groups)
    kept = (
        replace(group, lines=tuple(line for line in group.lines if _holds(line, words))) for group in groups
    )
    return tuple(group for group in kept if group.lines)


def _holds(line: Line, words: list[str]) -> bool:
    text = folded(f"{line.id} {line.name} {line.also} {line.known}")
    return all(word in text for word in words)


def _signs(edition: Edition, knowledge: Knowledge, protocol: Protocol) -> Iterator[Group]:
    known = {each.sign_id: each for each in known_signs(edition)}

    def line(sign_id: str, name: str, also: str = "") -> Line:
        agreement = known[sign_id].agreement_sources if sign_id in known else 0
        return Line(id=sign_id, name=name, known=_known(edition, knowledge, sign_id, agreement), also=also)

    for position in protocol.positions:
        lines = tuple(line(each.id, each.name, _other_words(each)) for each in protocol.at(position.id))
        yield Group(title=position.name, page="evidence_sign", part="sign", lines=lines)
    rest = tuple(
        line(each.sign_id, typeset(each.name)) for each in known.values() if each.sign_id not in protocol
    )
    yield Group(
        title="Combinations, scores and laboratory tests", page="evidence_sign", part="sign", lines=rest
    )


def _other_words(sign: Sign) -> str:
    return " ".join((*sign.aliases, *(STRUCTURES[each] for each in sign.structures)))


def _known(edition: Edition, knowledge: Knowledge, sign: str, agreement: int) -> str:
    asked = forests(edition, knowledge, sign)
    keys = {row.source.key for each in asked for row in each.rows}
    used = [each for question in asked for each in question.used if each.sign == sign]
    parts = [counted(len(keys), "source") if keys else "no accuracy published"]
    if used:
        parts.append(_taken(used))
    elif sign in knowledge.indicators:
        parts.append(f"in the model by {_BY[knowledge.indicators[sign].provenance.value]}")
    else:
        parts.append("not in the model")
    if agreement:
        parts.append(f"agreement: {counted(agreement, 'source')}")
    return "; ".join(parts)


_BY = {"published": "a published rate", "derived": "derived numbers", "judgement": "judgement"}


def _taken(used: Sequence[UsedRow]) -> str:
    if any(each.by_us for each in used):
        return "pooled by us"
    names = dict.fromkeys(source.short for each in used for source in each.sources)
    kinds = dict.fromkeys(each.provenance for each in used)
    return f"used: {', '.join(names)} ({', '.join(kinds)})"


def _lesions(edition: Edition, knowledge: Knowledge) -> Group:
    lesions = load_lesions()
    rated = [lesions.of_diagnosis(row.lesion) for row in edition.prevalence]
    published = Counter(each.id for each in rated if each)
    fitted = Counter(lesion for used in knowledge.accuracy for lesion in used.targets)

    def known(lesion: str) -> Iterator[str]:
        if published[lesion]:
            yield counted(published[lesion], "published rate")
        if fitted[lesion]:
            yield f"{counted(fitted[lesion], 'sign')} of published accuracy"

    lines = (
        Line(
            id=each.id,
            name=each.name,
            known="; ".join(known(each.id)) or "by judgement",
            also=f"{each.plain} {' '.join(each.also)}",
        )
        for each in lesions.values()
    )
    return Group(title="Lesions", page="evidence_lesion", part="lesion", lines=tuple(lines))


def _rules() -> Iterator[Group]:
    rules = tuple(load_rules().values())
    for urgency, when in URGENCY_WORDS.items():
        lines = tuple(
            Line(id=each.id, name=each.name, known=_rule_source(each), also=each.action)
            for each in rules
            if each.urgency is urgency
        )
        title = when if urgency is Urgency.ROUTINE_BUT_DO_NOT_MISS else f"Cannot wait: {when.lower()}"
        yield Group(title=title, page="evidence_rule", part="rule", lines=lines)


def _rule_source(rule: Rule) -> str:
    return f"{rule.source}, from memory" if rule.recalled else rule.source


def _measures(edition: Edition) -> Group:
    norms = Counter(row.measure_id for row in edition.norms)
    errors = Counter(row.measure_id for row in edition.measurement_error)
    names = {row.measure_id: percents(row.name) for row in reversed(edition.norms)}

    def known(measure: str) -> Iterator[str]:
        if norms[measure]:
            yield counted(norms[measure], "norm")
        if errors[measure]:
            yield counted(errors[measure], "error")

    lines = (
        Line(id=each, name=names.get(each, spaced(each)), known="; ".join(known(each)))
        for each in dict.fromkeys((*norms, *errors))
    )
    title = "Norms and errors of measuring"
    return Group(title=title, page="evidence_measure", part="measure", lines=tuple(lines))


def _images(knowledge: Knowledge) -> Group:
    shown = Counter(each.image for each in knowledge.images)
    names = {each.image: each.name for each in knowledge.images}
    lines = tuple(
        Line(id=each, name=names[each], known=counted(count, "lesion"), also=spaced(each))
        for each, count in shown.items()
    )
    return Group(title="Images and laboratory tests", page="evidence_image", part="image", lines=lines)
