"""What was known before a hand was laid on: age, sex, circumstances, answers, scores, procedures."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.anatomy import Side
from fabella.fhir.codes import level_code, own_coding, term_coding
from fabella.fhir.elements import Tree, concept, number, open_concept, quantity, resource
from fabella.fhir.matter import Matter
from fabella.fhir.observations import Place, observation, site
from fabella.protocol import Protocol
from fabella.record import SCORES
from fabella.report.story import number_told
from fabella.report.wording import figure, sentence
from fabella.stats.written import spaced

BACKGROUND = {
    "age": "Age at the examination",
    "sex": "Sex of the body examined",
    "setting": "Setting",
    "acuity": "How fresh the complaint is",
    "onset": "Days from the onset to the examination",
    "mechanism": "How it came about",
    "complaint": "Knee complained of",
    "procedure": "What was done before",
}
"""What is told of the circumstances, by its code."""


def answers(matter: Matter, protocol: Protocol) -> Iterator[tuple[Place, Tree]]:
    """Yield every answer of the history, about the knee or knees complained of or about the person."""
    examination = matter.workup.examination
    complaint = examination.context.complained_of
    for item in sorted(examination.history, key=lambda each: protocol.sign(each).order):
        sign, answer = protocol.sign(item), examination.history[item]
        unit = sign.scale.measure.unit.value if sign.scale.measure else ""
        plain = isinstance(answer, bool)
        told = f"{sign.name}: {'yes' if answer else 'no'}" if plain else number_told(sign, answer)
        value = {"valueBoolean": answer} if plain else {"valueQuantity": quantity(answer, unit)}
        where = None if sign.is_person or not complaint else _knees(complaint)
        coding = own_coding("finding", sign.id, sign.name)
        yield (item, None), _told(matter, ("history", item), told, "history", coding, where, value)


def _knees(complaint: tuple[Side, ...]) -> Tree | None:
    return site(complaint[0]) if len(complaint) == 1 else concept(term_coding("both_knees"))


def circumstances(matter: Matter) -> Iterator[Tree]:
    """Yield age, sex, setting and how it came about, each only as far as it is known."""
    examination = matter.workup.examination
    patient, context = examination.patient, examination.context
    if patient.age_years is not None:
        words = f"{figure(patient.age_years)} years"
        yield _circumstance(matter, "age", words, {"valueQuantity": quantity(patient.age_years, "years")})
    for name, choice in (("sex", patient.sex), ("setting", context.setting), ("acuity", context.acuity)):
        if choice is not None:
            yield _circumstance(matter, name, spaced(choice), {"valueCodeableConcept": _choice(name, choice)})
    if context.onset_days is not None:
        value = {"valueQuantity": quantity(context.onset_days, "days")}
        yield _circumstance(matter, "onset", f"{figure(context.onset_days)} days", value)
    if context.mechanism is not None or context.mechanism_words:
        words = context.mechanism_words or ""
        how = (
            concept(text=words)
            if context.mechanism is None
            else _choice("mechanism", context.mechanism, words)
        )
        if how:
            yield _circumstance(matter, "mechanism", how["text"], {"valueCodeableConcept": how})
    for side in context.complained_of:
        yield _circumstance(matter, "complaint", str(side), {"valueBoolean": True}, side=side)
    if context.without_complaint:
        yield _circumstance(matter, "complaint", "neither", {"valueBoolean": False})


def _choice(name: str, value: str, words: str = "") -> Tree:
    return concept(own_coding("background", level_code(name, value), spaced(value)), text=words)


def _circumstance(matter: Matter, name: str, words: str, value: Tree, side: Side | None = None) -> Tree:
    coding = own_coding("background", name, BACKGROUND[name])
    what = ("circumstance", name, *([side] if side else []))
    return _told(matter, what, f"{BACKGROUND[name]}: {words}", "circumstances", coding, site(side), value)


def totals(matter: Matter) -> Iterator[Tree]:
    """Yield the totals of questionnaires, in points."""
    for total in matter.workup.examination.totals:
        name = SCORES[total.score].name
        coding = own_coding("background", f"score/{total.score}", name)
        what = ("total", total.score, str(total.side or "person"))
        value = {"valueQuantity": quantity(total.value, "points")}
        words = f"{name}: {number(total.value)} points"
        yield _told(matter, what, words, "survey", coding, site(total.side), value)


def _told(  # noqa: PLR0917  the parts of an observation, in the order of the standard
    matter: Matter,
    what: tuple[str, ...],
    words: str,
    category: str,
    coding: dict[str, str],
    where: Tree | None,
    value: Tree,
) -> Tree:
    kind = open_concept("survey") if category == "survey" else concept(term_coding(category))
    return observation(matter, what, words, category=[kind], code=concept(coding), bodySite=where, **value)


def procedure(matter: Matter) -> Iterator[Tree]:
    """Yield the latest thing done to a knee before; of a programme only its first day is known."""
    done = matter.workup.examination.context.procedure
    if done is None:
        return
    day, operation = done.on.isoformat(), done.name.is_operation
    yield resource(
        "Procedure",
        matter.names.of("procedure"),
        sentence(f"{spaced(done.name)}, {' and '.join(done.sides)} knee, {day}"),
        status="completed" if operation else "unknown",
        code=concept(own_coding("background", level_code("procedure", done.name), spaced(done.name))),
        subject=matter.patient,
        performedDateTime=day if operation else None,
        performedPeriod=None if operation else {"start": day},
        bodySite=[site(each) for each in done.sides],
    )
