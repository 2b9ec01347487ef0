"""The groups in which findings are dictated, and the words for each sign, from ``phrases.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from fabella.packaged import packaged_table

_MANY_FROM = 99


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Signs that are dictated together; the fields are explained at the head of the data file."""

    name: str
    no: Mapping[str, str]
    well: Mapping[str, str]
    normal: str
    normal_both: str
    core: tuple[str, ...]
    whole: str
    whole_both: str
    few: int
    many: str
    patient: str
    patient_well: str

    @property
    def signs(self) -> frozenset[str]:
        """Every sign of the group."""
        return frozenset(self.no) | frozenset(self.well)


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrases:
    """All groups in the order of the body, and the words for signs and answers whose name would not do.

    ``person`` names what may be missing in the person as a whole, ``denied`` the things of one answer as a
    denial lists them, ``plain`` tells a patient of a sign where the sentence of its group would not do;
    ``background`` are the questions about what was so before the trouble, or is so of the person.
    """

    groups: tuple[Group, ...]
    person: Mapping[str, str]
    denied: Mapping[str, tuple[str, ...]]
    abnormal: Mapping[str, str]
    plain: Mapping[str, str]
    history: Mapping[str, str]
    background: frozenset[str]


@cache
def load_phrases() -> Phrases:
    """Read ``phrases.toml``."""
    raw = packaged_table("report/phrases.toml")
    return Phrases(
        groups=tuple(map(_group, raw["group"])),
        person=MappingProxyType(raw["person"]),
        denied=MappingProxyType({item: tuple(words) for item, words in raw["denied"].items()}),
        abnormal=MappingProxyType(raw["abnormal"]),
        plain=MappingProxyType({sign: words for words, signs in raw["plain"].items() for sign in signs}),
        history=MappingProxyType(raw["history"]),
        background=frozenset(raw["background"]["items"]),
    )


def _group(row: dict[str, Any]) -> Group:
    normal = row.get("normal", "normal")
    whole = row.get("whole", "")
    return Group(
        name=row["name"],
        no=MappingProxyType(row.get("no", {})),
        well=MappingProxyType(row.get("well", {})),
        normal=normal,
        normal_both=row.get("normal_both", f"{normal} on both sides" if normal != "normal" else "normal"),
        core=tuple(row.get("core", ())),
        whole=whole,
        whole_both=row.get("whole_both", whole),
        few=row.get("few", _MANY_FROM),
        many=row.get("many", ""),
        patient=row["patient"],
        patient_well=row.get("patient_well", ""),
    )


def said_normal(sign: str) -> str:
    """Return a normal sign as a phrase, ``no effusion`` or ``Lachman normal``; empty when it has no group."""
    for group in load_phrases().groups:
        if sign in group.no:
            return f"no {group.no[sign]}"
        if sign in group.well:
            return f"{group.well[sign]} {group.normal}"
    noun = load_phrases().person.get(sign)
    return f"no {noun}" if noun else ""


def said_present(sign: str) -> str:
    """Return what is there when a sign is abnormal, such as ``limp``; empty where it has no such noun."""
    return next((group.no[sign] for group in load_phrases().groups if sign in group.no), "")


def said_in_history(item: str) -> str:
    """Return a yes-or-no answer as dictated, ``earlier surgery``; empty where the question's name will do."""
    words = load_phrases().history.get(item, "")
    return "" if "{}" in words else words
