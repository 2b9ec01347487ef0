"""The data files become one protocol, or one message that lists every defect of every file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Iterable, Iterator
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from fabella.errors import Problem, Problems, suggestion
from fabella.protocol.fields import Fields
from fabella.protocol.reading import read_contraindication, read_position, read_sign
from fabella.protocol.sequence import Protocol, folded
from fabella.protocol.signs import Contraindication, Position, Sign

_CONTRAINDICATIONS = "contraindications.toml"
_POSITION_FILE = re.compile(r"(?P<number>\d\d)_(?P<id>[a-z0-9_]+)\.toml")


@cache
def load_protocol() -> Protocol:
    """Return the examination that comes with Fabella; raise `InputError` listing every defect."""
    return read_protocol(files("fabella.protocol") / "data")


def read_protocol(folder: Traversable) -> Protocol:
    """Return the examination described by a folder of data files.

    Parameters
    ----------
    folder
        One ``NN_position.toml`` a position, in the order of ``NN``, and ``contraindications.toml``.

    Raises
    ------
    InputError
        Listing every defect of every file, with file, sign, field, value and remedy.
    """
    problems = Problems()
    tables = dict(_tables(folder, problems))
    contraindications = _contraindications(tables.pop(_CONTRAINDICATIONS, {}), problems)
    allowed = {each.id: each for each in contraindications}
    positions: list[Position] = []
    signs: list[tuple[str, Sign]] = []
    for name, table in tables.items():
        head = Fields(name, table, problems)
        if not (match := _POSITION_FILE.fullmatch(name)):
            problems.add(name, "", "is no name for a position", "name it like 04_lying.toml")
            continue
        position = read_position(head, number=int(match["number"]), position_id=match["id"])
        positions.append(position)
        for fields in head.rows("sign", defaults="defaults"):
            order = len(signs) + 1
            sign = read_sign(fields, position=position.id, order=order, contraindications=allowed)
            signs.append((fields.place, sign))
        head.finish()
    problems.extend(_clashes(signs))
    problems.extend(_summaries(signs))
    problems.raise_any()
    ordered = tuple(sign for _, sign in signs)
    return Protocol(signs=ordered, positions=tuple(positions), contraindications=contraindications)


def _tables(folder: Traversable, problems: Problems) -> Iterator[tuple[str, dict[str, Any]]]:
    for path in sorted(folder.iterdir(), key=lambda path: path.name):
        if path.name.endswith(".toml"):
            try:
                yield path.name, tomllib.loads(path.read_text("utf-8"))
            except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
                problems.add(path.name, "", f"cannot be read: {error}", "")


def _contraindications(table: dict[str, Any], problems: Problems) -> tuple[Contraindication, ...]:
    head = Fields(_CONTRAINDICATIONS, table, problems)
    read = tuple(read_contraindication(fields) for fields in head.rows("contraindication"))
    head.finish()
    return read


def _clashes(signs: Iterable[tuple[str, Sign]]) -> Iterator[Problem]:
    """Find names that call two signs, and other names that are none."""
    owners: dict[str, tuple[int, str]] = {}
    for place, sign in signs:
        for name in (sign.id, sign.name, *sign.aliases):
            owner, where = owners.setdefault(folded(name), (sign.order, place))
            if owner != sign.order:
                yield Problem(place=place, value=name, says=f"already calls {where}", remedy="keep one")
        for name in sign.aliases:
            if folded(name) in {folded(sign.id), folded(sign.name)}:
                yield Problem(
                    place=f"{place}, aliases", value=name, says="says nothing new", remedy="leave it out"
                )


def _summaries(signs: Collection[tuple[str, Sign]]) -> Iterator[Problem]:
    """Find summaries of signs that do not exist or are summaries themselves."""
    detailed = [sign.id for _, sign in signs if not sign.is_summary]
    for place, sign in signs:
        for each in sign.summary_of:
            if each not in detailed:
                yield Problem(
                    place=f"{place}, summary_of",
                    value=each,
                    says="is no sign that can be summed up",
                    remedy=suggestion(each, detailed),
                )
