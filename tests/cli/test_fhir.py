"""The command that hands an examination over."""

from __future__ import annotations

import base64
import json
from pathlib import Path

import pytest

from tests.cli.running import HANDBALL, ROOT, call, one_line

AT = ("--at", "2026-02-03T14:05+01:00")


def test_it_prints_a_document_and_the_same_again() -> None:
    """A Bundle of type document and nothing else on standard output; at one moment, the same bytes."""
    left = call("fhir", HANDBALL, *AT)
    assert (left.code, left.err) == (0, "")
    assert (left.json["resourceType"], left.json["type"]) == ("Bundle", "document")
    assert left.json["timestamp"] == "2026-02-03T13:05:00Z"
    assert call("fhir", HANDBALL, *AT).out == left.out


def test_a_file_holds_what_is_printed(tmp_path: Path) -> None:
    """With --out the same text goes to a file, and only its name is told."""
    out = tmp_path / "knee.fhir.json"
    left = call("fhir", HANDBALL, *AT, "--out", out)
    assert (left.code, left.out, left.err) == (0, "", f"fabella: wrote {out}\n")
    assert out.read_text("utf-8") == call("fhir", HANDBALL, *AT).out


def test_it_reads_standard_input_and_any_terminal_can_show_it() -> None:
    """A piped file gives the same document; where the stream knows no more than ASCII it is still JSON."""
    piped = call("fhir", "-", *AT, stdin=HANDBALL.read_bytes())
    assert piped.out == call("fhir", HANDBALL, *AT).out
    plain = call("fhir", HANDBALL, *AT, encoding="ascii")
    assert json.loads(plain.out) == piped.json


def test_addressee_issuer_and_pdf_are_taken_over() -> None:
    """The letter names its addressee, the PDF is the letter, and another issuer gives other ids."""
    left = call("fhir", HANDBALL, *AT, "--to", "Dr Made Up", "--pdf", "--issuer", "Ward 1")
    (report,) = (
        entry["resource"]
        for entry in left.json["entry"]
        if entry["resource"]["resourceType"] == "DiagnosticReport"
    )
    assert base64.b64decode(report["presentedForm"][0]["data"]).startswith(b"%PDF-")
    assert "To: Dr Made Up" in left.json["entry"][0]["resource"]["text"]["div"]
    assert left.json["id"] != call("fhir", HANDBALL, *AT).json["id"]


def test_a_simulated_patient_needs_to_be_marked_as_practice() -> None:
    """It is refused in words, and with --practice it is test data in every resource."""
    simulated = call("simulate", "--n", "1", "--seed", "4", "--signs", "lachman").out.encode()
    refused = call("fhir", "-", stdin=simulated)
    assert (refused.code, refused.out) == (1, "")
    assert "--practice" in refused.err
    tree = call("fhir", "-", "--practice", "--json", stdin=simulated).json
    assert all("HTEST" in json.dumps(entry["resource"]["meta"]) for entry in tree["entry"])


def test_every_problem_of_a_file_is_named() -> None:
    """Nothing is written of an examination that is not valid."""
    wrong = one_line(HANDBALL, origin="nobody", examined_on="tomorrow")
    left = call("fhir", "-", stdin=wrong.encode())
    assert (left.code, left.out) == (1, "")
    assert all(name in left.err for name in ("origin", "examined_on"))


def test_the_codes_come_alone() -> None:
    """Five code systems; a file beside them is a slip."""
    left = call("fhir", "--codes")
    assert (left.code, left.err) == (0, "")
    assert {entry["resource"]["resourceType"] for entry in left.json["entry"]} == {"CodeSystem"}
    assert call("fhir", "--codes", HANDBALL).code == 2


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "name an examination file"),
        (("nowhere.json",), "there is no such file"),
        ((HANDBALL, "--at", "2026-02-03T14:05"), "time zone"),
        ((HANDBALL, "--at", "Tuesday"), "time zone"),
        ((HANDBALL, "--out", ROOT / "nowhere" / "a.json"), "cannot write"),
    ],
)
def test_what_is_wrongly_asked_is_said(arguments: tuple[object, ...], says: str) -> None:
    """Exit code 2 and one line."""
    left = call("fhir", *arguments)
    assert (left.code, left.out) == (2, "")
    assert says in left.err
    assert left.err.count("\n") == 1
