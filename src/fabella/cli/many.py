"""Many examinations in one run: a line for each, what is wrong with some, and how far it has come."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn
from rich.text import Text

from fabella.anatomy import Side
from fabella.cli.drawing import open_console
from fabella.cli.intake import STANDARD_INPUT
from fabella.cli.words import Words
from fabella.errors import Problem
from fabella.report.likelihood_words import chance, short
from fabella.workup import Urgency, Workup

_LEAST = 80  # characters in a line; where there are more, the lesion has them
_BY = {
    Urgency.NOW: "now",
    Urgency.SAME_DAY: "today",
    Urgency.WITHIN_48_HOURS: "48 h",
    Urgency.WITHIN_2_WEEKS: "2 weeks",
}


class Watch:
    """Shows how far a long run has come, on standard error, unless its lines can be seen coming anyway.

    ``by_lines`` is False for a run that writes nothing before its end.
    """

    def __init__(self, paths: Sequence[Path], *, by_lines: bool = True) -> None:
        self._console = open_console(stderr=True)
        self._progress = Progress(
            TextColumn("{task.description}"),
            BarColumn(),
            TextColumn("{task.fields[done]} concluded"),
            TimeRemainingColumn(),
            console=self._console,
            disable=not self._console.is_terminal or (by_lines and sys.stdout.isatty()),
            redirect_stdout=False,
            redirect_stderr=False,
        )
        self._task = self._progress.add_task("", total=_bytes_in(paths), done=0)
        self._done = 0
        self.wrong = 0

    def __enter__(self) -> Self:
        self._progress.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._progress.stop()

    def passed(self, count: int) -> None:
        """Note that so many bytes were read."""
        self._progress.advance(self._task, count)

    def concluded(self) -> None:
        """Note that one more examination is done."""
        self._done += 1
        self._progress.update(self._task, done=self._done)

    def complain(self, problems: Iterable[Problem]) -> None:
        """Say what is wrong in one place, one problem a line, and go on."""
        self.wrong += 1
        for problem in problems:
            self._console.print(Text(f"fabella: {problem}"), soft_wrap=True)


def _bytes_in(paths: Sequence[Path]) -> int | None:
    """Return how much there is to read; None when that cannot be known."""
    try:
        return None if STANDARD_INPUT in paths else sum(path.stat().st_size for path in paths)
    except OSError:
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """Writes workups as lines of a table, each as soon as it is known; ``width`` in characters."""

    words: Words
    sides: tuple[Side, ...]
    width: int

    def titles(self) -> str:
        """Return the head of the table."""
        return self._line("examination", "knee", "likeliest", "", "90% int.", "cannot wait")

    def of(self, workup: Workup) -> Iterator[str]:
        """Yield one line for each knee complained of."""
        name = workup.examination.id
        met = [each for each in workup.alarms if each.is_met and each.urgency in _BY]
        wait = f"{len(met)} ({_BY[met[0].urgency]})" if met else ""
        if workup.conclusion is None:
            yield self._line(name, "", "could not be concluded", "", "", wait)
            return
        knees = [workup.conclusion.knee(side) for side in self.sides]
        for knee in [each for each in knees if each.symptomatic] or knees:
            first = knee.any_level()[0]
            said = chance(first.probability, low=first.low, high=first.high)
            likeliest = self.words.lesion(first.lesion) + (" ?" if knee.fit.poor else "")
            yield self._line(
                name, knee.side.value, likeliest, short(said.percent), short(said.interval), wait
            )
            name = wait = ""

    def _line(self, *cells: str) -> str:
        widths = (20, 5, max(self.width, _LEAST) - 56, 4, 10, 12)
        fitted = (
            each if len(each) <= width else f"{each[: width - 1]}…"
            for each, width in zip(cells, widths, strict=True)
        )
        return " ".join(each.ljust(width) for each, width in zip(fitted, widths, strict=True)).rstrip()
