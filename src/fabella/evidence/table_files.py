"""From the files of an edition to their rows; whatever is wrong with any of them is gathered."""

import csv
from collections.abc import Callable, Iterator, Mapping
from io import StringIO
from typing import TypeVar

from fabella.errors import EvidenceError, Problems, suggestion
from fabella.evidence.cells import Cells
from fabella.evidence.rows import SOURCE_COLUMNS, make_source
from fabella.evidence.source import Source

T = TypeVar("T")

SOURCES = "sources.csv"


class TableFiles:
    """CSV files by path, read one after the other, with the problems of all of them and the sources."""

    def __init__(self, files: Mapping[str, bytes]) -> None:
        self.files = files
        self.problems = Problems()
        self.sources: dict[str, Source] = {}
        for source in self.made(SOURCES, SOURCE_COLUMNS, make_source):
            if source.key in self.sources:
                self.wrong(SOURCES, source.key, "stands twice", "keep one row for each key")
            self.sources[source.key] = source

    def made(self, path: str, columns: tuple[str, ...], make: Callable[[Cells], T]) -> list[T]:
        """Return what the good rows of a table of these columns state."""
        made = []
        for place, row in self.rows(path, columns):
            cells = Cells(row, place=place, sources=self.sources)
            try:
                thing = make(cells)
            except EvidenceError as error:
                if not cells.problems:
                    cells.problems.add(place, "", str(error), "")
            if cells.problems:
                self.problems += cells.problems
            else:
                made.append(thing)
        return made

    def rows(self, path: str, columns: tuple[str, ...] = ()) -> Iterator[tuple[str, dict[str, str]]]:
        """Yield place and cells of each line of a table, which has these columns if any are named."""
        if path not in self.files:
            return
        try:
            text = self.files[path].decode("utf-8")
        except UnicodeDecodeError as error:
            bad = str(error.object[error.start : error.end])
            self.wrong(path, bad, "is not UTF-8", "save the file as UTF-8")
            return
        reader = csv.reader(StringIO(text, newline=""))
        header = next(reader, [])
        if columns and not self._fits(path, header, columns):
            return
        for cells in reader:
            place = f"{path} line {reader.line_num}"
            if len(cells) == len(header):
                yield place, dict(zip(header, cells, strict=True))
            else:
                says = f"{len(cells)} cells where the header has {len(header)}"
                self.wrong(place, "", says, "check the commas")

    def wrong(self, place: str, value: str, says: str, remedy: str) -> None:
        """Note what is wrong in one place."""
        self.problems.add(place, value, says, remedy)

    def _fits(self, path: str, header: list[str], columns: tuple[str, ...]) -> bool:
        """Say whether a table has these columns and no others; note it if not."""
        place = f"{path} line 1"
        for name in header:
            if name not in columns:
                self.wrong(place, name, "is no column of this table", suggestion(name, columns))
        if missing := [name for name in columns if name not in header]:
            self.wrong(place, "", "columns are missing", f"add {', '.join(missing)}")
        return set(header) == set(columns)
