"""What a published name of a sign stands for, as data (``case_signs.toml``, ``case_sites.toml``)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from fabella.audit.readers import READ
from fabella.audit.words import Bag, load, pattern, vocabulary
from fabella.errors import InputError, Problem, Problems, suggestion
from fabella.protocol import Kind, Protocol, load_protocol
from fabella.record import State

READERS = frozenset(("sites", "words", *READ))
"""The ways in which a value is read that need more than the scale of the sign."""


@dataclass(frozen=True, slots=True)
class Redirect:
    """When the value or the note says one of the words, these signs receive the finding instead.

    With ``aside`` none does, for the reason that it gives.
    """

    says: re.Pattern[str]
    to: tuple[str, ...]
    state: State | None
    level: str | None
    aside: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What a name stands for.

    ``to`` receives any reading, ``normal_to`` and ``abnormal_to`` instead of it one of that state; ``good``
    names something healthy; ``level`` is what a plain positive means; ``aside`` says why the protocol has
    no place for it; ``wide`` marks a statement about the whole knee, which is silent where a finding
    speaks.
    """

    name: str
    to: tuple[str, ...] = ()
    normal_to: tuple[str, ...] | None = None
    abnormal_to: tuple[str, ...] | None = None
    good: bool = False
    level: str | None = None
    reader: str | None = None
    when: tuple[Redirect, ...] = ()
    aside: str = ""
    wide: bool = False

    def receivers(self, state: State | None) -> tuple[str, ...]:
        """Return the signs that receive a reading of this state."""
        if state is State.NORMAL and self.normal_to is not None:
            return self.normal_to
        if state is State.ABNORMAL and self.abnormal_to is not None:
            return self.abnormal_to
        return self.to

    @property
    def signs(self) -> frozenset[str]:
        """Every sign of the protocol that it can speak of."""
        own = (*self.to, *(self.normal_to or ()), *(self.abnormal_to or ()))
        return frozenset(own).union(*(redirect.to for redirect in self.when))


@dataclass(frozen=True, slots=True)
class Addition:
    """What a note adds to a finding on one of these signs; ``always`` also to a normal one."""

    on: frozenset[str]
    says: re.Pattern[str]
    adds: str
    level: str | None
    always: bool


@dataclass(frozen=True, slots=True, eq=False)
class Entries:
    """Every known name by its bag of words, the sites of tenderness, and what tells the same thing.

    ``hindered`` pairs what is seen of a knee with what a wide statement then no longer says.
    """

    by_bag: Mapping[Bag, Entry]
    sites: Mapping[Bag, Entry]
    unsited: Entry
    harmless: frozenset[str]
    same_thing: tuple[frozenset[str], ...]
    hindered: tuple[tuple[frozenset[str], frozenset[str]], ...]
    part_of: Mapping[str, tuple[str, ...]]
    additions: tuple[Addition, ...]
    elsewhere: Entry
    elsewhere_words: frozenset[str]
    words: frozenset[str]


@cache
def load_entries() -> Entries:
    """Read both data files and join the protocol's own names to them.

    Raises `InputError` listing every name claimed twice, every unknown sign, level and reader.
    """
    protocol, signs, sites = load_protocol(), load("case_signs.toml"), load("case_sites.toml")
    problems = Problems()
    by_bag: dict[Bag, Entry] = {}
    groups = [
        {"names": row["names"], "normal_to": row["normal"], "abnormal_to": [], "wide": True}
        for row in sites["group"]
    ]
    for row in (*signs["sign"], *groups):
        entry = _entry(row)
        _check(entry, protocol, problems)
        for name in row["names"]:
            known = by_bag.setdefault(vocabulary().bag(name), replace(entry, name=name))
            if replace(known, name=entry.name) != entry:
                problems.add("case_signs.toml", name, f"already means what '{known.name}' does", "keep one")
    problems.raise_any()
    by_site = _sites(sites)
    elsewhere = next(row for row in signs["sign"] if "always_aside" in row)
    _join_protocol(by_bag, protocol)
    words = {word for bag in (*by_bag, *by_site) for word in bag} | {
        *sites["harmless"]["words"],
        *vocabulary().same,
    }
    return Entries(
        by_bag=by_bag,
        sites=by_site,
        unsited=Entry(name="tenderness", normal_to=tuple(sites["unsited"]["excludes"]), reader="sites"),
        harmless=frozenset(word for each in sites["harmless"]["words"] for word in vocabulary().bag(each)),
        same_thing=tuple(frozenset(each) for each in sites["same_thing"].values()),
        part_of={whole: tuple(parts) for whole, parts in sites["part_of"].items()},
        hindered=tuple((frozenset(row["by"]), frozenset(row["silent"])) for row in sites["hindered"]),
        additions=tuple(_addition(row, protocol) for row in signs["note"]),
        elsewhere=Entry(name="elsewhere", aside=elsewhere["aside"]),
        elsewhere_words=frozenset(
            word for each in elsewhere["always_aside"] for word in vocabulary().bag(each)
        ),
        words=frozenset(words),
    )


def _entry(row: Mapping[str, Any]) -> Entry:
    return Entry(
        name=row["names"][0],
        to=tuple(row.get("to", ())),
        normal_to=_optional(row, "normal_to"),
        abnormal_to=_optional(row, "abnormal_to"),
        good=row.get("good", False),
        level=row.get("level"),
        reader=row.get("reader"),
        when=tuple(_redirect(each) for each in row.get("when", ())),
        aside=row.get("aside", ""),
        wide=row.get("wide", False),
    )


def _optional(row: Mapping[str, Any], key: str) -> tuple[str, ...] | None:
    return tuple(row[key]) if key in row else None


def _redirect(row: Mapping[str, Any]) -> Redirect:
    state = State(row["as"]) if "as" in row else None
    to = tuple(row.get("to", ()))
    return Redirect(pattern(row["words"]), to, state, row.get("level"), row.get("aside", ""))


def _addition(row: Mapping[str, Any], protocol: Protocol) -> Addition:
    for sign in (*row["on"], row["adds"]):
        protocol.sign(sign)
    return Addition(
        frozenset(row["on"]), pattern(row["words"]), row["adds"], row.get("level"), row.get("always", False)
    )


def _check(entry: Entry, protocol: Protocol, problems: Problems) -> None:
    for sign in sorted(entry.signs):
        if sign not in protocol:
            remedy = suggestion(sign, [each.id for each in protocol.signs])
            problems.add(entry.name, sign, "is no sign", remedy)
    if entry.level is not None and not problems:
        for sign in entry.to:
            protocol.sign(sign).level(entry.level)
    if entry.reader is not None and entry.reader not in READERS:
        problems.add(entry.name, entry.reader, "is no reader", suggestion(entry.reader, READERS))


def _sites(raw: Mapping[str, Any]) -> dict[Bag, Entry]:
    refined = {"tenderness_anterior", "bony_tenderness", "joint_line_tenderness", *raw["part_of"]}
    found: dict[Bag, Entry] = {}
    for sign, names in raw["tenderness"].items():
        for name in names:
            reader = (
                "compartment" if sign == "joint_line_tenderness" else "sites" if sign in refined else None
            )
            entry = Entry(name=f"tenderness {name}", to=(sign,), reader=reader)
            _place(found, name, entry)
    for name, says in raw["weak"].items():
        proves, excludes = tuple(says["proves"]), tuple(says["excludes"])
        aside = "" if proves or excludes else "the site is not of the knee"
        entry = Entry(
            name=f"tenderness {name}", normal_to=excludes, abnormal_to=proves, reader="sites", aside=aside
        )
        _place(found, name, entry)
    return found


def _place(found: dict[Bag, Entry], name: str, entry: Entry) -> None:
    known = found.setdefault(vocabulary().bag(name), entry)
    if known.signs != entry.signs:
        says = f"already means what '{known.name}' does"
        raise InputError([Problem(place="case_sites.toml", value=name, says=says, remedy="keep one")])


def _join_protocol(by_bag: dict[Bag, Entry], protocol: Protocol) -> None:
    """Add every id, name and alias of the protocol; the data files go first, ids before aliases."""
    usual = _usual(by_bag)
    named = [sign for sign in protocol.signs if sign.kind is not Kind.COURTESY]
    for names in (lambda sign: (sign.id,), lambda sign: (sign.name,), lambda sign: sign.aliases):
        added: dict[Bag, Entry] = {}
        for sign in named:
            for name in names(sign):
                entry = replace(usual.get(sign.id, Entry(name=name)), name=name, to=(sign.id,), level=None)
                added.setdefault(vocabulary().bag(name), entry)
        for bag, entry in added.items():
            by_bag.setdefault(bag, entry)


def _usual(by_bag: Mapping[Bag, Entry]) -> dict[str, Entry]:
    """Return how the data files read each sign that stands alone in a row; the first row counts."""
    usual: dict[str, Entry] = {}
    for entry in by_bag.values():
        if len(entry.to) == 1:
            usual.setdefault(entry.to[0], entry)
    return usual
