"""From the files of an edition to its tables; every malformed row is reported, all at once."""

import tomllib
from importlib.resources.abc import Traversable
from typing import Any

from fabella.errors import EvidenceError, suggestion
from fabella.evidence.digest import digest, table_files
from fabella.evidence.edition import Edition
from fabella.evidence.rows import GAP_COLUMNS, KINDS
from fabella.evidence.table_files import SOURCES, TableFiles
from fabella.evidence.tables import Gap

GAPS = "gaps.csv"
MODEL = "model"  # tables of the knee model lie in the same edition and are read by their own loader


def read_edition(folder: Traversable) -> Edition:
    """Return the edition that lies in a folder.

    A kind of table that is missing altogether is read as empty, so that what does not need it still works.

    Parameters
    ----------
    folder
        Holds ``edition.toml``, ``sources.csv``, ``gaps.csv`` and one folder for each kind of table.

    Raises
    ------
    EvidenceError
        When any table is malformed; its text lists every problem with file, line, column and remedy.
    """
    about = tomllib.loads((folder / "edition.toml").read_text("utf-8"))
    files = table_files(folder)
    reader = TableFiles(files)
    tables = _tables(reader)
    gaps = reader.made(
        GAPS, GAP_COLUMNS, lambda cells: Gap(**{name: cells.text(name) for name in GAP_COLUMNS})
    )
    if reader.problems:
        raise EvidenceError("\n".join(map(str, reader.problems)))
    found = digest(files)
    edited = found != about["sha256"]
    return Edition(
        id=f"{about['id']} (edited)" if edited else about["id"],
        date=about["date"],
        sha256=found,
        sources=reader.sources,
        gaps=tuple(gaps),
        **tables,
    )


def _tables(reader: TableFiles) -> dict[str, tuple[Any, ...]]:
    """Return the rows of every kind of table, by kind."""
    found: dict[str, list[Any]] = {kind: [] for kind in KINDS}
    for path in reader.files:
        kind, _, name = path.rpartition("/")
        if kind in KINDS:
            rows = reader.made(path, *KINDS[kind])
            for other in {row.source.key for row in rows} - {name.removesuffix(".csv")}:
                says = "stands in the file of another source"
                reader.wrong(path, other, says, f"move it to {other}.csv")
            found[kind] += rows
        elif kind.split("/")[0] != MODEL and path not in {SOURCES, GAPS}:
            reader.wrong(path, path, "is not a known kind of table", suggestion(kind, KINDS))
    return {kind: tuple(rows) for kind, rows in found.items()}
