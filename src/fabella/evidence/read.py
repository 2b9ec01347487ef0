"""From the files of an edition to its tables; every malformed row is reported, all at once."""

import csv
import tomllib
from collections.abc import Callable, Iterator, Mapping
from importlib.resources.abc import Traversable
from io import StringIO
from typing import Any, TypeVar

from fabella.errors import EvidenceError, Problem, suggestion
from fabella.evidence.cells import Cells, header_problems
from fabella.evidence.digest import digest, table_files
from fabella.evidence.edition import Edition
from fabella.evidence.rows import GAP_COLUMNS, KINDS, SOURCE_COLUMNS, make_source
from fabella.evidence.source import Source
from fabella.evidence.tables import Gap

T = TypeVar("T")

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
    reader = _Reader(files)
    tables = reader.tables()
    gaps = reader.rows(
        "gaps.csv", GAP_COLUMNS, lambda cells: Gap(**{name: cells.text(name) for name in GAP_COLUMNS})
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


class _Reader:
    """Reads table after table and gathers the problems of all of them."""

    def __init__(self, files: Mapping[str, bytes]) -> None:
        self.files = files
        self.problems: list[Problem] = []
        self.sources: dict[str, Source] = {}
        for source in self.rows("sources.csv", SOURCE_COLUMNS, make_source):
            if source.key in self.sources:
                self._wrong("sources.csv", source.key, "stands twice", "keep one row for each key")
            self.sources[source.key] = source

    def tables(self) -> dict[str, Any]:
        """Return the rows of every kind of table, by kind."""
        found: dict[str, list[Any]] = {kind: [] for kind in KINDS}
        for path in self.files:
            kind, _, name = path.rpartition("/")
            if kind in KINDS:
                rows = self.rows(path, *KINDS[kind])
                self._check_sources(path, name.removesuffix(".csv"), rows)
                found[kind] += rows
            elif kind.split("/")[0] != MODEL and path not in {"sources.csv", "gaps.csv"}:
                self._wrong(path, path, "is not a known kind of table", suggestion(kind, KINDS))
        return {kind: tuple(rows) for kind, rows in found.items()}

    def rows(self, path: str, columns: tuple[str, ...], make: Callable[[Cells], T]) -> list[T]:
        """Return what the good rows of a table state; note what is wrong with the others."""
        made = []
        for cells in self._cells(path, columns):
            try:
                thing = make(cells)
            except EvidenceError as error:
                if not cells.problems:
                    cells.problems.append(Problem(place=cells.place, says=str(error), remedy=""))
            if cells.problems:
                self.problems += cells.problems
            else:
                made.append(thing)
        return made

    def _cells(self, path: str, columns: tuple[str, ...]) -> Iterator[Cells]:
        if path not in self.files:
            return
        try:
            text = self.files[path].decode("utf-8")
        except UnicodeDecodeError as error:
            self._wrong(
                path, str(error.object[error.start : error.end]), "is not UTF-8", "save the file as UTF-8"
            )
            return
        reader = csv.reader(StringIO(text, newline=""))
        header = next(reader, [])
        if problems := header_problems(header, columns=columns, file=path):
            self.problems += problems
            return
        for row in reader:
            place = f"{path} line {reader.line_num}"
            if len(row) == len(header):
                yield Cells(dict(zip(header, row, strict=True)), place=place, sources=self.sources)
            else:
                self._wrong(
                    place, "", f"{len(row)} cells where the header has {len(header)}", "check the commas"
                )

    def _check_sources(self, path: str, key: str, rows: list[Any]) -> None:
        for other in {row.source.key for row in rows} - {key}:
            self._wrong(path, other, "stands in the file of another source", f"move it to {other}.csv")

    def _wrong(self, place: str, value: str, says: str, remedy: str) -> None:
        self.problems.append(Problem(place=place, value=value, says=says, remedy=remedy))
