"""The whole examination as one Markdown page, made from the data so that it cannot grow stale."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fabella.anatomy import STRUCTURES
from fabella.protocol.card import flexion_words, record_words, time_words
from fabella.protocol.sequence import Protocol
from fabella.protocol.signs import Position, Sign

_HEAD = """\
# The examination

Made from the data by `fabella protocol --markdown > docs/protocol.md`; do not edit.

Both knees are examined, in the order of the body, so that the patient moves as little as possible. Signs in
**bold** belong to the examination of every knee; the others are done when the picture asks for them.
`fabella protocol SIGN` shows all there is to say about one of them.

*Hurts* runs from 0 (not) through 1 (uncomfortable) and 2 (painful) to 3 (very painful), in an injured knee.
A time is for one side; where it is missing, the sign only sums up others.
Where nothing stands under *rests on*, it is common practice."""


def as_markdown(protocol: Protocol) -> str:
    """Return the page, ending in a line break."""
    return "\n".join(_lines(protocol)) + "\n"


def _lines(protocol: Protocol) -> Iterator[str]:
    yield _HEAD
    yield from _totals(protocol)
    for position in protocol.positions:
        yield from _position(position, protocol.at(position.id))
    yield from _avoided(protocol)
    yield from _structures(protocol)


def _totals(protocol: Protocol) -> Iterator[str]:
    yield "\n## Time\n"
    yield from _table("Position", "Signs", "In every knee", "Seconds for those, both knees")
    for position in protocol.positions:
        signs = protocol.at(position.id)
        routine = [sign.id for sign in signs if sign.routine]
        yield _row(position.name, len(signs), len(routine), protocol.seconds(routine))
    routine = [sign.id for sign in protocol.signs if sign.routine]
    yield _row("Together", len(protocol.signs), len(routine), protocol.seconds(routine))


def _position(position: Position, signs: tuple[Sign, ...]) -> Iterator[str]:
    yield f"\n## {position.number}. {position.name}\n"
    yield f"{position.patient}\n"
    yield from _table("Sign", "How, or what to ask", "Normal", "Record", "Time", "Hurts", "Rests on")
    for sign in signs:
        name = f"**{sign.name}**" if sign.routine else sign.name
        angle = f" (knee at {angle})" if (angle := flexion_words(sign)) else ""
        how = " ".join(part for part in (sign.technique, sign.caution) if part)
        time = time_words(sign) if sign.seconds else ""
        ground, _, source = sign.provenance.partition(": ")
        rests = source if ground == "published" else ""
        yield _row(
            f"{name}<br>`{sign.id}`{angle}",
            how,
            sign.normal,
            record_words(sign.scale),
            time,
            sign.hurts,
            rests,
        )


def _avoided(protocol: Protocol) -> Iterator[str]:
    yield "\n## What must not be done, and when\n"
    yield from _table("State", "Why", "Signs left out")
    for each in protocol.contraindications:
        names = "; ".join(sign.name for sign in protocol.signs if each in sign.avoid_when)
        yield _row(each.name.capitalize(), each.why, names)


def _structures(protocol: Protocol) -> Iterator[str]:
    yield "\n## Which signs speak of a structure\n"
    yield from _table("Structure", "Signs")
    for structure, name in STRUCTURES.items():
        yield _row(name.capitalize(), "; ".join(sign.name for sign in protocol.about(structure)))


def _table(*headings: str) -> Iterable[str]:
    return _row(*headings), _row(*("---" for _ in headings))


def _row(*cells: object) -> str:
    return f"| {' | '.join(str(cell).replace('|', '/') for cell in cells)} |"
