"""Freeze an edition: write digest and counts of its tables into ``edition.toml``.

Run ``python -m fabella.evidence.freeze`` after any intended change of a table, ``… freeze --check`` to see
whether one is due. A published edition is never frozen again: changes go into a new folder.
"""

import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

from fabella.errors import EvidenceError
from fabella.evidence.digest import digest, line_counts, table_files
from fabella.evidence.loader import LATEST, edition_folder


def frozen_text(folder: Path) -> str:
    """Return what ``edition.toml`` should say of the tables as they are now; id and date stay."""
    about = tomllib.loads((folder / "edition.toml").read_text("utf-8"))
    files = table_files(folder)
    counts = "".join(f"{kind} = {count}\n" for kind, count in line_counts(files).items())
    return (
        "# Written by `python -m fabella.evidence.freeze`.\n"
        f'id = "{about["id"]}"\n'
        f"date = {about['date']}\n"
        f'sha256 = "{digest(files)}"\n'
        f"\n[rows]\n{counts}"
    )


def main(arguments: Sequence[str]) -> None:
    """Freeze the latest edition or the one named; with ``--check`` only tell whether it is due."""
    names = [each for each in arguments if not each.startswith("-")]
    folder = Path(str(edition_folder(names[0] if names else LATEST)))
    about, text = folder / "edition.toml", frozen_text(folder)
    if about.read_text("utf-8") == text:
        return
    if "--check" in arguments:
        remedy = "if that was intended, run python -m fabella.evidence.freeze"
        raise EvidenceError(f"{about.parent.name}: tables changed since they were frozen; {remedy}")
    about.write_text(text, "utf-8")


if __name__ == "__main__":
    try:
        main(sys.argv[1:])
    except EvidenceError as error:
        sys.exit(str(error))
