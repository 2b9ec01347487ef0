"""What the standard itself says of a document: its schema, its value sets, its invariants, as data.

Cut from the definitions of HL7 FHIR R4 (4.0.1) by `take_standard`. The schema is applied by an independent
validator of JSON Schema; invariants are applied in our reading of them, which stands beside their words.
"""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator, validators

Tree = dict[str, Any]

DEFINITIONS = Path(__file__).parent / "definitions"
UCUM = "http://unitsofmeasure.org"
_DIV = "{http://www.w3.org/1999/xhtml}div"
_BASIC = frozenset(
    {"div", "p", "b", "br", "ul", "li", "table", "caption", "thead", "tbody", "tr", "th", "td"}
)


@cache
def taken(name: str) -> Any:
    """One of the files cut from the standard."""
    return json.loads((DEFINITIONS / f"{name}.json").read_text("utf-8"))


@cache
def validator(kind: str) -> Any:
    """A validator for one kind of resource; the resources in a Bundle are judged each by its own."""
    whole = taken("schema")
    definitions = {**whole["definitions"], "ResourceList": {"type": "object"}}
    tree = {"$schema": whole["$schema"], "definitions": definitions, "$ref": f"#/definitions/{kind}"}
    return validators.validator_for(tree, default=Draft202012Validator)(tree)


def faults(document: Tree) -> list[str]:
    """Everything that the standard has against a Bundle and its resources."""
    return [fault for resource in (document, *resources(document)) for fault in _faults(resource, document)]


def resources(document: Tree, kind: str = "") -> list[Tree]:
    """The resources of a Bundle, of one kind or all."""
    every = [entry["resource"] for entry in document["entry"]]
    return [each for each in every if kind in {"", each["resourceType"]}]


def parts(tree: Any) -> Iterator[Tree]:
    """Every object within a tree, itself included, without the resources that stand in a Bundle."""
    if isinstance(tree, dict):
        yield tree
        for name, each in tree.items():
            if name != "resource":
                yield from parts(each)
    elif isinstance(tree, list):
        for each in tree:
            yield from parts(each)


def references(tree: Any) -> list[str]:
    """Every reference within a tree."""
    return [part["reference"] for part in parts(tree) if "reference" in part]


def codes(system: str) -> dict[str, str]:
    """Code and display of a system in the value sets of the standard."""
    sets = (each for each in taken("value_sets").values() if isinstance(each, list))
    rows = (row for each in sets for row in each if row["system"] == system)
    return {row["code"]: row.get("display", "") for row in rows}


def _faults(resource: Tree, document: Tree) -> Iterator[str]:
    kind = resource["resourceType"]
    where = f"{kind}/{resource.get('id')}"
    for error in validator(kind).iter_errors(resource):
        yield f"{where} {error.json_path}: {error.message[:200]}"
    for rule in taken("invariants")[kind]:
        if (holds := INVARIANTS[rule["key"]]) is not None and not holds(resource, document):
            yield f"{where}: {rule['key']} {rule['human']}"
    for part in parts(resource):
        if "div" in part:
            yield from (f"{where}: {fault}" for fault in narrative_faults(part["div"]))
        if part.get("system") == UCUM and part["code"] not in {*codes(UCUM), "{steps}/min", "{score}"}:
            yield f"{where}: unit {part['code']}"
    for name, value_set in REQUIRED.get(kind, {}).items():
        allowed = {(row["system"], row["code"]) for row in taken("value_sets")[value_set]}
        for part in parts(resource.get(name, {})):
            if "coding" in part and not any(
                (row["system"], row["code"]) in allowed for row in part["coding"]
            ):
                yield f"{where}: {name} has no code of {value_set}"


def narrative_faults(div: str) -> Iterator[str]:
    """What is wrong with a narrative: it is one div of XHTML with basic elements, and says something."""
    root = ET.fromstring(div)  # noqa: S314  made here
    if root.tag != _DIV:
        yield f"narrative is {root.tag}"
    if odd := {each.tag.rpartition("}")[2] for each in root.iter()} - _BASIC:
        yield f"narrative has {odd}"
    if not "".join(root.itertext()).strip():
        yield "narrative is empty"


REQUIRED = {
    "Condition": {"clinicalStatus": "condition-clinical", "verificationStatus": "condition-ver-status"},
    "Observation": {"dataAbsentReason": "data-absent-reason"},
}
"""Elements that are coded concepts with a required or extensible binding, whose value set was taken."""

Rule = Callable[[Tree, Tree], bool]


def _each(resource: Tree, *path: str) -> list[Tree]:
    """The objects at a path below a resource."""
    found: list[Any] = [resource]
    for name in path:
        found = [
            part
            for each in found
            for part in (
                each[name] if isinstance(each.get(name), list) else [each[name]] if name in each else []
            )
        ]
    return found


def _value(tree: Tree) -> bool:
    return any(name.startswith("value") for name in tree)


def _coded(concept: Tree) -> set[tuple[str, str]]:
    return {(each["system"], each["code"]) for each in concept.get("coding", ())}


def _distinct(names: list[Any]) -> bool:
    return max(Counter(names).values(), default=1) == 1


def _no(*names: str) -> Rule:
    return lambda resource, _: not set(names) & set(resource)


def _is_document(resource: Tree) -> bool:
    return bool(resource["type"] == "document")


INVARIANTS: dict[str, Rule | None] = {
    "bdl-1": _no("total"),
    "bdl-2": lambda r, _: not any("search" in each for each in r["entry"]),
    "bdl-3": lambda r, _: not any("request" in each for each in r["entry"]),
    "bdl-4": lambda r, _: not any("response" in each for each in r["entry"]),
    "bdl-5": lambda r, _: all("resource" in each for each in r["entry"]),
    "bdl-7": lambda r, _: _distinct([each["fullUrl"] for each in r["entry"]]),
    "bdl-8": lambda r, _: not any("/_history/" in each["fullUrl"] for each in r["entry"]),
    "bdl-9": lambda r, _: not _is_document(r) or {"system", "value"} <= set(r["identifier"]),
    "bdl-10": lambda r, _: not _is_document(r) or "timestamp" in r,
    "bdl-11": lambda r, _: not _is_document(r) or r["entry"][0]["resource"]["resourceType"] == "Composition",
    "bdl-12": lambda r, _: r["type"] != "message",
    "cmp-1": lambda r, _: all({"text", "entry", "section"} & set(each) for each in r["section"]),
    "cmp-2": lambda r, _: not any("emptyReason" in each for each in r["section"]),
    "con-1": _no("stage"),
    "con-2": lambda r, _: all({"code", "detail"} & set(each) for each in r.get("evidence", ())),
    "con-3": lambda r, _: "clinicalStatus" in r,
    "con-4": _no("abatementDateTime", "abatementAge", "abatementPeriod", "abatementRange", "abatementString"),
    "con-5": lambda r, _: all(
        each["code"] != "entered-in-error" for each in r["verificationStatus"]["coding"]
    ),
    "csd-0": lambda r, _: r["name"].isalnum() and r["name"][0].isupper(),
    "csd-1": lambda r, _: _distinct([each["code"] for each in parts(r["concept"])]),
    "dom-2": _no("contained"),
    "dom-3": _no("contained"),
    "dom-4": _no("contained"),
    "dom-5": _no("contained"),
    "obs-3": lambda r, _: all({"low", "high", "text"} & set(each) for each in _each(r, "referenceRange")),
    "obs-6": lambda r, _: not ("dataAbsentReason" in r and _value(r)),
    "obs-7": lambda r, _: (
        not _value(r) or all(not _coded(each["code"]) & _coded(r["code"]) for each in _each(r, "component"))
    ),
    "pat-1": _no("contact"),
    "ras-1": lambda r, _: not any("probabilityRange" in each for each in r["prediction"]),
    "ras-2": lambda r, _: all(0 <= each["probabilityDecimal"] <= 100 for each in r["prediction"]),
}
"""Each invariant of the standard as it is read here; all of them are read."""
