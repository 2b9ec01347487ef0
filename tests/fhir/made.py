"""Documents to look at: the examples and whatever else, worked up and handed over."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

from fabella.fhir import as_json, bundle
from fabella.protocol import load_protocol
from fabella.record import Examination, Origin, read_examination
from fabella.report import build_letter, letter_document
from fabella.workup import Workup, run_workup
from tests.fhir.standard import Tree, resources

WHEN = datetime(2026, 2, 3, 14, 5, tzinfo=UTC)
PROTOCOL = load_protocol()
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.json"))
HANDBALL, ICE = (
    next(path for path in EXAMPLES if path.stem == name) for name in ("twist_at_handball", "slip_on_ice")
)


@cache
def example(path: Path) -> Workup:
    """An example, worked up."""
    return run_workup(read_examination(path.read_bytes(), protocol=PROTOCOL, today=WHEN.date()))


def document(workup: Workup, **more: Any) -> Tree:
    """The document about a workup, as whoever receives its text reads it."""
    practice = workup.examination.origin is Origin.SIMULATED
    letter = letter_document(build_letter(workup, written_on=WHEN.date(), practice=practice), drawn=False)
    tree: Tree = json.loads(as_json(bundle(workup, letter, **{"when": WHEN, "practice": practice, **more})))
    return tree


def of_findings(*findings: Tree, **more: Any) -> Workup:
    """The workup of an invented examination with these findings."""
    tree = {
        "format": "fabella.examination/1",
        "id": "made-up",
        "origin": "invented",
        "findings": findings,
        **more,
    }
    return run_workup(read(tree))


def read(tree: Tree) -> Examination:
    """An examination from what its file would hold."""
    return read_examination(json.dumps(tree), protocol=PROTOCOL, today=WHEN.date())


def observations(tree: Tree, code: str, side: str = "") -> list[Tree]:
    """The observations with one of our codes, of one side where one is named."""
    return [
        each
        for each in resources(tree, "Observation")
        if each["code"]["coding"][-1]["code"] == code
        and side in each.get("bodySite", {}).get("text", "").lower()
    ]
