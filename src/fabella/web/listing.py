"""The examination as a list: each sign once, the right knee on the left, as one faces the patient."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.protocol import Kind, Protocol, Sign
from fabella.record import Imaging, Key, Part, Sheet, Stated, Writing, parts_of_name, plain
from fabella.report import Outcome, Reading, Readings
from fabella.report.imaging_words import image_title, said_of
from fabella.report.phrases import said_present
from fabella.report.wording import measured
from fabella.stats.written import spaced
from fabella.web.held import Held, held_against
from fabella.workup import Graded


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """What one sign came to in one place; ``kind`` is the outcome as a word of the style sheet."""

    kind: str
    words: str
    note: str


_PLAINLY_NORMAL = Cell(kind="normal", words="normal", note="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One sign: on both knees, or of the person; None where nothing is stated.

    ``held`` is what its measurement was held against: norm, and error of measuring.
    """

    sign: str
    name: str
    right: Cell | None
    left: Cell | None
    person: Cell | None
    held: tuple[Held, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One position of the patient with what was found in it.

    ``normal`` are the signs that were plainly normal on both sides; ``rows`` are the others.
    """

    id: str
    name: str
    rows: tuple[Row, ...]
    normal: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dispute:
    """One statement on which two people disagree: what stands, and what stands beside it."""

    part: str
    name: str
    side: str
    title: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One of the values in dispute, with who wrote it."""

    version: int
    words: str
    author: str
    device: str
    stands: bool


def listing(readings: Readings, protocol: Protocol, graded: Sequence[Graded] = ()) -> tuple[Section, ...]:
    """Return everything that was examined, position by position in the order of the examination.

    ``graded`` tells what measurements were held against.
    """
    held = held_against(graded)
    sections = []
    for position in protocol.positions:
        rows = tuple(_rows(readings, position.id, held, protocol))
        plain_ones = tuple(row for row in rows if _is_plainly_normal(row))
        telling = tuple(row for row in rows if not _is_plainly_normal(row))
        if rows:
            sections.append(Section(id=position.id, name=position.name, rows=telling, normal=plain_ones))
    return tuple(sections)


def _is_plainly_normal(row: Row) -> bool:
    """Say whether a sign was normal, with nothing more to tell, on both knees or of the person."""
    cells = (row.person,) if row.person else (row.right, row.left)
    return all(cell is not None and cell == _PLAINLY_NORMAL for cell in cells)


def _rows(
    readings: Readings, position: str, held: Mapping[str, tuple[Held, ...]], protocol: Protocol
) -> Iterator[Row]:
    signs = dict.fromkeys((each.sign, each.name) for each in readings.all if each.step == position)
    for sign, name in signs:
        ungraded = _ungraded(protocol.sign(sign))
        yield Row(
            sign=sign,
            name=name,
            right=_cell(readings.find(sign, Side.RIGHT), ungraded),
            left=_cell(readings.find(sign, Side.LEFT), ungraded),
            person=_cell(readings.find(sign, None), ungraded),
            held=held.get(sign, ()),
        )


def _ungraded(sign: Sign) -> str:
    """Return what is said of a sign that is abnormal without a grade: a test is positive, a scar present."""
    if sign.kind is Kind.TEST:
        return "positive"
    return "present" if said_present(sign.id) else Outcome.ABNORMAL.value


def _cell(reading: Reading | None, ungraded: str) -> Cell | None:
    if reading is None:
        return None
    value = "" if reading.value is None else measured(reading)
    told = [reading.grade if reading.level or not value else "", value]
    if reading.outcome is Outcome.COULD_NOT_BE_TESTED:
        told = [f"could not be tested{': ' if reading.why else ''}{reading.why}"]
    if reading.outcome is Outcome.ABNORMAL and not any(told):
        told = [ungraded]
    words = ", ".join(filter(None, told)) or reading.outcome.value
    return Cell(kind=reading.outcome.name.lower(), words=words, note=reading.note)


def disputes(sheet: Sheet, protocol: Protocol) -> tuple[Dispute, ...]:
    """Return every statement in dispute, with all that was written about it."""
    return tuple(
        Dispute(
            part=key.part.value,
            name=key.name,
            side=key.side.value if key.side else "",
            title=title_of(key, protocol),
            choices=tuple(_choices(key, sheet.stated[key], beside)),
        )
        for key, beside in sheet.conflicts.items()
    )


def _choices(key: Key, stands: Stated, beside: tuple[Stated, ...]) -> Iterator[Choice]:
    for each in (stands, *beside):
        yield Choice(
            version=each.version,
            words=said_of(each.value)
            if isinstance(each.value, Imaging)
            else _value_words(plain(key, each.value)),
            author=each.writer.author,
            device=each.writer.device,
            stands=each is stands,
        )


def title_of(key: Key, protocol: Protocol) -> str:
    """Return what a statement is about, in words."""
    if key.part is Part.PASSAGE:
        return passage_title(key.name)
    if key.part is Part.IMAGING:
        return f"{image_title(key.name)}, {key.side} knee"
    name = protocol.sign(key.name).name if key.name in protocol else spaced(key.name).capitalize()
    return f"{name}, {key.side} knee" if key.side and key.part is not Part.TOTAL else name


def passage_title(name: str) -> str:
    """Return what a passage of a letter or patient's page is called."""
    writing, passage = parts_of_name(name)
    document = "Letter" if writing is Writing.LETTER else "Patient’s page"
    return f"{document}: {spaced(passage.replace('-', ', ', 1).replace('-', ' '))}"


def _value_words(value: object) -> str:
    match value:
        case None:
            return "nothing stated"
        case bool():
            return "yes" if value else "no"
        case {"text": text, "computed": _}:
            return str(text) or "left out"
        case dict():
            told = [
                spaced(str(value[name]))
                for name in ("state", "level", "value", "unit", "reason", "note")
                if name in value
            ]
            return ", ".join(told)
        case list():
            return " and ".join(map(str, value))
        case _:
            return spaced(str(value))
