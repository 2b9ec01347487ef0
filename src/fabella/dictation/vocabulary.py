"""What words can mean: the parts they play, the names of signs, and what may be said of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class Tag(StrEnum):
    """The part that a word plays in a dictation."""

    SILENT = "silent"
    SIGN = "sign"
    SITE = "site"
    DESCRIBING = "describing"
    SIDE = "side"
    MARK = "mark"
    REASON = "reason"
    COMPARTMENT = "compartment"
    BOW = "bow"
    LUMP = "lump"
    ANGLE = "angle"
    UNIT = "unit"
    NO_UNIT = "no unit"
    NUMBER = "number"
    RANGE = "range"
    LANDMARK = "landmark"
    BREAK = "break"
    PERSON = "person"
    UNKNOWN = "unknown"


class Class(StrEnum):
    """What naming a sign alone says: it is there, nothing, nothing (but "present" is good), or it is well."""

    ILLNESS = "illness"
    TEST = "test"
    HEALTH = "health"
    SOUND = "sound"

    @property
    def tells(self) -> bool:
        """Whether naming a sign of this kind already says how it is."""
        return self in {Class.ILLNESS, Class.SOUND}


@dataclass(frozen=True, slots=True, kw_only=True)
class SignWord:
    """A name under which one or more signs are dictated; the fields are explained in ``signs.toml``."""

    name: str
    to: tuple[str, ...] = ()
    kind: Class = Class.ILLNESS
    level: str = ""
    refine: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    normal_to: tuple[str, ...] = ()
    pain: str = ""
    group: str = ""
    reader: str = ""
    words: Mapping[str, str] = field(default_factory=dict)
    site: str = ""
    at: Mapping[str, str] = field(default_factory=dict)
    ignores: tuple[str, ...] = ()
    shared: bool = False
    silent: bool = False
    idle_denied: bool = False
    surface: bool = False
    plural: bool = False
    both: bool = False
    bent: bool = False
    bow: str = ""
    family: str = ""
    aside: str = ""
    says: str = ""
    told: str = ""
    hours: float | None = None

    @property
    def signs(self) -> frozenset[str]:
        """Every sign that it can enter."""
        refined = (each for signs in self.refine.values() for each in signs)
        return frozenset((*self.to, *self.normal_to, *refined, *self.at.values()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Describing:
    """A word that says something of a sign; the fields are explained in ``words.toml``."""

    key: str
    says: str = ""
    degree: int | None = None
    grade: int | None = None
    fits: tuple[str, ...] = ()
    whole: bool = False
    phrase: bool = False
    empty: bool = False
    implies: str = ""
    pain: str = ""
    end_point: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LumpWord:
    """A word that is said of a lump; the kinds and fields are explained in ``lumps.toml``."""

    kind: str
    says: str = ""
    denied: str = ""


@dataclass(frozen=True, slots=True)
class Meaning:
    """One part that a group of words can play, with what it stands for."""

    tag: Tag
    value: Any


@dataclass(slots=True)
class Node:
    """A place in the tree of names: what follows, and what the words so far mean."""

    follows: dict[str, Node] = field(default_factory=dict)
    meanings: tuple[Meaning, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lexicon:
    """All names as one tree of stems, with the words that may be skipped and the certain slips of the ear."""

    tree: Node
    silent: frozenset[str]
    inside: frozenset[str]
    slips: Mapping[tuple[str, ...], tuple[str, ...]]
    scales: Mapping[tuple[str, ...], Mapping[str, str]]
    whole: tuple[str, ...]
    whole_ligaments: tuple[str, ...]
    otherwise_stable: tuple[str, ...]
    more_exact: Mapping[str, tuple[str, ...]]
    same_thing: tuple[frozenset[str], ...]
    nowhere: tuple[str, ...]
    wide_sites: Mapping[str, tuple[str, ...]]
    stress: SignWord
    ligaments: SignWord
    end_point: SignWord
    range: SignWord
    thigh_girth: SignWord
    words: frozenset[str]
