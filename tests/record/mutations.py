"""Slips of every kind, made in a valid examination: what a careless program or a tired typist would write."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import Any

from fabella.protocol import Protocol

_ODD: list[Any] = [
    *(None, True, False, 0, 1, -1, 3.5, 400, 1e6, -1e-9, 2**70),
    *("", " ", "0", "1+", "yes", "no", "none", "deg", "mm", "cm", "both", "left", "right", "positive", "ä\n"),
    *(
        "normal",
        "abnormal",
        "untestable",
        "not_examined",
        "pain",
        "published",
        "patient",
        "2025-02-30",
        "2031-01-01",
    ),
    *([], {}, ["left"], ["left", "left"], [None], {"sign": "lachman"}, [[]]),
]
_KEYS = (
    "format",
    "id",
    "origin",
    "source",
    "side",
    "state",
    "level",
    "value",
    "unit",
    "reason",
    "note",
    "Sign",
    "x",
)


def mutated(tree: dict[str, Any], protocol: Protocol, dice: Random) -> dict[str, Any]:
    """Return a copy of a document with one to three slips in it, some of which may do no harm."""
    copy: dict[str, Any] = _copied(tree)
    for _ in range(dice.choice([1, 1, 1, 2, 3])):
        dice.choice([_replace, _replace, _remove, _add, _rename, _move, _repeat])(copy, protocol, dice)
    return copy


def _odd(dice: Random) -> Any:
    """Return an odd value, a container of its own: a later slip may be made inside it."""
    return _copied(dice.choice(_ODD))


def _replace(tree: dict[str, Any], protocol: Protocol, dice: Random) -> None:
    """Put something else in one place, either odd or right for another sign."""
    container, key = dice.choice(list(_places(tree)))
    sign = dice.choice(protocol.signs)
    levels = [level.id for level in sign.scale.levels]
    measure = sign.scale.measure
    fitting = [sign.id, *levels, *([measure.unit.value, measure.low, measure.high] if measure else [])]
    container[key] = dice.choice([_odd(dice), dice.choice(fitting)])


def _remove(tree: dict[str, Any], _: Protocol, dice: Random) -> None:
    container, key = dice.choice(list(_places(tree)))
    del container[key]


def _add(tree: dict[str, Any], protocol: Protocol, dice: Random) -> None:
    objects = [tree, *(each for each in _values(tree) if isinstance(each, dict))]
    key = dice.choice([dice.choice(_KEYS), dice.choice(protocol.signs).id])
    dice.choice(objects)[key] = _odd(dice)


def _rename(tree: dict[str, Any], _: Protocol, dice: Random) -> None:
    container, key = dice.choice(list(_places(tree)))
    if isinstance(container, dict):
        container[dice.choice([f"{key}s", key.upper(), dice.choice(_KEYS)])] = container.pop(key)


def _move(tree: dict[str, Any], _: Protocol, dice: Random) -> None:
    """Let two places change what they hold."""
    (one, first), (other, second) = (dice.choice(list(_places(tree))) for _ in range(2))
    if not _within(one[first], other) and not _within(other[second], one):
        one[first], other[second] = other[second], one[first]


def _repeat(tree: dict[str, Any], _: Protocol, dice: Random) -> None:
    """State one finding a second time, perhaps on the other side."""
    findings = tree.get("findings")
    if isinstance(findings, list) and findings:
        again = _copied(dice.choice(findings))
        if isinstance(again, dict) and dice.random() < 0.5:
            again["side"] = dice.choice(["left", "right"])
        findings.append(again)


def _places(tree: Any) -> Iterator[tuple[Any, Any]]:
    """Yield every place of a document as its container and its key or index."""
    inside = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in list(inside):
        yield tree, key
        yield from _places(value)


def _values(tree: Any) -> Iterator[Any]:
    return (container[key] for container, key in _places(tree))


def _within(part: Any, whole: Any) -> bool:
    return part is whole or any(each is whole for each in _values(part))


def _copied(tree: Any) -> Any:
    if isinstance(tree, dict):
        return {key: _copied(each) for key, each in tree.items()}
    return [_copied(each) for each in tree] if isinstance(tree, list) else tree
