"""Published tables, read as scores with the codes of their facets."""

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Scores = NDArray[np.float64]
Codes = dict[str, NDArray[np.intp]]
Table = Callable[[], tuple[Scores, Codes]]
FOLDER = Path(__file__).parent / "worked"


def table(name: str) -> list[list[str]]:
    """Return the rows of a table without its line of source and its header."""
    with (FOLDER / name).open(encoding="utf-8") as file:
        return list(csv.reader(line for line in file if not line.startswith("#")))[1:]


def wide(name: str, columns: dict[str, list[int]], *, drop: int = 1) -> tuple[Scores, Codes]:
    """Return a table of one row a person: scores present, and for each a person and the column's facets."""
    rows = table(name)
    marks = np.array([[float(cell) if cell else np.nan for cell in row[drop:]] for row in rows])
    seen = np.isfinite(marks)
    person, column = np.nonzero(seen)
    codes = {facet: np.array(of)[column] for facet, of in columns.items()}
    return marks[seen], {"p": person, **codes}


def set1() -> tuple[Scores, Codes]:
    """Brennan's data set 1: 10 persons, 12 items, p x i."""
    return wide("gt_brennan_set1_pxi.csv", {"i": list(range(12))})


def set2() -> tuple[Scores, Codes]:
    """Brennan's data set 2: 10 persons, 8 items of their own each, i:p."""
    return wide("gt_brennan_set2_i_in_p_and_set3_pxixo.csv", {"i": list(range(8))})


def set3() -> tuple[Scores, Codes]:
    """Brennan's data set 3: 10 persons, 4 items, 2 occasions, p x i x o."""
    columns = {"i": [0, 1, 2, 3] * 2, "o": [0] * 4 + [1] * 4}
    return wide("gt_brennan_set2_i_in_p_and_set3_pxixo.csv", columns)


def set4() -> tuple[Scores, Codes]:
    """Brennan's data set 4: 10 persons, 3 tasks of 4 raters each, p x (r:t)."""
    return wide("gt_brennan_set4_px_r_in_t.csv", {"t": [n // 4 for n in range(12)], "r": list(range(12))})


def rajaratnam() -> tuple[Scores, Codes]:
    """8 persons, 3 halves of 2, 4 and 2 items, p x (i:h)."""
    columns = {"h": [0, 0, 1, 1, 1, 1, 2, 2], "i": list(range(8))}
    return wide("gt_rajaratnam_1965_unbalanced_px_i_in_h.csv", columns)


def huynh() -> tuple[Scores, Codes]:
    """12 persons, 6 items, marks missing, p x i."""
    return wide("gt_huynh_1977_missing_pxi.csv", {"i": list(range(6))})


def gleser() -> tuple[Scores, Codes]:
    """12 patients, 6 items, 2 judges, p x i x j."""
    columns = {"i": [n // 2 for n in range(12)], "j": [n % 2 for n in range(12)]}
    return wide("gt_gleser_1965_px_ixj.csv", columns)


def narayanan() -> tuple[Scores, Codes]:
    """16 patients of 3 doctors, 5 items, (p:d) x i."""
    score, codes = wide("gt_narayanan_2010_unbalanced_i_x_p_in_d.csv", {"i": list(range(5))}, drop=2)
    doctor = np.array(["ABC".index(row[0]) for row in table("gt_narayanan_2010_unbalanced_i_x_p_in_d.csv")])
    return score, {**codes, "d": doctor[codes["p"]]}


def henderson_1953() -> tuple[Scores, Codes]:
    """57 records with the cell totals and the total sum of squares of Henderson's herds, sires and years.

    The single records are not printed. Method 1 needs only the totals and the sum of squares, 11,124,007, so
    every record is its cell's mean and one cell's records are moved apart until the sum of squares is right.
    """
    cells = [[int(value) for value in row] for row in table("gt_henderson_1953_unbalanced_cells.csv")]
    rows = [(h, s, y, total / n) for h, s, y, n, total in cells for _ in range(n)]
    score = np.array([row[3] for row in rows])
    apart = np.sqrt((11_124_007 - (score**2).sum()) / 2)
    score[:2] += np.array([apart, -apart])
    codes = {name: np.array([row[k] for row in rows]) for k, name in enumerate(("herd", "sire", "year"))}
    return score, codes
