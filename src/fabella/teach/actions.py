"""What a student can do with a practice patient, as frozen events that can be stored and played again."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Any

from fabella.anatomy import Side, load_lesions
from fabella.errors import InputError, Problem, Problems, suggestion
from fabella.grade import levels_of
from fabella.protocol import Kind, Protocol
from fabella.record.jsontext import shown


class Act(StrEnum):
    """The kinds of action."""

    DO = "do"
    """Anything of the protocol: a courtesy, a question, a look, a touch, a test."""
    POSITION = "position"
    WATCH_FACE = "watch_face"
    IN_WORDS = "in_words"
    """From now on drawings are told in words, for whoever cannot see them."""
    RECORD = "record"
    BELIEVE = "believe"
    COMPLETE = "complete"
    FINISH = "finish"


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One action of a student.

    Parameters
    ----------
    act
        Its kind.
    thought_s
        Seconds that passed before it, beyond those that earlier actions took: 0 where nobody measures them.
    sign, side
        For `Act.DO` and `Act.RECORD`; no side for what belongs to the person.
    position
        For `Act.POSITION`, an id of the protocol.
    level, value
        For `Act.RECORD`: what the student thinks it showed; both None records that it could not be tested.
    beliefs
        For `Act.BELIEVE`: (lesion, probability) pairs about the knee complained of; the last one counts.
    would
        For `Act.COMPLETE`: signs or images that would complete the examination, or words.
    """

    act: Act
    thought_s: float = 0.0
    sign: str | None = None
    side: Side | None = None
    position: str | None = None
    level: str | None = None
    value: float | None = None
    beliefs: tuple[tuple[str, float], ...] = ()
    would: tuple[str, ...] = ()


_LONGEST_S = 4 * 3600
_FARTHEST = 1e4
_MOST_SAID = 40
_MOST_CHARACTERS = 200
_EMPTY = {each.name: each.default for each in fields(Event) if each.name != "act"}


def event_tree(event: Event) -> dict[str, Any]:
    """Return an event as plain values for JSON; what is empty is left out."""
    tree: dict[str, Any] = {"act": event.act.value}
    for key, empty in _EMPTY.items():
        value = getattr(event, key)
        if value != empty:
            tree[key] = value.value if isinstance(value, Side) else value
    if event.beliefs:
        tree["beliefs"] = [list(each) for each in event.beliefs]
    if event.would:
        tree["would"] = list(event.would)
    return tree


def read_event(tree: object, *, protocol: Protocol) -> Event:
    """Return the event that plain values describe; `InputError` lists everything that is wrong with them."""
    if not isinstance(tree, dict):
        raise InputError.of(place="event", says="is no object", remedy="write {…}")
    problems = Problems()
    for key in sorted(set(map(str, tree)) - {"act", *_EMPTY}):
        problems.add(key, "", "is no key", suggestion(key, ["act", *_EMPTY]))
    act = _one_of("act", tree.get("act"), Act, problems)
    side = None if tree.get("side") is None else _one_of("side", tree["side"], Side, problems)
    event = Event(
        act=Act(act) if act else Act.FINISH,
        thought_s=_number("thought_s", tree.get("thought_s", 0.0), 0.0, _LONGEST_S, problems) or 0.0,
        sign=_text("sign", tree.get("sign"), problems),
        side=Side(side) if side else None,
        position=_text("position", tree.get("position"), problems),
        level=_text("level", tree.get("level"), problems),
        value=_number("value", tree.get("value"), -_FARTHEST, _FARTHEST, problems),
        beliefs=_beliefs(tree.get("beliefs") or [], problems),
        would=_said(tree.get("would") or [], problems),
    )
    if not problems:
        problems.extend(faults(event, protocol=protocol))
    problems.raise_any()
    return event


def faults(event: Event, *, protocol: Protocol) -> list[Problem]:
    """Return what is wrong with an event: names, sides and levels that the protocol does not have."""
    found = Problems()
    if event.act in (Act.DO, Act.RECORD):
        if event.sign not in protocol:
            near = protocol.nearest(event.sign or "")
            remedy = f"did you mean {' or '.join(near)}?" if near else "name a sign"
            found.add("sign", event.sign or "", "is not known", remedy)
        else:
            found.extend(_sign_faults(event, protocol))
    if event.act is Act.POSITION and event.position not in [each.id for each in protocol.positions]:
        remedy = suggestion(event.position or "", [each.id for each in protocol.positions])
        found.add("position", event.position or "", "is not known", remedy)
    for lesion, probability in event.beliefs:
        if lesion not in load_lesions():
            found.add("beliefs", lesion, "is not known", suggestion(lesion, load_lesions()))
        if not 0 <= probability <= 1:
            found.add(lesion, f"{probability:g}", "is no probability", "write 0 to 1")
    return found


def named_twice(event: Event) -> list[Problem]:
    """Return the lesions that a differential names more than once, so that it is not clear how sure it is.

    Apart from `faults`, for runs kept before this was refused are still played again.
    """
    named = Counter(lesion for lesion, _ in event.beliefs)
    says, remedy = "is named twice", "say once how sure you are of it"
    return [
        Problem(place="beliefs", value=load_lesions()[lesion].name, says=says, remedy=remedy)
        for lesion, times in named.items()
        if times > 1
    ]


def _sign_faults(event: Event, protocol: Protocol) -> list[Problem]:
    sign = protocol.sign(event.sign or "")
    sided = not (sign.is_person or sign.is_history)
    found = Problems()
    if sided != (event.side is not None):
        says, remedy = ("needs a side", "right or left") if sided else ("has no side", "leave it out")
        found.add("side", sign.id, says, remedy)
    if event.act is Act.DO and not sign.seconds:
        parts = ", ".join(sign.summary_of)
        found.add("sign", sign.id, "only sums up", f"do {parts}")
    if event.act is Act.RECORD:
        if sign.kind is Kind.COURTESY:
            found.add("sign", sign.id, "is no finding", "leave it out")
        if event.level is not None and event.level not in levels_of(sign):
            found.add(sign.id, event.level, "is no level of it", suggestion(event.level, levels_of(sign)))
        measure = sign.scale.measure
        if event.value is not None and (measure is None or not measure.allows(event.value)):
            remedy = (
                "give a level"
                if measure is None
                else f"{measure.low:g} to {measure.high:g} {measure.unit.value}"
            )
            found.add(sign.id, f"{event.value:g}", "is not possible", remedy)
    return found


def _one_of(place: str, value: object, kind: type[StrEnum], problems: Problems) -> str:
    allowed = [each.value for each in kind]
    if isinstance(value, str) and value in allowed:
        return value
    named = "" if value is None else shown(value)
    problems.add(place, named, "is not known", suggestion(named, allowed))
    return ""


def _text(place: str, value: object, problems: Problems) -> str | None:
    if value is None or (isinstance(value, str) and len(value) <= _MOST_CHARACTERS):
        return value
    problems.add(place, "", "is no short text", "write a text")
    return None


def _number(place: str, value: object, low: float, high: float, problems: Problems) -> float | None:
    if value is None:
        return None
    if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high:
        return float(value)
    problems.add(place, shown(value), "is not possible", f"write a number from {low:g} to {high:g}")
    return None


def _beliefs(value: object, problems: Problems) -> tuple[tuple[str, float], ...]:
    if not isinstance(value, list | tuple) or len(value) > _MOST_SAID:
        remedy = f'write at most {_MOST_SAID} pairs: [["acl_tear", 0.7]]'
        problems.add("beliefs", shown(value), "is no list of pairs", remedy)
        return ()
    pairs = []
    for each in value:
        match each:
            case [str(lesion), int() | float() as chance] if (
                not isinstance(chance, bool) and abs(chance) <= _FARTHEST
            ):
                pairs.append((lesion, float(chance)))
            case _:
                says = "is no pair of a lesion and a probability"
                problems.add("beliefs", shown(each), says, '["acl_tear", 0.7]')
    return tuple(pairs)


def _said(value: object, problems: Problems) -> tuple[str, ...]:
    whole = isinstance(value, list | tuple) and len(value) <= _MOST_SAID
    said = value if isinstance(value, list | tuple) and whole else ()
    if not whole or not all(isinstance(each, str) and len(each) <= _MOST_CHARACTERS for each in said):
        most = f"at most {_MOST_SAID} things, each of {_MOST_CHARACTERS} letters"
        problems.add("would", "What would complete it", "is too long", most)
        return ()
    return tuple(map(str, said))
