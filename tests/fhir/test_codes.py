"""Codes: those of open systems against the standard's value sets, ours against every document."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fabella.fhir import as_json, code_systems
from fabella.fhir.codes import OpenCode, load_codes
from fabella.protocol import Kind, Unit
from tests.fhir.made import EXAMPLES, PROTOCOL, document, example
from tests.fhir.standard import Tree, codes, faults, parts, resources

NOT_IN_THE_FILES = {
    ("http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation", "N"): "Normal",
    ("http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation", "A"): "Abnormal",
    ("http://terminology.hl7.org/CodeSystem/v3-ActReason", "HTEST"): "test health data",
}
"""Codes of two HL7 v3 systems, whose tables the standard prints on pages of their own."""

WITHOUT_DISPLAY = {
    "8310-5": "Body temperature",
    "39156-5": "Body mass index (BMI) [Ratio]",
    "8867-4": "Heart rate",
    "9279-1": "Respiratory rate",
    "8480-6": "Systolic blood pressure",
    "2708-6": "Oxygen saturation in Arterial blood",
}
"""The value set of vital signs lists codes alone; these are the names that LOINC gives them."""


def ours() -> dict[tuple[str, str], str]:
    """Every code of our systems with its display, as a receiver would look it up."""
    return {
        (system["url"], each["code"]): each["display"]
        for system in resources(code_systems(), "CodeSystem")
        for each in parts(system["concept"])
    }


@pytest.mark.parametrize("row", load_codes().open.values(), ids=lambda row: row.id)
def test_open_codes_are_those_of_the_standard(row: OpenCode) -> None:
    """System, code and display of each are printed in a value set of R4, or in the table named above."""
    printed = {
        **codes(row.system),
        **{key[1]: name for key, name in NOT_IN_THE_FILES.items() if key[0] == row.system},
    }
    assert row.code in printed
    assert row.display == (printed[row.code] or WITHOUT_DISPLAY[row.code])
    assert row.source.startswith("HL7 FHIR R4 (4.0.1)")


def test_units_are_those_of_the_unified_code() -> None:
    """Every unit of the protocol has a code that R4 lists, but for two with an annotation in braces."""
    ucum = load_codes().ucum
    assert {unit.value for unit in Unit} <= set(ucum)
    assert set(ucum.values()) - set(codes("http://unitsofmeasure.org")) == {"{steps}/min", "{score}"}


def test_our_code_systems_are_resources_of_the_standard() -> None:
    """They pass the same schema and invariants as documents, and have no code twice."""
    tree: Tree = json.loads(as_json(code_systems()))
    assert faults(tree) == []
    counted = {each["name"]: each["count"] for each in resources(tree)}
    assert counted == {each["name"]: len(list(parts(each["concept"]))) for each in resources(tree)}


def test_whatever_may_be_found_has_a_code() -> None:
    """Every sign and question of the protocol stands in them, with each of its levels; courtesies do not."""
    system = load_codes().own["finding"].uri
    listed = {code for where, code in ours() if where == system}
    sent = [sign for sign in PROTOCOL.signs if sign.kind is not Kind.COURTESY]
    levels = {f"{sign.id}/{level.id}" for sign in sent for level in sign.scale.levels}
    assert listed == {sign.id for sign in sent} | levels


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_code_in_a_document_can_be_looked_up(path: Path) -> None:
    """Each coding is one of the open codes, or stands in our systems with the same display."""
    known = ours() | {(each.system, each.code): each.display for each in load_codes().open.values()}
    codings = [
        part
        for resource in resources(document(example(path)))
        for part in parts(resource)
        if {"system", "code", "display"} <= set(part)
    ]
    assert len(codings) > 50
    assert [each for each in codings if known.get((each["system"], each["code"])) != each["display"]] == []
