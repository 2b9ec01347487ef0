"""Pool the studies with full counts that the knee model is fitted to, and write the result into its table.

Run ``python -m fabella.evidence.pool_model`` after a change of the accuracy tables; ``… --check`` only tells
whether one is due. A sign is pooled by us when at least `ENOUGH` studies counted it in all four cells, in
patients awake or not said to be anaesthetised, without a caution against the study; with fewer, a published
pooling of more studies is believed instead.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Sequence
from io import StringIO
from pathlib import Path

from fabella.errors import EvidenceError
from fabella.evidence.accuracy import Accuracy, Anaesthesia
from fabella.evidence.edition import Edition
from fabella.evidence.loader import LATEST, edition_folder, load_edition
from fabella.evidence.source import Caution
from fabella.stats import Interval, Pooled, TwoByTwo, pool

ENOUGH = 4
"""Fewest studies pooled by us (judgement).

Below it the variation between studies, which is what a new clinic must expect, is hardly known.
"""
POOLED = ("lachman", "anterior_drawer", "lever_sign")
TARGET, LEVEL = "acl_tear", "positive"
TABLE = "model/accuracy_used.csv"


def studies(
    edition: Edition, sign_id: str, target: str = TARGET, finding_level: str = LEVEL
) -> tuple[Accuracy, ...]:
    """Return the rows of a sign, read in one way for one target, that may be pooled, in the tables' order.

    Left out are knees counted in another row, knees examined under anaesthesia and whatever carries a
    caution: the series of 242 knees that found the Lachman test specific in a fifth and the drawer in a
    third of intact knees, and those of a test's inventor.
    """
    return tuple(
        row
        for row in edition.accuracy_for(sign_id, target, finding_level=finding_level)
        if row.poolable and not why_not_pooled(row)
    )


def why_not_pooled(row: Accuracy) -> str:
    """Return why a study with all four counts is left out of the pooling; empty when it is not."""
    if row.caution is not Caution.NONE:
        return row.source.remark.rstrip(".") or str(row.caution)
    return {
        Anaesthesia.ANAESTHETISED: "examined under anaesthesia",
        Anaesthesia.MIXED: "some examined under anaesthesia",
    }.get(row.anaesthesia, "")


def pooled(rows: Sequence[Accuracy]) -> Pooled:
    """Return the summary accuracy of studies with all four counts: bivariate random effects, REML."""
    return pool([_counts(row) for row in rows])


def pooled_cells(edition: Edition, sign_id: str) -> dict[str, str]:
    """Return the cells of the row of a sign that follow from its studies.

    Bivariate random effects, restricted maximum likelihood; see `fabella.stats.pool`.

    Raises
    ------
    EvidenceError
        When fewer than `ENOUGH` studies are left.
    """
    rows = studies(edition, sign_id)
    if len(rows) < ENOUGH:
        raise EvidenceError(f"{sign_id}: {len(rows)} studies can be pooled, {ENOUGH} are needed")
    found = pooled(rows)
    knees = sum(sum(_cells(row)) for row in rows)
    return {
        **_interval("sensitivity", found.sensitivity),
        **_interval("specificity", found.specificity),
        "n": str(knees),
        "provenance": "derived",
        "source": "+".join(row.source.key for row in rows),
        "verified": "memory" if any(row.recalled for row in rows) else "seen",
        "row": f"{sign_id}/{TARGET}/positive",
        "note": f"pooled by us from the counts of {len(rows)} studies, bivariate random effects",
    }


def pooled_text(edition: Edition, text: str) -> str:
    """Return what the table of accuracies used should say, given what it says now."""
    reader = csv.DictReader(StringIO(text, newline=""))
    written = StringIO(newline="")
    writer = csv.DictWriter(written, reader.fieldnames or (), lineterminator="\n")
    writer.writeheader()
    for row in reader:
        ours = row["sign"] in POOLED and not row["setting"]
        writer.writerow({**row, **pooled_cells(edition, row["sign"])} if ours else row)
    return written.getvalue()


def _counts(row: Accuracy) -> TwoByTwo:
    tp, fp, fn, tn = _cells(row)
    return TwoByTwo(study=row.source.key, tp=tp, fp=fp, fn=fn, tn=tn)


def _cells(row: Accuracy) -> tuple[int, int, int, int]:
    if row.counts is None:
        raise EvidenceError(f"{row.source.key} printed no counts")
    tp, fp, fn, tn = (cell or 0 for cell in row.counts.cells)
    return tp, fp, fn, tn


def _interval(name: str, interval: Interval) -> dict[str, str]:
    numbers = {name: interval.estimate, f"{name}_low": interval.low, f"{name}_high": interval.high}
    return {column: f"{number:.3f}".rstrip("0").rstrip(".") for column, number in numbers.items()}


def main(arguments: Sequence[str]) -> None:
    """Write the pooled rows of the latest edition; with ``--check`` only tell whether that is due."""
    table = Path(str(edition_folder(LATEST))) / TABLE
    old = table.read_text("utf-8")
    new = pooled_text(load_edition(), old)
    if new == old:
        return
    if "--check" in arguments:
        raise EvidenceError(f"{TABLE}: pooled rows are stale; run python -m fabella.evidence.pool_model")
    table.write_text(new, "utf-8")


if __name__ == "__main__":
    try:
        main(sys.argv[1:])
    except EvidenceError as error:
        sys.exit(str(error))
