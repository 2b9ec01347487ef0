"""The figures as lines of a table, as a page of the documentation, and as plain data."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.bench.figure import Figure
from fabella.bench.run import Report

FORMAT = "fabella.bench/1"
COLUMNS = ("part", "what", "measured", "limit", "ratio", "met", "note")

_HEAD = """\
# How fast it is

Made by `fabella bench --markdown > docs/speed.md`; do not edit. `fabella bench` measures the same on any
machine and always leaves with 0: it is a measurement, not a test. `--full` takes a million examinations for
the cohort instead of a hundred thousand, and makes all 2,000 pages of feedback instead of 400.

*Ratio* is measured over limit: below 1 keeps a limit that says "at most", above 1 one that says "at least".
Every figure comes from one run. Seconds are those of this machine, and of whatever else it was doing; the
rate at which it multiplies matrices is therefore measured again and again in between, and its range stands
in the first line. Where a figure can be a ratio of two times measured side by side, it is one.

- **machine**: best rate of a product of two square matrices on all cores, over all measurements of the run.
- **load**: a fresh interpreter is started, imports `fabella.workup`, compiles the model and fits its signs;
  the clock stops when it says so. Linear algebra has one thread, as in the commands. Processor time leaves
  out what other programs took meanwhile, and is what remains of the figure on a machine that is not quiet.
  Modules are loaded from byte code, as after any installation; a Python that may not keep it
  (`PYTHONDONTWRITEBYTECODE`) compiles them all at every start.
- **workup**: `run_workup` on the examples and on simulated routine examinations of both knees (patients of
  all ages, settings, mechanisms): alarms, grades, exact posterior, 90 % intervals from the draws, weights of
  the findings, fit, ranking of the next steps. Of each examination the fastest of five passes counts; the
  first pass also compiles what a new setting, acuity or sign needs, and has a line of its own.
  Each pass has other dice, so that no knee is remembered from the pass before. On the pages a touch concludes
  only the knee that it changed.
- **cohort**: routine examinations are simulated in chunks and concluded (point posterior). The share is the
  floating-point operations of the two matrix products, over the time for compiling and concluding a chunk,
  over the machine's rate just before or just after it (the better), in the median over the chunks.
  What is not a product (exponentials, gathering) counts as time but not as operations. Memory is the most
  the process ever held.
- **general library**: exact inference by pyAgrum on the same network: a node for each of twelve lesions, one
  node that carries the prior of their combinations, noisy-MAX tables for what they bring about, guarding,
  and fifteen signs. The fastest of three engines counts, from making it to the posterior of every lesion;
  it may use all cores, ours has one thread. Writing the tables down counts on neither side. With more
  lesions the general way grows as the product of their levels, ours as the combinations that can occur. The
  last line gives the library our list of combinations as a single node of all lesions: what is left of the
  difference when it need not find them.
- **exam**: 1,000 candidates at 12 stations with 36 examiners and 20 items each, invented, read and analysed
  with every method (`fabella.assess.analyse`); the fastest of three. For the Rasch part the same exam is
  taken as full marks or not, since general libraries know no rating scales: `glmer` of R's lme4 with its
  defaults fits the same random ability with items and examiners crossed. Both sides have one thread and are
  told in processor time; writing the marks down counts on neither. A plain logistic regression with a column
  for everybody is quicker than either and answers less. Feedback is made by a process for each core.
"""


def said(value: float | None, unit: str) -> str:
    """Return a value with its unit in words."""
    if value is None:
        return "not measured"
    if unit == "share":
        return f"{value:.0%}".replace("%", " %")
    if unit == "times":
        return f"{value:,.0f} times" if value >= 10 else f"{value:.1f} times"  # noqa: PLR2004
    if unit == "difference":
        return f"{value:.0e}"
    return f"{value:,.{2 if value < 10 else 0}f} {unit}"  # noqa: PLR2004


def line_of(figure: Figure) -> tuple[str, ...]:
    """Return one figure in the order of `COLUMNS`."""
    limit = ""
    if figure.limit is not None:
        limit = ("≥ " if figure.at_most is None else "≤ ") + said(figure.limit, figure.unit)
    met = {None: "", True: "met", False: "not met"}[figure.met]
    measured = said(figure.measured, figure.unit)
    return figure.part, figure.what, measured, limit, _ratio(figure.ratio), met, figure.note


def as_markdown(report: Report) -> str:
    """Return the page, ending in a line break."""
    return "\n".join(_page(report)) + "\n"


def _ratio(ratio: float | None) -> str:
    if ratio is None:
        return ""
    if ratio < 0.01:  # noqa: PLR2004
        return f"{ratio:.0e}"
    return f"{ratio:.2f}" if ratio < 10 else f"{ratio:,.0f}"  # noqa: PLR2004


def as_tree(report: Report) -> dict[str, object]:
    """Return the report as plain data, the ratios included."""
    return {
        "format": FORMAT,
        "measured_on": report.measured_on.isoformat(),
        "cores": report.cores,
        "software": report.software,
        "figures": [
            {
                "part": each.part,
                "what": each.what,
                "measured": each.measured,
                "unit": each.unit,
                "at_most": each.at_most,
                "at_least": each.at_least,
                "ratio": each.ratio,
                "met": each.met,
                "note": each.note,
            }
            for each in report.figures
        ],
    }


def about(report: Report) -> str:
    """Return one sentence on where and when."""
    versions = ", ".join(f"{name} {version}" for name, version in report.software.items())
    return f"Measured on {report.measured_on.isoformat()} on {report.cores} cores with {versions}."


def _page(report: Report) -> Iterator[str]:
    yield _HEAD
    yield "## A run"
    yield ""
    yield about(report)
    yield ""
    yield f"| {' | '.join(COLUMNS)} |"
    yield f"|{'---|' * len(COLUMNS)}"
    before = ""
    for figure in report.figures:
        part, *rest = line_of(figure)
        yield f"| {' | '.join(('' if part == before else part, *rest))} |"
        before = part
