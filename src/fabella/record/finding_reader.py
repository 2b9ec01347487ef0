"""One finding and the history, read against what the protocol says of their signs."""

from __future__ import annotations

from collections.abc import Iterable

from fabella.anatomy import Side
from fabella.protocol import Kind, Protocol, Sign
from fabella.record.examination import Answer
from fabella.record.finding import Finding, Reason, State
from fabella.record.layout import FINDING_KEYS, LINE, PROSE, READING_KEYS, is_examined
from fabella.record.section import Notes, Section

_COURTESIES = {"consent": "consent_given", "chaperone": "chaperone_offered", "pain_first": "pain_asked"}


def read_history(section: Section, protocol: Protocol) -> dict[str, Answer]:
    """Return the answers of the history; wrong ones are noted and left out."""
    answers: dict[str, Answer] = {}
    for item in section:
        if item not in protocol:
            remedy = _nearest(section, item, protocol, protocol.history())
            section.notes.add(section.at(item), item, "is no question of the history", remedy)
            continue
        sign = protocol.sign(item)
        if not sign.is_history:
            remedy = _right_place(sign)
            section.notes.add(section.at(item), item, "is no question of the history", remedy)
        elif (answer := _answer(section, sign)) is not None:
            answers[item] = answer
    return answers


def read_finding(value: object, *, place: str, protocol: Protocol, notes: Notes) -> Finding | None:
    """Return one finding, or None when its sign or side is wrong; everything wrong is noted."""
    section = Section(value, place=place, keys=FINDING_KEYS, notes=notes)
    if not section.is_object:
        return None
    sign = _sign(section, protocol)
    side = section.choice("side", Side)
    state = section.choice("state", State)
    reason = section.choice("reason", Reason)
    method = section.text("method", LINE)
    note = section.text("note", PROSE)
    if state is not None or not section.given("state"):
        _check_state(section, state)
    if sign is None:
        return None
    level = _level(section, sign, state)
    reading, unit = _reading(section, sign)
    if not _side_fits(section, sign):
        return None
    return Finding(
        sign=sign.id,
        side=side,
        state=state,
        level=level,
        value=reading,
        unit=unit,
        method=method,
        reason=reason,
        note=note,
    )


def _answer(section: Section, sign: Sign) -> Answer | None:
    measure = sign.scale.measure
    if measure is None:
        return section.boolean(sign.id)
    return section.number(sign.id, measure.low, measure.high, measure.unit)


def _sign(section: Section, protocol: Protocol) -> Sign | None:
    section.require("sign")
    name = section.text("sign", LINE)
    if name is None:
        return None
    if name not in protocol:
        remedy = _nearest(section, name, protocol, filter(is_examined, protocol.signs))
        section.wrong("sign", "is no sign of the examination", remedy)
        return None
    sign = protocol.sign(name)
    if not is_examined(sign):
        section.wrong("sign", "is no finding", _right_place(sign))
        return None
    return sign


def _check_state(section: Section, state: State | None) -> None:
    """Note what cannot stand beside a state, or beside none."""
    if state is None:
        if section.given("level") or not section.given("value"):
            section.wrong(
                "state", "is missing", f"allowed: {', '.join(State)}; only a value may stand without"
            )
    elif state in {State.NOT_EXAMINED, State.UNTESTABLE}:
        for key in READING_KEYS:
            if section.given(key):
                section.wrong(key, f"cannot stand beside the state {state}", "leave one of them out")
    if state is State.UNTESTABLE:
        section.require("reason", f"allowed: {', '.join(Reason)}")
    elif section.given("reason"):
        section.wrong("reason", "belongs to the state untestable only", "leave it out or put it in the note")


def _level(section: Section, sign: Sign, state: State | None) -> str | None:
    allowed = [level.id for level in sign.scale.levels]
    if not section.given("level"):
        return None
    if not allowed:
        section.wrong("level", f"is given, but {sign.id} has no levels", "give a value with its unit")
        return None
    level = section.word("level", allowed)
    if level is None:
        return None
    if state is State.NORMAL and level != allowed[0]:
        section.wrong("level", "contradicts the state normal", f"allowed: {allowed[0]}")
    if state is State.ABNORMAL and level == allowed[0]:
        section.wrong("level", "contradicts the state abnormal", f"allowed: {', '.join(allowed[1:])}")
    return level


def _reading(section: Section, sign: Sign) -> tuple[float | None, str | None]:
    measure = sign.scale.measure
    if measure is None:
        for key in ("value", "unit"):
            if section.given(key):
                levels = ", ".join(level.id for level in sign.scale.levels)
                section.wrong(key, f"is given, but {sign.id} is not measured", f"its levels are: {levels}")
        return None, None
    value = section.number("value", measure.low, measure.high, measure.unit)
    unit = section.word("unit", [measure.unit])
    if section.given("value"):
        section.require("unit", f"allowed: {measure.unit}")
    elif section.given("unit"):
        section.wrong("unit", "has no value beside it", "give the value or leave the unit out")
    return value, unit


def _side_fits(section: Section, sign: Sign) -> bool:
    if sign.is_person and section.given("side"):
        section.wrong("side", f"is given, but {sign.id} belongs to the person", "leave it out")
        return False
    if not sign.is_person:
        section.require("side", f"{sign.id} is examined on each knee; allowed: right, left")
    return sign.is_person or section.raw("side") in list(Side)


def _nearest(section: Section, name: str, protocol: Protocol, allowed: Iterable[Sign]) -> str:
    """Return a remedy for an unknown name, which may be another name of an allowed sign."""
    names = [sign.id for sign in allowed]
    near = [] if section.notes.many else [repr(each) for each in protocol.nearest(name) if each in names]
    return f"did you mean {' or '.join(near)}?" if near else section.notes.nearest(name, names)


def _right_place(sign: Sign) -> str:
    if sign.is_history:
        return f"answer it as history.{sign.id}"
    if sign.kind is not Kind.COURTESY:
        return "state it under findings"
    return (
        f"write {key}" if (key := _COURTESIES.get(sign.id)) else "it is not part of the record; leave it out"
    )
