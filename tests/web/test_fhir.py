"""A visit handed to other programs: as a draft, as signed, as amended; by the standard, and in the trail."""

from __future__ import annotations

import base64
import json
from typing import Any

import pytest
from django.test import Client

from fabella.store.clinic.models import Signature, Trace, Visit
from tests.fhir.standard import Tree, faults, resources
from tests.web.test_papers import say, sign


def taken(client: Client, address: str) -> Tree:
    """The document at an address: of its own kind, to be saved, and without a fault."""
    answer = client.get(address)
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "application/fhir+json")
    assert answer.headers["Content-Disposition"].endswith('.fhir.json"')
    tree: Tree = json.loads(answer.content)
    assert faults(tree) == []
    return tree


def page_of(tree: Tree) -> Any:
    """The Composition."""
    return tree["entry"][0]["resource"]


def test_a_draft_says_that_nobody_has_signed_it(client: Client, visit: str) -> None:
    """It is preliminary in code and in words, linked from visit and letter, and one line of the trail."""
    address = f"{visit}not-signed.fhir.json"
    for page in (visit, f"{visit}letter/"):
        assert address in client.get(page).content.decode()
    tree = taken(client, address)
    assert page_of(tree)["status"] == "preliminary"
    assert "Not signed yet: may still change." in page_of(tree)["text"]["div"]
    last = Trace.objects.order_by("number").last()
    assert last is not None
    assert (last.action, json.loads(last.detail)) == ("took", {"what": "FHIR document, not signed"})


def test_what_was_signed_is_sent_as_it_was_signed(client: Client, visit: str) -> None:
    """Final, with the patient's number, the signer, the kept PDF; the same bytes whenever it is taken."""
    say(client, f"{visit}letter/", "plan-next", "Scan on Friday.")
    sign(client, visit)
    address = f"{visit}signed/1/signed.fhir.json"
    assert address in client.get(visit).content.decode()
    assert address in client.get(f"{visit}signed/1/").content.decode()
    tree = taken(client, address)
    signature, whose = Signature.objects.get(), Visit.objects.get().patient
    (report,), (patient,) = resources(tree, "DiagnosticReport"), resources(tree, "Patient")
    assert page_of(tree)["status"] == "final"
    assert "Scan on Friday." in json.dumps(page_of(tree)["section"])
    assert base64.b64decode(report["presentedForm"][0]["data"]).startswith(b"%PDF-")
    assert patient["identifier"] == [{"value": whose.number}]
    assert patient["name"] == [{"text": whose.label}]
    assert {"text": signature.shown} in [each["name"][0] for each in resources(tree, "Practitioner")]
    assert resources(tree, "Condition")
    assert client.get(address).content == client.get(address).content
    assert client.get(f"{visit}not-signed.fhir.json").headers["Location"] == address


def test_an_amendment_replaces_what_was_signed_before(client: Client, visit: str) -> None:
    """Both stay readable; the second names the first, and shares its patient and its letter's identity."""
    sign(client, visit)
    client.post(f"{visit}amend/", {"reason": "Wrong side"})
    sign(client, visit)
    first, second = (taken(client, f"{visit}signed/{number}/signed.fhir.json") for number in (1, 2))
    assert (page_of(first)["status"], page_of(second)["status"]) == ("final", "amended")
    assert page_of(second)["relatesTo"][0]["targetIdentifier"] == first["identifier"]
    assert page_of(first)["identifier"] == page_of(second)["identifier"]
    assert resources(first, "Patient")[0]["id"] == resources(second, "Patient")[0]["id"]


def test_a_conclusion_in_the_signers_words_is_not_coded_otherwise(client: Client, visit: str) -> None:
    """Where the signer wrote their own words about a knee, no lesion of that knee is coded in their name."""
    before = taken(client, f"{visit}not-signed.fhir.json")
    sides = {each["bodySite"][0]["text"] for each in resources(before, "Condition")}
    assert "Right knee" in sides
    (lesion, *_) = (
        each["code"]["coding"][0]["code"]
        for each in resources(before, "Condition")
        if each["bodySite"][0]["text"] == "Right knee"
    )
    say(client, f"{visit}letter/", f"conclusion-right-{lesion}", "I am not convinced.")
    sign(client, visit)
    tree = taken(client, f"{visit}signed/1/signed.fhir.json")
    assert {each["bodySite"][0]["text"] for each in resources(tree, "Condition")} == sides - {"Right knee"}
    assert "I am not convinced." in json.dumps(resources(tree, "ClinicalImpression"))


def test_another_program_codes_nothing_in_the_signers_name(client: Client, visit: str) -> None:
    """What an earlier version signed is sent in its words; the numbers are this program's, and said to be."""
    sign(client, visit)
    address = f"{visit}signed/1/signed.fhir.json"
    assert resources(taken(client, address), "Condition")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("fabella.__version__", "9.9.9")
        assert resources(taken(client, address), "Condition") == []


def test_the_page_that_is_not_there_is_told(client: Client, visit: str) -> None:
    """A signature that was never made has no document."""
    answer = client.get(f"{visit}signed/1/signed.fhir.json")
    assert answer.status_code == 404
    assert "not signed so often" in answer.content.decode()
