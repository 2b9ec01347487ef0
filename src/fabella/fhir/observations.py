"""What was found: an Observation for every finding made or tried, and none for what was not examined."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fabella.anatomy import Side, Structure
from fabella.evidence.measures import NormAbout
from fabella.fhir.codes import level_code, load_codes, open_coding, own_coding, term_coding
from fabella.fhir.elements import (
    Tree,
    concept,
    joined,
    notes,
    number,
    open_concept,
    quantity,
    resource,
)
from fabella.fhir.matter import Matter
from fabella.protocol import Kind, Protocol, Sign
from fabella.record import Finding, State
from fabella.report import Outcome, Reading, Readings
from fabella.report.verdict_words import error_words
from fabella.report.wording import described, sentence
from fabella.workup import Graded, NormUsed

Place = tuple[str, Side | None]
"""A sign or question, and the side; None of the person."""

_BEYOND_THE_KNEE = frozenset(
    {
        Structure.HIP,
        Structure.ANKLE_AND_FOOT,
        Structure.LUMBAR_SPINE,
        Structure.WHOLE_LIMB,
        Structure.WHOLE_PERSON,
        Structure.CALF,
        Structure.DEEP_VEINS,
        Structure.POPLITEAL_VESSELS,
        Structure.TIBIAL_NERVE,
        Structure.COMMON_PERONEAL_NERVE,
    }
)
_THIGH = frozenset({Structure.QUADRICEPS, Structure.HAMSTRINGS})
_VITAL_SIGNS = (
    "body_temperature",
    "body_mass_index",
    "heart_rate",
    "respiratory_rate",
    "systolic_pressure",
    "oxygen_saturation",
)
_UNCERTAINTY = "http://hl7.org/fhir/StructureDefinition/iso21090-uncertainty"
_ABSENT = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"
_DIGITS = 3
_INTERPRETED = {Outcome.NORMAL: "normal", Outcome.ABNORMAL: "abnormal"}


def findings(matter: Matter, readings: Readings, protocol: Protocol) -> Iterator[tuple[Place, Tree]]:
    """Yield every finding with its place, in the order in which they were made.

    A finding that says that the sign was not examined yields nothing, nor does a courtesy.
    """
    graded = {(each.sign, each.side): each for each in matter.workup.graded}
    for finding in matter.workup.examination.findings:
        sign, place = protocol.sign(finding.sign), (finding.sign, finding.side)
        reading = readings.find(*place)
        if finding.state is not State.NOT_EXAMINED and sign.kind is not Kind.COURTESY and reading is not None:
            yield place, _observation(matter, sign, finding, reading, graded.get(place))


def site(side: Side | None, structures: tuple[Structure, ...] = ()) -> Tree | None:
    """Return the knee, or the limb for what may lie beyond it; None for the person."""
    if side is None:
        return None
    about = frozenset(structures)
    beyond = bool(about & _BEYOND_THE_KNEE) or (bool(about) and about <= _THIGH)
    return concept(term_coding(f"{side}_{'limb' if beyond else 'knee'}"))


def observation(matter: Matter, what: tuple[str, ...], words: str, **fields: Any) -> Tree:
    """Return an observation of this examination; ``what`` names it, ``words`` tell it."""
    performer = matter.person(matter.examiner)
    return resource(
        "Observation",
        matter.names.of("observation", *what),
        sentence(words),
        status=matter.status,
        subject=matter.patient,
        effectiveDateTime=matter.day,
        performer=[performer] if performer else None,
        **fields,
    )


def _observation(
    matter: Matter, sign: Sign, finding: Finding, reading: Reading, graded: Graded | None
) -> Tree:
    side = finding.side
    vital = sign.id in _VITAL_SIGNS
    standard = [open_coding(sign.id)] if vital else []
    undated = {"extension": [{"url": _ABSENT, "valueCode": "unknown"}]}
    where = "" if side is None else f"{side.capitalize()}, "
    return observation(
        matter,
        (sign.id, side or "person"),
        f"{where}{reading.outcome}: {described(reading)}",
        _effectiveDateTime=undated if vital and matter.day is None else None,
        category=[open_concept("exam"), *([open_concept("vital_signs")] if vital else [])],
        code=concept(*standard, own_coding("finding", sign.id, sign.name), text=sign.name),
        bodySite=site(side, sign.structures),
        method=concept(text=finding.method) if finding.method else None,
        interpretation=[open_concept(_INTERPRETED[reading.outcome])]
        if reading.outcome in _INTERPRETED
        else None,
        **_value(sign, finding, graded, reading.grade),
        referenceRange=_ranges(graded, NormAbout.ABSOLUTE) if finding.value is not None else None,
        component=list(_components(sign, finding, graded)),
        note=notes(finding.note or "", _error(sign, graded)),
    )


def _value(sign: Sign, finding: Finding, graded: Graded | None, grade: str) -> Tree:
    """The level where one was given, else the reading, else whether it was normal; or why there is none."""
    if finding.state is State.UNTESTABLE:
        why = [term_coding(f"reason_{finding.reason}")] if finding.reason else []
        text = why[0]["display"] if why else "Could not be tested"
        return {"dataAbsentReason": concept(open_coding("not_performed"), *why, text=text)}
    if finding.level is not None:
        level = sign.level(finding.level)
        coding = own_coding("finding", level_code(sign.id, level.id), level.words)
        return {"valueCodeableConcept": concept(coding, text=grade)}
    if finding.value is not None:
        return {"valueQuantity": _reading(sign, finding.value, graded)}
    return {"valueCodeableConcept": concept(term_coding(str(finding.state)))}


def _reading(sign: Sign, value: float, graded: Graded | None) -> Tree:
    """A reading, with the published standard error of one such reading where there is one."""
    known = graded is not None and graded.error is not None and graded.error.row is not None
    sem = graded.error.sem if graded is not None and graded.error is not None and known else None
    uncertain = {"extension": [{"url": _UNCERTAINTY, "valueDecimal": number(_short(sem))}]} if sem else {}
    return {**uncertain, **quantity(value, _unit(sign))}


def _components(sign: Sign, finding: Finding, graded: Graded | None) -> Iterator[Tree]:
    if finding.value is None:
        return
    if finding.level is not None:
        value = _reading(sign, finding.value, graded)
        yield {"code": concept(term_coding("reading")), "valueQuantity": value}
    if graded is not None and graded.difference is not None:
        ranges = _ranges(graded, NormAbout.SIDE_DIFFERENCE)
        yield {
            "code": concept(term_coding("side_difference")),
            "valueQuantity": quantity(_short(graded.difference), _unit(sign)),
            **({"referenceRange": ranges} if ranges else {}),
        }
        if graded.error is not None:
            least = quantity(_short(graded.error.detectable), _unit(sign))
            yield {"code": concept(term_coding("detectable")), "valueQuantity": least}


def _ranges(graded: Graded | None, about: NormAbout) -> list[Tree] | None:
    """The norm that was used, when it may judge one patient and is about this number."""
    norm = None if graded is None else graded.norm
    if norm is None or not norm.may_cut or norm.row.about is not about:
        return None
    ends = {"low": norm.low, "high": norm.high}
    told = {name: _end(norm, end) for name, end in ends.items() if end is not None}
    if not told:
        return None
    row = norm.row
    text = joined([row.age_band, "" if row.sex == "both" else str(row.sex), row.source.short], ", ")
    return [{**told, "type": open_concept("normal_range"), "text": text}]


def _end(norm: NormUsed, end: float) -> Tree:
    units = load_codes().ucum
    return quantity(_short(end), norm.row.unit) if norm.row.unit in units else {"value": number(_short(end))}


def _error(sign: Sign, graded: Graded | None) -> str:
    if graded is None or graded.error is None or graded.finding.value is None:
        return ""
    return f"Smallest difference beyond the error of measurement: {error_words(graded.error, _unit(sign))}"


def _unit(sign: Sign) -> str:
    return "" if sign.scale.measure is None else sign.scale.measure.unit.value


def _short(value: float) -> float:
    return round(value, _DIGITS)
