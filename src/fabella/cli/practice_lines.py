"""What is typed to a practice patient, read as events: short words, any order, nothing asked back."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from fabella.anatomy import Side
from fabella.errors import InputError, Problems, suggestion
from fabella.protocol import Protocol, Sign
from fabella.teach import Act, Event, faults, named_twice, practice_lesions

HELP = """\
  greet, wash, identify, story, how, when, who, consent, chaperone, where, expose, close
  SIGN            ask a question, or do what belongs to the person: giving way
  SIGN SIDE       look, feel, move or test: lachman left; both in your order: lachman left right
  go POSITION     standing, walking, lying, bent up, knees 90, special, hip foot back, vessels nerves
  watch           watch the face from now on
  note SIGN SIDE RESULT   what you think it showed: a level, a number, normal, or untestable
  believe LESION PERCENT, LESION PERCENT ...   or: believe nothing
  complete WORDS; WORDS   what would complete the examination
  list [WORD]     the signs of a position, a kind or a name;  levels SIGN   how it is graded
  time            the clock
  end             the debrief"""

_COURTESIES = {
    "greet": "greeting",
    "hello": "greeting",
    "wash": "hand_hygiene",
    "identify": "identity",
    "story": "presenting_complaint",
    "how": "mechanism_of_injury",
    "when": "time_since_onset",
    "who": "age_and_activity",
    "where": "pain_first",
    "expose": "exposure",
    "undress": "exposure",
    "close": "closing",
}
_ASKED = {"help": "help", "?": "help", "time": "time", "list": "list", "levels": "levels"}
_ALONE = ("time",)
_ENDS = ("end", "finish", "quit")
_VERBS = ("do", "ask", "look", "feel", "move", "test", "examine")
_BOTH = "both"
_NORMAL = ("normal", "negative", "no", "none", "-", "absent")
_ABNORMAL = ("abnormal", "positive", "yes", "+", "present")
_NO_LESION = ("nothing", "none")
_UNTESTABLE = ("untestable", "not testable", "could not")
_BETWEEN = re.compile(r"(?<=[\d%])\s*,")
"""The comma after a percentage: names hold commas of their own."""
_NUMBER = re.compile(r"(-?\d+(?:\.\d+)?)\s*(?:mm|cm|deg|degrees|°|%|c|h|hours|min|minutes)?")


@dataclass(frozen=True, slots=True)
class Asked:
    """A line that changes nothing: ``what`` is help, time, list or levels, ``about`` the rest of it."""

    what: str
    about: str = ""


def read_line(line: str, *, protocol: Protocol) -> tuple[Event, ...] | Asked:
    """Return the events of a line, or what it asks; raise `InputError` saying what was not understood."""
    words = line.strip().casefold().replace("_", " ").split()
    if not words:
        return Asked("nothing")
    verb, rest = words[0], words[1:]
    if verb in _ASKED and (verb not in _ALONE or not rest):
        return Asked(_ASKED[verb], " ".join(rest))
    if verb in _ENDS and not rest:
        return (Event(act=Act.FINISH),)
    if verb == "complete":  # kept as it was typed
        rest = line.split()[1:]
    return tuple(_checked(event, protocol) for event in _events(verb, rest, protocol))


def _events(verb: str, rest: list[str], protocol: Protocol) -> Iterator[Event]:
    match verb:
        case "watch":
            yield Event(act=Act.WATCH_FACE)
        case "go":
            yield Event(act=Act.POSITION, position=_position(rest, protocol))
        case "note" | "record":
            yield _record(rest, protocol)
        case "believe" | "think":
            yield Event(act=Act.BELIEVE, beliefs=tuple(_beliefs(" ".join(rest))))
        case "complete":
            parts = (each.strip() for each in " ".join(rest).split(";"))
            yield Event(act=Act.COMPLETE, would=tuple(filter(None, parts)))
        case _:
            yield from _done([verb, *rest], protocol)


def find_sign(words: Sequence[str], protocol: Protocol) -> Sign:
    """Return the sign that words name: exactly, by their beginning, or as the only one that has them."""
    name = " ".join(words)
    if name in _COURTESIES:
        return protocol.sign(_COURTESIES[name])
    near = protocol.nearest(name)
    if len(near) == 1:
        return protocol.sign(near[0])
    named = {
        sign.id: [each.casefold().replace("_", " ") for each in (sign.id, sign.name, *sign.aliases)]
        for sign in protocol.signs
        if sign.seconds
    }
    for fits in (str.startswith, str.__contains__):
        found = [sign for sign, names in named.items() if any(fits(each, name) for each in names)]
        if len(found) == 1:
            return protocol.sign(found[0])
        near = tuple(dict.fromkeys((*found[:4], *near))) if name else near
    remedy = f"did you mean {' or '.join(near[:4])}?" if near else "'list' shows every sign"
    raise InputError.of(place="", value=name, says="is not understood", remedy=remedy)


def _checked(event: Event, protocol: Protocol) -> Event:
    Problems([*faults(event, protocol=protocol), *named_twice(event)]).raise_any()
    return event


def _done(words: list[str], protocol: Protocol) -> Iterator[Event]:
    if words[0] in _VERBS and len(words) > 1:
        words = words[1:]
    if words[-1] == _BOTH and len(words) > 1:
        says, remedy = "tells no order", f"{' '.join(words[:-1])} left right, or right left"
        raise InputError.of(place="", value=_BOTH, says=says, remedy=remedy)
    sides: list[Side] = []
    while words and words[-1] in list(Side):
        sides.insert(0, Side(words.pop()))
    sign = find_sign(words, protocol)
    for side in sides or (None,):
        yield Event(act=Act.DO, sign=sign.id, side=side)


def _position(words: list[str], protocol: Protocol) -> str:
    name = "_".join(words)
    known = [each.id for each in protocol.positions]
    return next((each for each in known if each.startswith(name) and name), name)


def _record(words: list[str], protocol: Protocol) -> Event:
    place = next((i for i, word in enumerate(words) if word in list(Side)), None)
    if place is not None:
        sign, side = find_sign(words[:place], protocol), Side(words[place])
        return _result(sign, side, " ".join(words[place + 1 :]))
    for count in range(len(words) - 1, 0, -1):  # of the person: the longest name that fits
        name = " ".join(words[:count])
        if len(near := protocol.nearest(name)) == 1:
            return _result(protocol.sign(near[0]), None, " ".join(words[count:]))
    return _result(find_sign(words[:1], protocol), None, " ".join(words[1:]))


def _result(sign: Sign, side: Side | None, text: str) -> Event:
    levels = sign.scale.levels
    if text in _UNTESTABLE:
        return Event(act=Act.RECORD, sign=sign.id, side=side)
    named = {each.id.casefold().replace("_", " "): each.id for each in levels}
    named |= {each.words.casefold(): each.id for each in levels}
    if text in named:
        return Event(act=Act.RECORD, sign=sign.id, side=side, level=named[text])
    if number := _NUMBER.fullmatch(text):
        return Event(act=Act.RECORD, sign=sign.id, side=side, value=float(number[1]))
    if levels and text in _NORMAL:
        return Event(act=Act.RECORD, sign=sign.id, side=side, level=levels[0].id)
    if sign.scale.is_yes_or_no and text in _ABNORMAL:
        return Event(act=Act.RECORD, sign=sign.id, side=side, level=levels[1].id)
    close = get_close_matches(text, named, n=1)
    measure = sign.scale.measure
    allowed = ", ".join(each.words for each in levels) or (
        f"a number of {measure.unit.value}" if measure else ""
    )
    remedy = f"did you mean '{close[0]}'?" if close else f"write {allowed}"
    raise InputError.of(place=sign.name, value=text, says="is no result of it", remedy=remedy)


def _beliefs(text: str) -> Iterator[tuple[str, float]]:
    if text in _NO_LESION:
        return
    names = {lesion.name.casefold(): lesion.id for lesion in practice_lesions()}
    names |= {lesion.id.replace("_", " "): lesion.id for lesion in practice_lesions()}
    also = {each.replace("_", " "): lesion.id for lesion in practice_lesions() for each in lesion.also}
    for part in filter(None, (each.strip() for each in _BETWEEN.split(text))):
        match = re.fullmatch(r"(.+?)\s+(\d+(?:\.\d+)?)\s*%?", part)
        name = match[1] if match else part
        fits = [lesion for each, lesion in names.items() if each.startswith(name) or name == each]
        chosen = names.get(name) or also.get(name) or (fits[0] if len(set(fits)) == 1 else None)
        if match is None or chosen is None:
            bare = match is None or "," in name
            says = "needs a percentage after it" if bare else "is no lesion"
            remedy = "acl tear 70" if bare else suggestion(name, names)
            raise InputError.of(place="believe", value=part, says=says, remedy=remedy)
        yield chosen, float(match[2]) / 100
