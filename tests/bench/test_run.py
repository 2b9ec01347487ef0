"""The whole run, its page and its data, and the command."""

from __future__ import annotations

from datetime import date
from time import perf_counter, process_time

import numpy as np
import pytest

from fabella.bench import Machine, Part, Report, Sizes, as_markdown, as_tree, run
from tests.cli.running import ROOT, call

TINY = Sizes(loads=1, examinations=1, passes=1, knees=20, chunk=20, compared=2, rounds=1)


@pytest.fixture(scope="module")
def report() -> Report:
    """Return a run of all but the slow comparison, as small as can be."""
    return run(
        Machine(perf_counter, process_time, size=64, rounds=1),
        measured_on=date(2026, 1, 2),
        sizes=TINY,
        rng=np.random.default_rng(1),
        parts=(Part.LOAD, Part.WORKUP, Part.COHORT),
    )


def test_a_run_begins_with_the_machine_and_keeps_the_order(report: Report) -> None:
    """The machine's own rate comes first, then the parts in their order, each with a limit of its own."""
    parts = list(dict.fromkeys(each.part for each in report.figures))
    assert parts == ["machine", "load", "workup", "cohort"]
    assert all(any(each.part == part and each.limit for each in report.figures) for part in parts[1:])


def test_each_part_is_announced_when_it_begins() -> None:
    """Whoever waits is told what is being measured."""
    begun: list[Part] = []
    run(
        Machine(perf_counter, process_time, size=16, rounds=1),
        measured_on=date(2026, 1, 2),
        sizes=TINY,
        rng=np.random.default_rng(1),
        parts=(Part.WORKUP,),
        begin=begun.append,
    )
    assert begun == [Part.WORKUP]


def test_the_page_holds_every_figure_and_nothing_about_the_machine_but_its_cores(report: Report) -> None:
    """The page names the day, the number of cores and the versions, and has one line a figure."""
    page = as_markdown(report)
    assert f"Measured on 2026-01-02 on {report.cores} cores with python" in page
    assert page.count("\n| ") == 1 + len(report.figures)
    assert all(f"| {each.what} |" in page for each in report.figures)


def test_the_data_hold_the_ratios(report: Report) -> None:
    """What is printed as JSON has the ratio and the verdict of every figure."""
    figures = as_tree(report)["figures"]
    assert isinstance(figures, list)
    assert [each["ratio"] for each in figures] == [each.ratio for each in report.figures]
    assert [each["met"] for each in figures] == [each.met for each in report.figures]


def test_the_published_page_is_of_this_program() -> None:
    """docs/speed.md has the words that the command writes and a real run below them."""
    page = (ROOT / "docs" / "speed.md").read_text("utf-8")
    head = as_markdown(Report(measured_on=date(2026, 1, 2), cores=1, software={}, figures=()))
    assert page.startswith(head[: head.index("Measured on")])
    for part in ("machine", "load", "workup", "cohort", "general library"):
        assert f"| {part} | " in page


def test_the_command_measures_only_what_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """It leaves with 0 whatever it finds, and answers as a table or as data."""
    monkeypatch.chdir(ROOT)
    left = call("bench", "workup", "--examinations", "1")
    assert (left.code, left.err) == (0, "")
    assert "19 of 20 workups take at most" in left.out
    assert "share of the matrix-multiply rate" not in left.out
    tree = call("bench", "cohort", "--knees", "30", "--json").json
    assert {each["part"] for each in tree["figures"]} == {"machine", "cohort"}
    assert tree["cores"] >= 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--json", "--markdown"), "not for both"),
        (("--full", "--knees", "3"), "not for both"),
        (("nothing",), "nothing"),
    ],
)
def test_a_wrong_question_is_a_usage_error(arguments: tuple[str, ...], said: str) -> None:
    """Contradicting options and unknown parts leave with 2 before anything is measured."""
    left = call("bench", *arguments)
    assert (left.code, left.out) == (2, "")
    assert said in left.err
