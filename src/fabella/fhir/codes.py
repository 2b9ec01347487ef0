"""Codes and where they come from: open systems as far as they were read, for the rest systems of ours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from fabella.packaged import packaged_table

UCUM = "http://unitsofmeasure.org"
"""The URI by which the standard names the Unified Code for Units of Measure."""

Coding = dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenCode:
    """One code of an open system, with its display and where both were read."""

    id: str
    system: str
    code: str
    display: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnSystem:
    """A code system of ours: ``uri`` names it in a coding, ``name`` for programs, ``title`` for people."""

    id: str
    uri: str
    name: str
    title: str


@dataclass(frozen=True, slots=True)
class Codes:
    """Open codes and our systems by their ids, UCUM by the unit of the record, terms by their code."""

    open: Mapping[str, OpenCode]
    own: Mapping[str, OwnSystem]
    ucum: Mapping[str, str]
    terms: Mapping[str, str]


@cache
def load_codes() -> Codes:
    """Read ``codes.toml``."""
    raw = packaged_table("fhir/codes.toml")
    return Codes(
        open=MappingProxyType({row["id"]: OpenCode(**row) for row in raw["open"]}),
        own=MappingProxyType({name: OwnSystem(id=name, **row) for name, row in raw["own"].items()}),
        ucum=MappingProxyType(raw["ucum"]),
        terms=MappingProxyType(raw["term"]),
    )


def open_coding(name: str) -> Coding:
    """Return a code of an open system by its id in the table."""
    code = load_codes().open[name]
    return {"system": code.system, "code": code.code, "display": code.display}


def own_coding(system: str, code: str, display: str) -> Coding:
    """Return a code of one of our systems."""
    return {"system": load_codes().own[system].uri, "code": code, "display": display}


def term_coding(name: str) -> Coding:
    """Return one of our terms by its code."""
    return own_coding("term", name, load_codes().terms[name])


def level_code(thing: str, level: str) -> str:
    """Return the code of a level of a sign or lesion, which is unique in its system: ``lachman/2+``."""
    return f"{thing}/{level}"
