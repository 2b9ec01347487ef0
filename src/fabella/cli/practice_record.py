"""A student's own record of practice in the terminal: a file of theirs, one debriefed run a line."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from rich.console import RenderableType

from fabella.anatomy import load_lesions
from fabella.cli.drawing import heading, labelled, paragraph
from fabella.cli.opening import data_folder
from fabella.cli.whole_file import text_of
from fabella.errors import UsageError
from fabella.protocol import Protocol
from fabella.report.wording import counted
from fabella.teach import Learned, Scheduled, due_on, learned_from, schedule
from fabella.teach.past import Past, past_text, read_past
from fabella.teach.record_words import belief_words, habit_rate_words, next_lines, rate_words, when_words
from fabella.teach.wording import clock_words, habit_words, item_words, lesson_words

NAME = "practice.jsonl"
_OWN = 0o600
_SHOWN = 10
_NEXT = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRecord:
    """A student's record: where it is kept (None: nowhere), the runs in it, and the time it is read at."""

    path: Path | None
    runs: tuple[Past, ...]
    now: datetime

    @property
    def scheduled(self) -> tuple[Scheduled, ...]:
        """Everything that was missed and comes again, the most urgent first."""
        return schedule([(each.begun, each.facts) for each in self.runs], now=self.now)

    @property
    def due(self) -> tuple[Scheduled, ...]:
        """What of it is due today."""
        return due_on(self.scheduled, self.now.date())


def own_record(named: Path | None, *, none: bool, asked: bool) -> OwnRecord:
    """Return the record in the file that was named, else in the data folder.

    There is none where a file is played instead of somebody typing, unless the record is asked for.
    """
    if none and (named is not None or asked):
        raise UsageError("--no-record goes with none of --record, --due and --so-far")
    is_typed = sys.stdin is not None and sys.stdin.isatty()
    path = data_folder() / NAME if named is None and (is_typed or asked) else named
    now = datetime.now().astimezone()
    if none or path is None or not path.exists():
        return OwnRecord(path=None if none else path, runs=(), now=now)
    return OwnRecord(path=path, runs=read_past(text_of(path)), now=now)


def due_line(record: OwnRecord) -> str:
    """Return what is due today, for whoever asked for a patient for it, in one sentence."""
    if due := len(record.due):
        things = "thing" if due == 1 else "things"
        return f"Due today: {due} {things} that you missed. The patient comes for that."
    if not record.scheduled:
        return "Nothing is due: nothing was missed so far. Any patient comes in."
    soonest = min(each.due for each in record.scheduled)
    when = when_words(soonest, record.now.date())
    return f"Nothing is due today; what comes next is due {when}. Any patient comes in."


def with_run(record: OwnRecord, path: Path, run: Past) -> OwnRecord:
    """Keep a run in a record's file, and return the record with it."""
    add_run(path, run)
    return replace(record, runs=(*record.runs, run))


def add_run(path: Path, run: Past) -> None:
    """Add a run to a record, which only its owner reads; it is on the disk when this returns."""
    line = f"{past_text(run)}\n"
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with open(os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND, _OWN), "r+b") as file:  # noqa: PTH123
            size = file.seek(0, os.SEEK_END)
            if size and (file.seek(size - 1), file.read(1))[1] != b"\n":
                line = f"\n{line}"  # a line that was cut short stays by itself
            file.write(line.encode())
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise UsageError(f"{path}: the record cannot be kept there: {error.strerror}") from None


def kept_page(record: OwnRecord, protocol: Protocol) -> Iterator[RenderableType]:
    """Yield what stands below a debrief: where the run was kept, and what comes again."""
    yield heading("Your record")
    yield paragraph(f"{_runs(record)}, in {record.path}; fabella practice --so-far shows it.")
    yield labelled(_again(record.scheduled[:_NEXT], record.now, protocol))


def record_page(record: OwnRecord, protocol: Protocol) -> Iterator[RenderableType]:
    """Yield a whole record part by part."""
    if not record.runs:
        yield paragraph("Nothing yet. Your record begins with the first run that you play to its debrief.")
        return
    learned = learned_from([(each.begun, each.facts) for each in record.runs], now=record.now)
    yield paragraph(f"{_runs(record)}, in {record.path}.")
    yield ""
    if lines := next_lines(learned.scheduled, record.now.date(), protocol=protocol):
        yield heading("Take to your next patient")
        for line in lines:
            yield paragraph(line, mark="·")
        yield ""
    yield heading("What comes again")
    yield labelled(_again(learned.scheduled[:_SHOWN], record.now, protocol))
    yield ""
    yield heading("How sure, and how right")
    for sentence in belief_words(learned.belief):
        yield paragraph(sentence)
    yield labelled(
        (f"said {each.low:.0%} to {each.high:.0%}", f"there in {each.came_true.estimate:.0%} of {each.n}")
        for each in learned.belief.bins
    )
    yield ""
    yield from _signs(learned, protocol)
    yield from _lesions(learned)
    yield heading("Habits, and in how many runs each was kept")
    for each in learned.habits:
        yield labelled([(habit_words(each.habit, kept=True).rstrip("."), habit_rate_words(each))])
    yield ""
    yield heading("Run by run, the latest first")
    for run in reversed(record.runs):
        took = f"{run.begun.astimezone():%Y-%m-%d}, {clock_words(run.facts.seconds)} minutes"
        yield labelled([(took, lesson_words(run.lesson, protocol=protocol))])


def _runs(record: OwnRecord) -> str:
    return counted(len(record.runs), "debriefed run")


def _again(scheduled: Sequence[Scheduled], now: datetime, protocol: Protocol) -> Iterator[tuple[str, str]]:
    if not scheduled:
        yield "nothing", "was missed so far"
    for each in scheduled:
        what = item_words(each.item, protocol=protocol).rstrip(".")
        yield when_words(each.due, now.date()), f"{what} (missed {each.missed} of {each.met})"


def _lesions(learned: Learned) -> Iterator[RenderableType]:
    if learned.lesions:
        names = load_lesions()
        yield heading("Lesions: there, named, given half or more; not there and given half or more")
        yield labelled(
            (
                names[each.lesion].name,
                f"{each.there}, {each.named}, {each.held}; {each.overcalled}",
            )
            for each in learned.lesions[:_SHOWN]
            if each.lesion in names
        )
        yield ""


def _signs(learned: Learned, protocol: Protocol) -> Iterator[RenderableType]:
    read = [each for each in learned.signs if each.sign in protocol and (each.seen.n or each.cleared.n)]
    if read:
        yield heading("Signs that were there and you saw; not there and you said so")
        for each in read[:_SHOWN]:
            seen, cleared = rate_words(each.seen), rate_words(each.cleared)
            yield labelled([(protocol.sign(each.sign).name, f"{seen}; {cleared}")])
        yield ""
