"""Reads `fifty_patients.toml`: short lines of findings as examinations, each with what was expected of it."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from fabella.anatomy import Side
from fabella.protocol import load_protocol
from fabella.record import Examination, read_examination

FILE = Path(__file__).with_name("fifty_patients.toml")
SEEN_ON = date(2026, 10, 5)
_COMPLAINED_OF = {"R": ["right"], "L": ["left"], "B": ["right", "left"], "N": list[str]()}
_Tree = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """One patient: what of ``first`` may come first on ``side``; one of each of ``must`` has to be met."""

    examination: Examination
    side: Side
    first: frozenset[str]
    must: tuple[frozenset[str], ...]
    may: frozenset[str]


@cache
def patients() -> tuple[Expected, ...]:
    """Return all of them, in the order of the file."""
    raw = tomllib.loads(FILE.read_text("utf-8"))
    return tuple(_expected(row, raw["bases"]) for row in raw["patient"])


def _expected(row: _Tree, bases: dict[str, str]) -> Expected:
    here = Side.LEFT if row["side"] == "L" else Side.RIGHT
    text = json.dumps(_file(row, bases, here))
    must = tuple(frozenset(each) for each in row.get("must", ()))
    return Expected(
        examination=read_examination(text, protocol=load_protocol(), today=SEEN_ON),
        side=here,
        first=frozenset(row["first"]),
        must=must,
        may=frozenset(row.get("may", "").split()).union(*must),
    )


def _file(row: _Tree, bases: dict[str, str], here: Side) -> _Tree:
    age, sex = row["who"].split()
    setting, acuity, days, mechanism = row["context"].split()
    complaint = _COMPLAINED_OF[row["side"]]
    context: _Tree = {"setting": setting, "acuity": acuity, "complaint": complaint}
    context["onset_days"] = None if days == "-" else float(days)
    context["mechanism"] = None if mechanism == "-" else mechanism
    if "procedure" in row:
        name, on = row["procedure"].split()
        context["procedure"] = {"name": name, "sides": complaint, "on": on}
    return {
        "format": "fabella.examination/1",
        "id": row["id"],
        "origin": "invented",
        "examined_on": SEEN_ON.isoformat(),
        "patient": {"age_years": float(age), "sex": {"f": "female", "m": "male"}[sex]},
        "context": {**context, "mechanism_words": row["words"]},
        "history": dict(map(_answer, row["history"].split())),
        "findings": list(_findings(row, bases, here)),
    }


def _answer(word: str) -> tuple[str, bool | float]:
    item, _, number = word.lstrip("!").partition("=")
    return item, float(number) if number else not word.startswith("!")


def _findings(row: _Tree, bases: dict[str, str], here: Side) -> Iterator[_Tree]:
    """What was found, a later word about a sign on one side in the place of an earlier one."""
    beyond = Side.RIGHT if here is Side.LEFT else Side.LEFT
    normal = bases[row.get("base", "full")].split()
    left_out = row.get("except", "").split()
    bends = [f"passive_flexion:{deg}" for deg in row.get("flexion", "140 140").split()]
    words = [(f"!{sign}", here) for sign in normal if sign not in left_out]
    words += [(f"!{sign}", beyond) for sign in normal]
    words += [(each, side) for each, side in zip(bends, (here, beyond), strict=True) if each[-1] != "-"]
    words += [(each, here) for each in row["found"].split()]
    words += [(each, beyond) for each in row.get("other", "").split()]
    found = {(tree["sign"], side): tree | {"side": side.value} for tree, side in map(_found, words)}
    yield from found.values()
    yield from (_found((each, here))[0] for each in row.get("person", "").split())


def _found(word_on: tuple[str, Side]) -> tuple[_Tree, Side]:
    word, side = word_on
    protocol = load_protocol()
    if word.startswith("!"):
        return {"sign": word[1:], "state": "normal"}, side
    for mark in "?:=":
        sign, found, told = word.partition(mark)
        if not found:
            continue
        if mark == "?":
            return {"sign": sign, "state": "untestable", "reason": told}, side
        scale = protocol.sign(sign).scale
        if mark == ":":
            assert scale.measure is not None
            return {"sign": sign, "value": float(told), "unit": scale.measure.unit.value}, side
        state = "normal" if told == scale.levels[0].id else "abnormal"
        return {"sign": sign, "state": state, "level": told}, side
    return {"sign": word, "state": "abnormal"}, side
