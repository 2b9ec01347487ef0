"""Everything that may be found, as one tree that a browser keeps: what to draw, to offer and to send."""

from __future__ import annotations

import gzip
import json
from functools import cache
from hashlib import sha256
from typing import Any

from fabella.measure import VIEWS
from fabella.packaged import packaged_table
from fabella.protocol import Kind, Position, Protocol, Scale, Sign, load_protocol
from fabella.record import places_marked_normal
from fabella.record.finding import Reason
from fabella.report.wording import ways
from fabella.stats.written import spaced
from fabella.web.bedside.images import images_tree, lesions_tree

_Tree = dict[str, Any]

KINDS = {
    Kind.LOOK: "Look",
    Kind.FEEL: "Feel",
    Kind.MOVE: "Move",
    Kind.TEST: "Test",
    Kind.GENERAL: "The whole person",
}


@cache
def bedside_text() -> bytes:
    """Return the tree as JSON, the same for everybody as long as the program is the same."""
    tree = bedside_tree(load_protocol())
    return json.dumps(tree, ensure_ascii=False, separators=(",", ":")).encode()


@cache
def bedside_text_packed() -> bytes:
    """Return the same packed with gzip, always alike."""
    return gzip.compress(bedside_text(), mtime=0)


@cache
def bedside_digest() -> str:
    """Return what tells one state of the tree from another, for its address."""
    return sha256(bedside_text()).hexdigest()[:12]


def bedside_tree(protocol: Protocol) -> _Tree:
    """Return positions with their signs, in the order of the examination."""
    return {
        "positions": [_position(each, protocol) for each in protocol.positions],
        "kinds": {kind.value: words for kind, words in KINDS.items()},
        "images": images_tree(),
        "lesions": lesions_tree(),
        "reasons": {each.value: spaced(each.value) for each in Reason},
    }


def _position(position: Position, protocol: Protocol) -> _Tree:
    covered = {sign for sign, _ in places_marked_normal(protocol, position.id)}
    signs = [_sign(each, each.id in covered) for each in protocol.at(position.id)]
    topics, topic = packaged_table("web/bedside/topics.toml").get(position.id, {}), ""
    for each in signs:
        topic = topics.get(each["id"], topic)
        if topic and "routine" not in each:
            each["topic"] = topic
    return {
        "id": position.id,
        "name": position.name,
        "patient": position.patient,
        "signs": [each for each in signs if each["kind"] != Kind.COURTESY],
    }


def _sign(sign: Sign, covered: bool) -> _Tree:  # noqa: FBT001  one of two states of the same thing
    """Return one sign without what is usual: not covered, not of the person, without measure."""
    tree: _Tree = {"id": sign.id, "name": sign.name, "kind": sign.kind.value}
    if sign.aliases:
        tree["also"] = " ".join(sign.aliases)
    if sign.scale.levels:
        tree["levels"] = [[each.id, spaced(each.words)] for each in sign.scale.levels]
    if sign.scale.measure is not None:
        tree["measure"] = _measure(sign, sign.scale)
    for name, holds in (("routine", sign.routine), ("covered", covered), ("person", sign.is_person)):
        if holds:
            tree[name] = True
    if sign.summary_of:
        tree["sums"] = list(sign.summary_of)
    if sign.hurts:
        tree["hurts"] = sign.hurts
    return tree


def _measure(sign: Sign, scale: Scale) -> _Tree:
    measure = scale.measure
    if measure is None:
        raise ValueError(f"{sign.id} is not measured")
    keypads = packaged_table("web/bedside/keypads.toml")
    keypad = keypads["signs"].get(sign.id) or keypads["units"][measure.unit.value]
    tree = {"unit": measure.unit.value, "low": measure.low, "high": measure.high, **keypad}
    if named := ways(sign.id):
        tree["ways"] = list(named)
    if any(sign.id in view.signs for view in VIEWS):
        tree["pictured"] = True
    return tree
