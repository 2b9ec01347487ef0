"""A stray edit of any table fails here at once.

The pinned figures are regression values of the tables as frozen; when they were frozen, the sums of every
column equalled those of the survey they were made from, save one row that stood there twice, two counts of
knees added to the review of Smith 2015, and bands moved from the norms to the grades. Added since: two
prevalences in general practice, one among men of 65 to 80, one of wear in a clinic, two in acute arthritis of
the knee and eight among painful prostheses, the signs of infected ones, what swells behind the knee, eleven
rows of company, the accuracy of pain on forced flexion and of a tender joint line beside a torn cruciate,
sixteen rows of signs of the worn knee, one of the Wilson test, six of how often knees are hurt and joints of
children septic, seven of posterolateral injuries, five of fever in infected children, four of menisci beside
a torn cruciate ligament, one of synovitis, and the sources of the model's own tables.
"""

import csv
from collections.abc import Callable
from io import StringIO
from math import fsum
from pathlib import Path

import pytest

from fabella.errors import EvidenceError
from fabella.evidence import Edition, freeze
from fabella.evidence.digest import digest, line_counts, table_files
from fabella.evidence.loader import LATEST, edition_folder

ROWS = {
    "accuracy": 346,
    "cooccurrence": 65,
    "decision_rules": 144,
    "gaps": 18,
    "grading": 104,
    "measurement_error": 191,
    "norms": 197,
    "prevalence": 147,
    "recovery": 111,
    "reliability": 138,
    "sources": 457,
}
SUMS = {
    "accuracy": {
        "tp": 6352, "fp": 796, "fn": 5623, "tn": 3187, "sens": 191.418, "spec": 145.579,
        "lr_pos": 657.908, "lr_neg": 23.45, "n_knees": 53734,
    },
    "prevalence": {"prevalence": 39.8544803, "n": 20137311},
    "cooccurrence": {"value": 26.209, "n": 30156},
    "norms": {"mean": 8591.66, "sd": 307.963, "lo": 4166.21, "hi": 5521.04, "n": 58022},
    "measurement_error": {"value": 585.558},
    "reliability": {"value": 69.169, "lo": 13.288, "hi": 33.001},
    "recovery": {"value": 3335.05, "n": 397380},
    "grading": {"lower": 687.3, "upper": 628.9},
}  # fmt: skip
DIGEST = "eea17c37882445c762277fc5e584937e6e535a30f0e469307581d02ff849cd13"


def tables() -> dict[str, bytes]:
    """Every table file but those of the knee model."""
    files = table_files(edition_folder(LATEST))
    return {path: content for path, content in files.items() if not path.startswith("model/")}


def test_the_digest_of_the_published_tables_is_pinned() -> None:
    """Not one byte of the published tables has changed since they were frozen."""
    assert digest(tables()) == DIGEST


def test_the_edition_states_the_digest_and_counts_of_its_tables() -> None:
    """``edition.toml`` is what the freezing command would write: run it after any intended change."""
    freeze.main(["--check"])


def test_every_kind_of_table_has_its_rows(edition: Edition) -> None:
    """The number of rows of every table is pinned, in the files and as loaded."""
    assert line_counts(tables()) == ROWS
    assert {kind: len(getattr(edition, kind)) for kind in ROWS} == ROWS


@pytest.mark.parametrize("kind", SUMS)
def test_the_columns_add_up(kind: str) -> None:
    """The sum of every column of numbers is pinned."""
    rows = [
        row
        for path, content in tables().items()
        if path.startswith(f"{kind}/")
        for row in csv.DictReader(StringIO(content.decode()))
    ]
    found = {column: fsum(float(row[column]) for row in rows if row[column]) for column in SUMS[kind]}
    assert found == pytest.approx(SUMS[kind], abs=1e-6)


def test_a_changed_table_changes_the_digest() -> None:
    """One digit, one renamed file or one line moved to another file is noticed."""
    files = tables()
    changed = [
        {**files, "gaps.csv": files["gaps.csv"] + b" "},
        {("x" if path == "gaps.csv" else path): content for path, content in files.items()},
        {"a.csv": b"1\n2\n", "b.csv": b""},
        {"a.csv": b"1\n", "b.csv": b"2\n"},
    ]
    assert len({digest(files), *map(digest, changed)}) == 5


def test_freezing_writes_digest_and_counts(
    copy: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Freezing is due after a change, is told so by ``--check``, and keeps id and date."""
    folder = copy("accuracy/sokal_2022.csv")
    monkeypatch.setattr(freeze, "edition_folder", lambda _: folder)
    with pytest.raises(EvidenceError, match=r"run python -m fabella\.evidence\.freeze"):
        freeze.main(["--check"])
    freeze.main([])
    freeze.main(["--check"])
    text = (folder / "edition.toml").read_text("utf-8")
    assert text == freeze.frozen_text(folder)
    assert f'id = "{LATEST}"\ndate = 2026-11-25\n' in text
    assert "accuracy = 5\n" in text
