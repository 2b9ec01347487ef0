"""Whose a document is: draft, signed or amended, by whom, of which patient, real or not."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from fabella.errors import InputError
from fabella.fhir import Identity, Signed
from fabella.record import Origin
from tests.fhir.made import HANDBALL, ICE, WHEN, document, example
from tests.fhir.standard import Tree, faults, resources

SIGNED = Signed(by="Dr A. Madeup", at=WHEN)


def only(tree: Tree, kind: str) -> Tree:
    """The one resource of a kind."""
    (found,) = resources(tree, kind)
    return found


def test_nothing_is_final_before_it_is_signed() -> None:
    """An unsigned document is preliminary throughout, and the program its author; signing makes it final."""
    open_, closed = document(example(HANDBALL)), document(example(HANDBALL), signed=SIGNED)
    kinds = ("Composition", "DiagnosticReport", "Observation", "RiskAssessment")
    for tree, status in ((open_, "preliminary"), (closed, "final")):
        assert {each["status"] for kind in kinds for each in resources(tree, kind)} == {status}
    assert {each["status"] for each in resources(open_, "ClinicalImpression")} == {"in-progress"}
    assert "attester" not in only(open_, "Composition")
    attested = only(closed, "Composition")["attester"]
    assert [(each["mode"], each["time"]) for each in attested] == [("professional", "2026-02-03T14:05:00Z")]


def test_an_amendment_takes_the_place_of_what_was_signed_before() -> None:
    """The letter keeps its identity, and the new document names the one that it replaces."""
    later = datetime(2026, 2, 5, 9, 0, tzinfo=UTC)
    first = document(example(HANDBALL), signed=SIGNED)
    second = document(example(HANDBALL), when=later, signed=Signed(by="Dr A. Madeup", at=later, number=2))
    one, two = only(first, "Composition"), only(second, "Composition")
    assert (one["status"], two["status"]) == ("final", "amended")
    assert one["identifier"] == two["identifier"]
    assert first["identifier"] != second["identifier"]
    assert two["relatesTo"] == [{"code": "replaces", "targetIdentifier": first["identifier"]}]
    assert faults(second) == []
    drafts = [document(example(HANDBALL), when=when)["identifier"] for when in (WHEN, later)]
    assert drafts[0] != drafts[1]


def test_two_places_that_number_alike_share_no_id() -> None:
    """The issuer goes into every id; of one patient's number it makes the same patient at every visit."""
    known = Identity(number="K-17", label="Fay Bookend", birth_date=date(2003, 4, 5))
    workup = example(HANDBALL)
    here, there = (document(workup, identity=known, issuer=each) for each in ("Ward 1", "Ward 2"))
    assert not {each["id"] for each in resources(here)} & {each["id"] for each in resources(there)}
    again = document(example(ICE), identity=known, issuer="Ward 1")
    assert only(again, "Patient")["id"] == only(here, "Patient")["id"]
    patient = only(here, "Patient")
    assert patient["identifier"] == [{"value": "K-17"}]
    assert (patient["name"], patient["birthDate"]) == ([{"text": "Fay Bookend"}], "2003-04-05")


def test_whoever_is_no_patient_is_labelled_as_test_data_in_every_resource() -> None:
    """A receiver may keep a resource alone; a real patient's has no such label, unless it is for practice."""
    workup = example(HANDBALL)
    real = replace(workup, examination=replace(workup.examination, origin=Origin.PATIENT))
    for tree, labelled in (
        (document(workup), True),
        (document(real), False),
        (document(real, practice=True), True),
    ):
        assert {"HTEST" in json.dumps(each.get("meta", {})) for each in resources(tree)} == {labelled}


def test_a_moment_without_a_time_zone_is_refused() -> None:
    """Both moments are named at once."""
    naive = datetime(2026, 2, 3, 14, 5)  # noqa: DTZ001  that is what is refused
    with pytest.raises(InputError) as refused:
        document(example(HANDBALL), when=naive, signed=Signed(by="Dr A. Madeup", at=naive))
    assert [each.place for each in refused.value.problems] == ["when", "signed.at"]
