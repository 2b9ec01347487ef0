"""Reading the lexicon: every name from the data files and the protocol, checked, as one tree of stems."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from importlib.resources import files
from typing import Any

from fabella.dictation.vocabulary import Class, Describing, Lexicon, Meaning, Node, SignWord, Tag
from fabella.dictation.words import split, stem
from fabella.errors import InputError, Problem, suggestion
from fabella.protocol import Kind, Protocol


def load_lexicon(protocol: Protocol) -> Lexicon:
    """Read the data files and join the names of the protocol to them.

    Raises `InputError` listing every sign, level and kind that the protocol or this room does not know.
    """
    words, signs, sites, history = (_load(name) for name in ("words", "signs", "sites", "history"))
    slips = _slips(words["slips"])
    silent = frozenset(stem(word) for word in words["silent"])
    tree = Node()
    problems: list[Problem] = []

    def add(name: str, tag: Tag, value: Any, *, join: bool = False) -> None:
        stems = _respelt(tuple(word.stem for word in split(name)), slips, silent)
        node = tree
        for each in stems:
            node = node.follows.setdefault(each, Node())
        if all(known.tag is not tag for known in node.meanings):
            node.meanings = (*node.meanings, Meaning(tag, value))
        elif not join and next(known.value for known in node.meanings if known.tag is tag) != value:
            problems.append(Problem(place=tag.value, value=name, says="is named twice", remedy="keep one"))

    for entry in _sign_words(signs["sign"], history["said"], problems):
        _check(entry[1], protocol, problems)
        for name in entry[0]:
            add(name, Tag.SIGN, entry[1])
    for name, value in _of_protocol(protocol, frozenset(signs["built"]["signs"])):
        add(name, Tag.SIGN, value, join=True)
    for row in words["describing"]:
        for name in row["names"]:
            add(name, Tag.DESCRIBING, _describing(row))
    _add_plain(words, sites, history, add)
    if problems:
        raise InputError(problems)
    by_name = {value.name: value for _, value in _sign_words(signs["sign"], (), problems)}
    return Lexicon(
        tree=tree,
        silent=silent,
        inside=_inside(words, silent),
        slips=slips,
        scales={tuple(row["levels"]): _scale(row) for row in _load("scales")["scale"]},
        whole=tuple(signs["whole"]["normal"]),
        more_exact={sign: tuple(levels) for sign, levels in signs["more_exact"].items()},
        same_thing=tuple(frozenset(each) for each in signs["same_thing"].values()),
        nowhere=tuple(sites["nowhere"]["signs"]),
        wide_sites={side: tuple(each) for side, each in sites["wide"].items()},
        stress=by_name["stress"],
        ligaments=by_name["ligaments"],
        end_point=by_name["end point"],
        range=by_name["range"],
        words=frozenset(_names(tree)),
    )


_SAYS_ITSELF = frozenset({"intact", "stable", "normal"})


def _load(name: str) -> dict[str, Any]:
    return tomllib.loads(files("fabella.dictation").joinpath("data", f"{name}.toml").read_text("utf-8"))


def _inside(words: Mapping[str, Any], silent: frozenset[str]) -> frozenset[str]:
    """Return the single words of degree, and "not", that may stand inside a name."""
    degrees = [
        name for row in words["describing"] if "degree" in row for name in row["names"] if " " not in name
    ]
    return frozenset(stem(word) for word in [*degrees, "not"]) - silent


def _slips(raw: Mapping[str, Sequence[str]]) -> dict[tuple[str, ...], tuple[str, ...]]:
    meant = {right: tuple(stem(word) for word in right.split("_")) for right in raw}
    return {
        tuple(word.stem for word in split(slip)): meant[right]
        for right, slips in raw.items()
        for slip in slips
    }


def _respelt(
    stems: tuple[str, ...], slips: Mapping[tuple[str, ...], tuple[str, ...]], silent: frozenset[str]
) -> tuple[str, ...]:
    said = [part for each in stems for part in slips.get((each,), (each,))]
    return tuple(each for each in said if each not in silent) or tuple(said)


def _sign_words(
    rows: Iterable[Mapping[str, Any]], said: Iterable[Mapping[str, Any]], problems: list[Problem]
) -> list[tuple[list[str], SignWord]]:
    known = set(SignWord.__slots__) | {"names"}
    found = []
    for row in (*rows, *said):
        for key in row.keys() - known:
            problems.append(
                Problem(place=row["names"][0], value=key, says="is no field", remedy=suggestion(key, known))
            )
        given = {key: _frozen(value) for key, value in row.items() if key in known and key != "names"}
        given["kind"] = Class(row.get("kind", "illness"))
        found.append((row["names"], SignWord(name=row["names"][0], **given)))
    return found


def _frozen(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(value)
    if isinstance(value, dict):
        return {key: tuple(each) if isinstance(each, list) else each for key, each in value.items()}
    return value


def _check(entry: SignWord, protocol: Protocol, problems: list[Problem]) -> None:
    for each in sorted(entry.signs):
        if each not in protocol:
            remedy = " or ".join(protocol.nearest(each))
            problems.append(Problem(place=entry.name, value=each, says="is no sign", remedy=remedy))
    if len(entry.to) == 1 and entry.to[0] in protocol:
        levels = [level.id for level in protocol.sign(entry.to[0]).scale.levels]
        said = {level for level in entry.words.values() if level not in {"normal", "abnormal", ""}}
        for level in sorted({*said, *filter(None, [entry.level])} - set(levels)):
            problems.append(
                Problem(place=entry.name, value=level, says="is no level", remedy=", ".join(levels))
            )


def _of_protocol(protocol: Protocol, built: frozenset[str]) -> Iterable[tuple[str, SignWord]]:
    """Yield every name that the protocol itself gives its signs."""
    for sign in protocol.signs:
        if sign.kind is Kind.COURTESY or sign.id in built:
            continue
        kind = Class.TEST if sign.kind is Kind.TEST else Class.ILLNESS if sign.scale.levels else Class.HEALTH
        for name in (sign.id.replace("_", " "), sign.name, *sign.aliases):
            if _SAYS_ITSELF.intersection(name.split()):
                continue  # "ligaments stable" is a sign and what is said of it
            yield name, SignWord(name=sign.id, to=(sign.id,), kind=kind)


def _describing(row: Mapping[str, Any]) -> Describing:
    given = {key: _frozen(value) for key, value in row.items() if key != "names"}
    return Describing(key=row["names"][0], **given)


def _scale(row: Mapping[str, Any]) -> dict[str, str]:
    return {key: value for key, value in row.items() if key != "levels"}


def _add_plain(
    words: Mapping[str, Any], sites: Mapping[str, Any], history: Mapping[str, Any], add: Any
) -> None:
    """Add every list of names that stands under the word which it means."""
    for word in (*words["silent"], *words["filler"]):
        add(word, Tag.SILENT, "")
    groups = (
        (words["side"], Tag.SIDE), (words["mark"], Tag.MARK), (words["reason"], Tag.REASON),
        (words["compartment"], Tag.COMPARTMENT), (words["bow"], Tag.BOW), (words["angle"], Tag.ANGLE),
        (words["unit"], Tag.UNIT), (sites["sites"], Tag.SITE),
    )  # fmt: skip
    for group, tag in groups:
        for value, names in group.items():
            for name in names:
                add(name, tag, (float(value),) if tag is Tag.ANGLE else value)
    for name in words["no_unit"]["names"]:
        add(name, Tag.NO_UNIT, name)
    for name in sites["bony"]["names"]:
        add(name, Tag.SITE, sites["bony"]["sign"])
    for fact in ("sex", "mechanism", "yesterday"):
        for value, names in history[fact].items():
            for name in names:
                add(name, Tag.PERSON, (fact, value))
    for fact in ("complaint", "age", "ago", "within"):
        for name in history[fact]["names"]:
            add(name, Tag.PERSON, (fact, ""))
    for name in history["age"]["before"]:
        add(name, Tag.PERSON, ("aged", ""))


def _names(node: Node, so_far: str = "") -> Iterable[str]:
    for each, below in node.follows.items():
        name = f"{so_far} {each}".strip()
        if below.meanings:
            yield name
        yield from _names(below, name)
