"""Marks from Parquet, written by the reference library: the same marks and refusals as from CSV."""

import random
import subprocess
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import date, datetime, time
from decimal import Decimal
from io import BytesIO
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from fabella.assess import digest, read_marks, read_parquet_marks
from fabella.errors import InputError
from tests.assess.made import HEADER, made_blueprint, made_rows, read_rows

EXAM = made_blueprint(stations=2, items=3)
ROWS = made_rows(EXAM, candidates=4, circuits=2)
NAMES = HEADER.split(",")
CELLS = {name: [row.split(",")[i] for row in ROWS] for i, name in enumerate(NAMES)}


def written(columns: dict[str, Any], **how: Any) -> bytes:
    """Return columns as the library writes them."""
    file = BytesIO()
    pq.write_table(pa.table(columns), file, **how)
    return file.getvalue()


def having(**changed: Any) -> bytes:
    """Return the good table with some columns replaced."""
    return written({**CELLS, **changed})


def refused(content: bytes) -> list[str]:
    """Return the lines of the refusal of a file."""
    with pytest.raises(InputError) as refusal:
        read_parquet_marks(content, blueprint=EXAM)
    return str(refusal.value).split("\n")


def with_cells(name: str, cells: dict[int, str]) -> list[str]:
    """Return a column of the good table with some rows changed, the first being 1."""
    return [cells.get(i, text) for i, text in enumerate(CELLS[name], start=1)]


@pytest.mark.parametrize("compression", ["none", "snappy", "gzip", "zstd"])
@pytest.mark.parametrize("row_group_size", [5, 1000])
def test_parquet_gives_what_csv_gives(compression: str, row_group_size: int) -> None:
    """However it is packed, a table of texts gives the marks of the same CSV, to the digest."""
    content = written(dict(CELLS), compression=compression, row_group_size=row_group_size)
    assert digest(read_parquet_marks(content, blueprint=EXAM)) == digest(read_rows(ROWS, EXAM))


@pytest.mark.parametrize(
    "kind",
    [
        pa.int8(),
        pa.uint16(),
        pa.int64(),
        pa.float32(),
        pa.float64(),
        pa.decimal128(9, 2),
        pa.string(),
        pa.large_string(),
        pa.string_view(),
        pa.dictionary(pa.int8(), pa.string()),
    ],
    ids=str,
)
def test_marks_of_any_numeric_or_text_type_are_read(kind: pa.DataType) -> None:
    """Whole numbers, decimals, texts and dictionaries of the same marks give the same digest."""
    as_given: Callable[[str], object] = str
    if pa.types.is_integer(kind):
        as_given = int
    elif pa.types.is_floating(kind):
        as_given = float
    elif pa.types.is_decimal(kind):
        as_given = Decimal
    marks = [as_given(text) for text in CELLS["mark"]]
    content = having(mark=pa.array(marks, type=kind))
    assert digest(read_parquet_marks(content, blueprint=EXAM)) == digest(read_rows(ROWS, EXAM))


def test_every_column_may_be_a_dictionary() -> None:
    """A table whose columns are all categories is read like one of texts."""
    coded = {name: pa.array(cells).dictionary_encode() for name, cells in CELLS.items()}
    assert digest(read_parquet_marks(written(coded), blueprint=EXAM)) == digest(read_rows(ROWS, EXAM))


def test_names_that_became_numbers_are_names_again() -> None:
    """Candidates 1001.0 and 1001 are the candidate 1001, as data frames turn whole numbers into decimals."""
    numbers = {name: 1001 + i for i, name in enumerate(sorted(set(CELLS["candidate"])))}
    for kind in (pa.int32(), pa.float64()):
        column = pa.array([numbers[name] for name in CELLS["candidate"]], type=kind)
        marks = read_parquet_marks(having(candidate=column), blueprint=EXAM)
        assert marks.candidates == ("1001", "1002", "1003", "1004")


def test_null_and_nan_are_empty_cells() -> None:
    """A grade that stands on one row of a sheet and is null or NaN on the others is read."""
    once = [grade if i % 3 == 0 else None for i, grade in enumerate(CELLS["global"])]
    expected = digest(read_rows(ROWS, EXAM))
    assert digest(read_parquet_marks(having(**{"global": once}), blueprint=EXAM)) == expected
    nan = pa.array([float("nan") if grade is None else float(grade) for grade in once])
    assert digest(read_parquet_marks(having(**{"global": nan}), blueprint=EXAM)) == expected
    marks: list[str | None] = list(CELLS["mark"])
    marks[4] = None
    assert any("row 5, mark" in line and "is empty" in line for line in refused(having(mark=marks)))


def test_times_and_flags_are_read_from_their_own_types() -> None:
    """Moments, clock times and yes or no give what their texts in CSV give."""
    began = [datetime.fromisoformat("2031-05-06T09:00")] * len(ROWS)
    ended = [time(9, 8)] * len(ROWS)
    late = [datetime.fromisoformat("2031-05-06T09:08")] * len(ROWS)
    rows = [f"{row},2031-05-06T09:00:00,2031-05-06T09:08:00,yes" for row in ROWS]
    text = "\n".join([f"{HEADER},started,finished,timed_out", *rows, ""])
    expected = digest(read_marks(text, blueprint=EXAM))
    for unit in ("s", "ms", "us", "ns"):
        column = pa.array(began, type=pa.timestamp(unit))
        content = having(started=column, finished=pa.array(late), timed_out=[True] * len(ROWS))
        assert digest(read_parquet_marks(content, blueprint=EXAM)) == expected
    clock = having(started=pa.array([time(9)] * len(ROWS)), finished=pa.array(ended))
    assert read_parquet_marks(clock, blueprint=EXAM).n_sheets == read_rows(ROWS, EXAM).n_sheets


@pytest.mark.parametrize(
    ("name", "column", "kind"),
    [
        ("mark", [date(2031, 5, 6)] * len(ROWS), "date32"),
        ("mark", [datetime.fromisoformat("2031-05-06")] * len(ROWS), "timestamp"),
        ("mark", [True] * len(ROWS), "bool"),
        ("global", [[1]] * len(ROWS), "list"),
        ("item", [{"a": 1}] * len(ROWS), "struct"),
        ("candidate", [b"C1"] * len(ROWS), "binary"),
        ("started", [date(2031, 5, 6)] * len(ROWS), "date32"),
        ("timed_out", [1.5] * len(ROWS), ""),
    ],
)
def test_types_that_are_no_mark_are_refused(name: str, column: Sequence[object], kind: str) -> None:
    """Dates, lists, structures, bytes and yes or no in the wrong column are refused with column and type."""
    told = " ".join(refused(having(**{name: column})))
    assert name in told
    assert kind in told


def test_everything_wrong_is_said_at_once_with_rows() -> None:
    """Unknown names, marks outside the scale and no number are all listed, as in CSV, counted in rows."""
    told = refused(
        having(
            mark=with_cells("mark", {1: "7", 2: "two"}),
            station=with_cells("station", {5: "S9"}),
            **{"global": with_cells("global", {7: "splendid"})},
        )
    )
    for part in ("row 1, mark", "row 2, mark", "row 5, station", "row 7, global"):
        assert any(part in line for line in told), told
    csv = "\n".join([HEADER, *(row.replace(",S01,", ",S9,") for row in ROWS), ""])
    with pytest.raises(InputError) as in_csv:
        read_marks(csv, blueprint=EXAM)
    stations = [text.replace("S01", "S9") for text in CELLS["station"]]
    in_rows = refused(having(station=stations))
    assert len(in_rows) == len(str(in_csv.value).split("\n"))
    assert not any("line " in line for line in in_rows)


def test_wrong_columns_and_types_are_said_together() -> None:
    """A column that is unknown, one that is missing and one of a wrong type come in one refusal."""
    cells = {name: cells for name, cells in CELLS.items() if name != "examiner"}
    told = refused(written({**cells, "examinor": CELLS["examiner"], "mark": [date(2031, 5, 6)] * len(ROWS)}))
    assert any("examinor" in line and "examiner" in line for line in told)
    assert any("examiner" in line and "missing" in line for line in told)
    assert any("date32" in line for line in told)


def test_a_table_without_rows_is_refused() -> None:
    """A file that holds no marks says so."""
    empty = written({name: pa.array([], type=pa.string()) for name in NAMES})
    assert any("holds no marks" in line for line in refused(empty))


@pytest.mark.parametrize("share", [0.001, 0.1, 0.5, 0.9, 0.999])
def test_a_file_cut_short_is_refused_in_words(share: float) -> None:
    """Wherever a file was cut, one line says that it cannot be read."""
    content = having()
    (line,) = (each for each in refused(content[: int(len(content) * share)]) if each)
    assert "Parquet" in line


@pytest.mark.parametrize("seed", range(40))
def test_a_damaged_file_never_ends_in_anything_but_a_refusal(seed: int) -> None:
    """Bytes changed at random give marks or a refusal, never another error."""
    dice, content = random.Random(seed), bytearray(having())
    for _ in range(dice.randrange(1, 6)):
        content[dice.randrange(len(content))] = dice.randrange(256)
    with suppress(InputError):
        assert read_parquet_marks(bytes(content), blueprint=EXAM).n_sheets > 0


def test_without_the_library_the_remedy_is_said() -> None:
    """Where the library is not installed, one sentence says what to install, and nothing else breaks."""
    program = (
        "import sys; sys.modules['pyarrow'] = None\n"
        "from fabella.assess import read_parquet_marks\n"
        "from fabella.errors import UsageError\n"
        "try: read_parquet_marks(b'PAR1', blueprint=None)\n"
        "except UsageError as error: print(error)\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert "fabella[parquet]" in done.stdout
    assert "CSV" in done.stdout
