"""Reading the lexicon: every name from the data files and the protocol, checked, as one tree of stems."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from importlib.resources import files
from typing import Any

from fabella.dictation.nobody import COMPLAINT, NOBODY, OCCASION
from fabella.dictation.vocabulary import Class, Describing, Lexicon, LumpWord, Meaning, Node, SignWord, Tag
from fabella.dictation.words import split, stem
from fabella.errors import Problem, Problems, suggestion
from fabella.protocol import Kind, Protocol


class _Tree:
    """The tree of names while it grows, and the names that were claimed twice."""

    def __init__(
        self,
        slips: Mapping[tuple[str, ...], tuple[str, ...]],
        silent: frozenset[str],
        problems: Problems,
    ) -> None:
        self.root = Node()
        self._slips, self._silent, self._problems = slips, silent, problems

    def add(self, names: Iterable[str], tag: Tag, value: Any, *, join: bool = False) -> None:
        """Add names of one meaning; a name that has another already keeps it if they only ``join``."""
        for name in names:
            node = self.root
            for each in _respelt(tuple(word.stem for word in split(name)), self._slips, self._silent):
                if each != "-" or node is self.root:  # a hyphen inside a name is skipped in the text as well
                    node = node.follows.setdefault(each, Node())
            known = next((meaning.value for meaning in node.meanings if meaning.tag is tag), None)
            if known is None:
                node.meanings = (*node.meanings, Meaning(tag, value))
            elif not join and known != value:
                problem = Problem(place=tag.value, value=name, says="is named twice", remedy="keep one")
                self._problems.append(problem)


def load_lexicon(protocol: Protocol) -> Lexicon:
    """Read the data files and join the names of the protocol to them.

    Raises `InputError` listing every sign, level and kind that the protocol or this room does not know, and
    every name that means two things at once.
    """
    words, signs, sites, history = (_load(name) for name in ("words", "signs", "sites", "history"))
    problems = Problems()
    slips, silent = _slips(words["slips"]), frozenset(stem(word) for word in words["silent"])
    tree = _Tree(slips, silent, problems)
    by_name: dict[str, SignWord] = {}
    for names, entry in _sign_words((*signs["sign"], *history["said"]), problems):
        by_name[entry.name] = entry
        _check(entry, protocol, problems)
        tree.add(names, Tag.SIGN, entry)
    for name, value in _of_protocol(protocol, frozenset(signs["built"]["signs"])):
        tree.add([name], Tag.SIGN, value, join=True)
    _add_words(words, tree)
    _add_sites_and_history(sites, history, tree)
    _add_lumps(_load("lumps"), tree)
    problems.raise_any()
    return Lexicon(
        tree=tree.root,
        silent=silent,
        inside=_inside(words, silent),
        slips=slips,
        scales={tuple(row["levels"]): _scale(row) for row in _load("scales")["scale"]},
        whole=tuple(signs["whole"]["normal"]),
        whole_ligaments=tuple(signs["whole"]["ligaments"]),
        otherwise_stable=tuple(signs["whole"]["otherwise_stable"]),
        more_exact={sign: tuple(levels) for sign, levels in signs["more_exact"].items()},
        same_thing=tuple(frozenset(each) for each in signs["same_thing"].values()),
        nowhere=tuple(sites["nowhere"]["signs"]),
        wide_sites={side: tuple(each) for side, each in sites["wide"].items()},
        stress=by_name["stress"],
        ligaments=by_name["ligaments"],
        end_point=by_name["end point"],
        range=by_name["range"],
        thigh_girth=by_name["thigh girth"],
        words=frozenset(_names(tree.root)),
    )


_OFFERED = {Tag.SIGN, Tag.SITE, Tag.DESCRIBING, Tag.SIDE, Tag.BOW, Tag.COMPARTMENT}
_SAYS_ITSELF = frozenset({"intact", "stable", "normal"})
_A_PLACE = "back knee"
"""Said of recurvatum; "the back of the knee" sounds the same and is a place."""


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


def _sign_words(rows: Iterable[Mapping[str, Any]], problems: Problems) -> list[tuple[list[str], SignWord]]:
    known = set(SignWord.__slots__) | {"names"}
    found = []
    for row in rows:
        for key in row.keys() - known:
            problems.add(row["names"][0], key, "is no field", suggestion(key, known))
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


def _check(entry: SignWord, protocol: Protocol, problems: Problems) -> None:
    for each in sorted(entry.signs):
        if each not in protocol:
            problems.add(entry.name, each, "is no sign", " or ".join(protocol.nearest(each)))
    if len(entry.to) == 1 and entry.to[0] in protocol:
        levels = [level.id for level in protocol.sign(entry.to[0]).scale.levels]
        said = {level for level in entry.words.values() if level not in {"normal", "abnormal", ""}}
        for level in sorted({*said, *filter(None, [entry.level])} - set(levels)):
            problems.add(entry.name, level, "is no level", ", ".join(levels))


def _of_protocol(protocol: Protocol, built: frozenset[str]) -> Iterable[tuple[str, SignWord]]:
    """Yield every name that the protocol itself gives its signs."""
    for sign in protocol.signs:
        if sign.kind is Kind.COURTESY or sign.id in built:
            continue
        kind = Class.TEST if sign.kind is Kind.TEST else Class.ILLNESS if sign.scale.levels else Class.HEALTH
        for name in (sign.id.replace("_", " "), sign.name, *sign.aliases):
            if _SAYS_ITSELF.intersection(name.split()) or name == _A_PLACE:
                continue  # "ligaments stable" is a sign and what is said of it
            yield name, SignWord(name=sign.id, to=(sign.id,), kind=kind)


def _describing(row: Mapping[str, Any]) -> Describing:
    given = {key: _frozen(value) for key, value in row.items() if key != "names"}
    return Describing(key=row["names"][0], **given)


def _scale(row: Mapping[str, Any]) -> dict[str, str]:
    return {key: value for key, value in row.items() if key != "levels"}


def _add_words(words: Mapping[str, Any], tree: _Tree) -> None:
    """Add every list of names that stands under the word which it means."""
    tree.add((*words["silent"], *words["filler"]), Tag.SILENT, "")
    for row in words["describing"]:
        tree.add(row["names"], Tag.DESCRIBING, _describing(row))
    for tag in (Tag.SIDE, Tag.MARK, Tag.REASON, Tag.COMPARTMENT, Tag.BOW, Tag.UNIT):
        for value, names in words[tag.value].items():
            tree.add(names, tag, value)
    for bends, names in words["angle"].items():
        tree.add(names, Tag.ANGLE, tuple(map(float, bends.split())))
    for name in words["no_unit"]["names"]:
        tree.add([name], Tag.NO_UNIT, name)


_BESIDES = {"no": (Tag.MARK, "no"), "sound": (Tag.SIDE, "sound")}


def _add_sites_and_history(sites: Mapping[str, Any], history: Mapping[str, Any], tree: _Tree) -> None:
    for signs, names in sites["sites"].items():
        tree.add(names, Tag.SITE, signs)
    tree.add(sites["bony"]["names"], Tag.SITE, sites["bony"]["sign"])
    for fact in ("sex", "mechanism", "yesterday"):
        for value, names in history[fact].items():
            tree.add(names, Tag.PERSON, (fact, value))
    tree.add(history["complaint"]["names"], Tag.PERSON, COMPLAINT)
    tree.add(history["occasion"]["names"], Tag.PERSON, (OCCASION, ""))
    for says, names in history["nobody"].items():
        tree.add(names, Tag.PERSON, NOBODY)
        tree.add(names, *_BESIDES[says])


def _add_lumps(lumps: Mapping[str, Any], tree: _Tree) -> None:
    """Add what is said of a lump alone."""
    for row in lumps["feel"]:
        word = LumpWord(kind="feel", says=row["says"], denied=row.get("denied", ""))
        tree.add(row["names"], Tag.LUMP, word)
        tree.add((f"{name} {each}" for name in row["names"] for each in row.get("onto", ())), Tag.LUMP, word)
    for kind in ("beat", "plain", "label", "place", "beside"):
        tree.add(lumps[kind]["names"], Tag.LUMP, LumpWord(kind=kind))


def _names(node: Node, so_far: str = "") -> Iterable[str]:
    """Yield every name that may be offered for an unknown word: signs, what is said of them, sides."""
    for each, below in node.follows.items():
        name = f"{so_far} {each}".strip()
        if any(meaning.tag in _OFFERED for meaning in below.meanings):
            yield name
        yield from _names(below, name)
