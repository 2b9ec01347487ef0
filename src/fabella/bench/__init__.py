"""How fast and how large: measured as ratios in one run, never as a timed test."""

from fabella.bench.figure import Figure
from fabella.bench.machine import Machine
from fabella.bench.page import about, as_markdown, as_tree, line_of
from fabella.bench.run import Part, Report, Sizes, run

__all__ = [
    "Figure",
    "Machine",
    "Part",
    "Report",
    "Sizes",
    "about",
    "as_markdown",
    "as_tree",
    "line_of",
    "run",
]
