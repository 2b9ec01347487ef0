"""An invented exam judged by Angoff's method, small enough for `tests.assess.test_judges` to work by hand."""

from collections.abc import Mapping, Sequence

from fabella.assess import Blueprint, Estimates, Item, Marks, Station
from tests.assess.made import read_rows

ONE_ITEM = Blueprint(
    stations=(
        Station(code="A", items=(Item(code="x", max_mark=10),)),
        Station(code="B", items=(Item(code="x", max_mark=10),)),
        Station(code="C", items=(Item(code="x", max_mark=10),), weight=2),
    )
)
GRADED = {
    "A": ("4,1", "6,1", "9,3", "2,0"),
    "B": ("7,1", "9,3", "9,3", "3,0"),
    "C": ("5,1", "6,1", "7,1", "9,2"),
}
ESTIMATES = Estimates(
    judges=("Ada", "Ben", "Cyd"),
    items=("A", "B", "C"),
    share=((0.4, 0.6, 0.5), (0.6, 0.6, 0.6), (0.5, 0.7, 0.7)),
    max_mark=(10, 10, 10),
)


def marks_of(cells: Mapping[str, Sequence[str]], blueprint: Blueprint = ONE_ITEM) -> Marks:
    """Marks of candidates P1, P2 … by station: mark and grade of its one item ``x``."""
    rows = [
        f"P{number},one,{station},E{station},x,{cell}"
        for station, sheets in cells.items()
        for number, cell in enumerate(sheets, 1)
    ]
    return read_rows(rows, blueprint)
