"""JSON text as strictly as an examination needs it: whole, UTF-8, of bearable size, and forgetting nothing.

The standard reader drops the first of two equal keys and takes NaN for a number. Here both survive until the
part that knows their place can refuse them by name.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite

from fabella.errors import InputError

MAX_BYTES = 5_000_000
_SHOWN = 60  # characters of a wrong value that a message repeats
_MAX_DIGITS = 300  # a whole number longer than this is no quantity, and costs long to read


class Keyed(dict[str, object]):
    """One JSON object; ``twice`` names the keys that stand in it more than once."""

    __slots__ = ("twice",)

    def __init__(self, pairs: list[tuple[str, object]]) -> None:
        super().__init__(pairs)
        again = Counter(key for key, _ in pairs) if len(self) < len(pairs) else {}
        self.twice = tuple(key for key, times in again.items() if times > 1)


@dataclass(frozen=True, slots=True)
class Unreal:
    """A number that is none: NaN, an infinity, or one too large to be held."""

    written: str


def parse(text: str | bytes, *, line: int = 1) -> object:
    """Return the JSON value a text holds, with `Keyed` objects and `Unreal` numbers.

    ``line`` is the number of the text's first line, for messages. Raises `InputError` with one problem when
    the text is no single whole JSON value: nothing of it is read then.
    """
    decoded = _decode(text, line)
    try:
        return json.loads(
            decoded,
            object_pairs_hook=Keyed,
            parse_constant=Unreal,
            parse_float=_number(float),
            parse_int=_number(int),
        )
    except json.JSONDecodeError as error:
        what = (
            "the text breaks off" if not decoded[error.pos :].strip() else f"is not JSON: {_plain(error.msg)}"
        )
        place = f"line {line + error.lineno - 1}, column {error.colno}"
        raise _refusal(place, f"{what}; nothing was read", "") from None
    except RecursionError:
        says = "is nested too deeply; nothing was read"
        raise _refusal(f"line {line}", says, "three levels are the most") from None


def shown(value: object) -> str:
    """Return a JSON value as a message repeats it: on one line, printable, and not too long."""
    match value:
        case None:
            return "null"
        case bool():
            return "true" if value else "false"
        case str():
            text = value
        case Unreal(written):
            text = written
        case dict():
            return "{…}"
        case list():
            return "[…]"
        case _:
            text = str(value)
    text = text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"
    return "".join(each if each.isprintable() else f"\\u{ord(each):04x}" for each in text)


def is_unicode(text: str) -> bool:
    """Return whether a text can be written as UTF-8, i.e. holds no half of a surrogate pair."""
    return not any("\ud800" <= each <= "\udfff" for each in text)


def kind(value: object) -> str:
    """Return what a JSON value is, in words."""
    match value:
        case None:
            return "null"
        case bool():
            return "true or false"
        case str():
            return "text"
        case int() | float() | Unreal():
            return "a number"
        case list():
            return "a list"
        case _:
            return "an object"


def _decode(text: str | bytes, line: int) -> str:
    place = "the text" if line == 1 else f"line {line}"
    size = len(text)
    if size <= MAX_BYTES and isinstance(text, str):
        size = len(text.encode("utf-8", "surrogatepass"))
    if size > MAX_BYTES:
        raise _refusal(
            place, f"is larger than {MAX_BYTES:,} bytes; nothing was read", "one examination takes far less"
        )
    if isinstance(text, bytes):
        try:
            text = text.decode()
        except UnicodeDecodeError as error:
            where = f"{place}, byte {error.start + 1}"
            raise _refusal(where, "is not UTF-8; nothing was read", "save the file as UTF-8") from None
    if text.startswith("\ufeff"):
        raise _refusal(
            place, "begins with a byte order mark; nothing was read", "save the file as UTF-8 without one"
        )
    if not text.strip():
        raise _refusal(place, "is empty; nothing was read", "")
    return text


def _number(convert: Callable[[str], float]) -> Callable[[str], float | Unreal]:
    def read(written: str) -> float | Unreal:
        if len(written) > _MAX_DIGITS:
            return Unreal(written)
        number = convert(written)
        return number if isfinite(number) else Unreal(written)

    return read


def _plain(message: str) -> str:
    return message[:1].lower() + message[1:]


def _refusal(place: str, says: str, remedy: str) -> InputError:
    return InputError.of(place=place, says=says, remedy=remedy)
