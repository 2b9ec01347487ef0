"""Cuts from the standard's own definitions what the tests hold documents against.

``python -m tests.fhir.take_standard SCHEMA PROFILES VALUE_SETS``, of HL7 FHIR R4 (4.0.1), which is published
CC0: its JSON schema; a folder with its StructureDefinitions, one a file; its value sets, expanded. Nothing is
changed but that descriptions are left out, and everything that concerns resources we do not send.
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
from pathlib import Path
from typing import Any

DEFINITIONS = Path(__file__).parent / "definitions"
SENT = (
    "Bundle", "Composition", "Patient", "Practitioner", "Device", "DiagnosticReport", "ClinicalImpression",
    "RiskAssessment", "Condition", "Observation", "Procedure", "Flag", "Provenance", "CodeSystem",
)  # fmt: skip
VALUE_SETS = (
    "condition-clinical", "condition-ver-status", "condition-category", "observation-category",
    "data-absent-reason", "referencerange-meaning", "flag-category", "provenance-agent-type",
    "observation-vitalsignresult", "c80-doc-typecodes", "ucum-common",
)  # fmt: skip
_DOCUMENT = "Consult note"  # of several thousand types of documents


def schema(whole: dict[str, Any]) -> dict[str, Any]:
    """The definitions of the resources that are sent, and of everything that they are made of."""
    taken: dict[str, Any] = {}
    waiting = list(SENT)
    while waiting:
        name = waiting.pop()
        if name not in taken:
            any_resource = {"oneOf": [{"$ref": f"#/definitions/{each}"} for each in SENT]}
            taken[name] = any_resource if name == "ResourceList" else _bare(whole["definitions"][name])
            waiting += re.findall(r"#/definitions/(\w+)", json.dumps(taken[name]))
    return {"$schema": whole["$schema"], "definitions": dict(sorted(taken.items()))}


def _bare(tree: Any) -> Any:
    if isinstance(tree, dict):
        return {
            name: _bare(each)
            for name, each in tree.items()
            if name != "description" or isinstance(each, dict)
        }
    return [_bare(each) for each in tree] if isinstance(tree, list) else tree


def invariants(folder: Path) -> dict[str, list[dict[str, str]]]:
    """The invariants of each resource, with the path at which each holds; those of every element left out."""
    return {name: list(_invariants(folder / f"{name.lower()}.json")) for name in SENT}


def _invariants(path: Path) -> Any:
    for element in json.loads(path.read_text("utf-8"))["snapshot"]["element"]:
        for rule in element.get("constraint", ()):
            if rule["key"] not in {"ele-1", "ext-1", "dom-6"}:
                kept = {name: rule[name] for name in ("key", "severity", "human", "expression")}
                yield {"path": element["path"], **kept}


def value_sets(whole: dict[str, Any]) -> dict[str, list[dict[str, str]]]:
    """The codes of the value sets that are used, with system and display."""
    taken = {}
    for name in VALUE_SETS:
        systems = whole[f"http://hl7.org/fhir/ValueSet/{name}"]["systems"]
        codes = [
            {"system": system["uri"], **{key: each[key] for key in ("code", "display") if each.get(key)}}
            for system in systems
            for each in system["codes"]
        ]
        if name == "c80-doc-typecodes":
            codes = [each for each in codes if each.get("display") == _DOCUMENT]
        if name == "ucum-common":
            codes = [{"system": each["system"], "code": each["code"]} for each in codes]
        taken[name] = codes
    return taken


def main(schema_file: Path, profiles: Path, value_sets_file: Path) -> None:
    """Write the three files of the folder ``definitions``, each with the hash of what it was cut from."""
    whole = {each: json.loads(each.read_text("utf-8")) for each in (schema_file, value_sets_file)}
    rules = [profiles / f"{name.lower()}.json" for name in SENT]
    for name, tree, sources in (
        ("schema", schema(whole[schema_file]), [schema_file]),
        ("invariants", invariants(profiles), rules),
        ("value_sets", value_sets(whole[value_sets_file]), [value_sets_file]),
    ):
        sha = hashlib.sha256(b"".join(each.read_bytes() for each in sources)).hexdigest()
        told = {"source": "HL7 FHIR R4 (4.0.1), CC0", "sha256": sha, **tree}
        text = json.dumps(told, ensure_ascii=False, indent=1)
        (DEFINITIONS / f"{name}.json").write_text(re.sub(r"\n {3,}", " ", text) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
