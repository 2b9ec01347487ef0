"""``fabella audit``: own examinations against what scans and operations showed later."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Annotated

import typer

from fabella.anatomy import load_lesions
from fabella.cli.audit_answer import audit_tree
from fabella.cli.audit_view import audit_page
from fabella.cli.clock import today
from fabella.cli.drawing import open_console, show
from fabella.cli.intake import NOTHING, AsJson, Lines, Taken, paths_of, problems_at, take
from fabella.cli.many import Watch
from fabella.cli.streams import print_json
from fabella.cli.whole_file import read_whole
from fabella.errors import FabellaError, InputError, Problems
from fabella.evidence.knowledge import load_knowledge
from fabella.hands import Confirmation, by_hands, read_confirmation
from fabella.hands import audit as audit_hands
from fabella.protocol import load_protocol
from fabella.record import Examination
from fabella.report.hands_words import hands_words
from fabella.workup import Workup


def audit(
    files: Annotated[
        list[str],
        typer.Argument(
            help="Examination files of one examiner; .jsonl holds one examination a line.", show_default=False
        ),
    ],
    *,
    confirmed: Annotated[
        list[Path],
        typer.Option(
            "--confirmed",
            help="What was seen later, one confirmation a line; may be repeated.",
            show_default=False,
        ),
    ],
    lines: Lines = False,
    as_json: AsJson = False,
) -> None:
    """Hold examinations against what scans and operations showed later.

    Says of each sign how sensitive and specific it is in these hands beside what is published, how well the
    probabilities that were told held, and what came as a surprise. Give all examinations, also those of knees
    that nobody looked into: without them the numbers are biased. Nothing is reckoned while a file has faults.
    """
    paths = paths_of(files)
    given = _confirmations(paths_of([str(path) for path in confirmed]))
    with Watch(paths, by_lines=False) as watch:
        examinations = _examinations(tuple(take(paths, lines=lines, passed=watch.passed)), files)
        hands = audit_hands(_worked_up(examinations, watch), given, knowledge=load_knowledge())
    if as_json:
        print_json(audit_tree(hands))
        return
    words = hands_words(hands, protocol=load_protocol(), lesions=load_lesions())
    show(open_console(), audit_page(hands, words))


def _worked_up(examinations: Sequence[Examination], watch: Watch) -> Iterator[Workup]:
    for each in examinations:
        yield by_hands(each)
        watch.concluded()


def _examinations(taken: Sequence[Taken], files: Sequence[str]) -> tuple[Examination, ...]:
    """Return the examinations, or raise everything wrong with any of them, one given twice included."""
    if not taken:
        raise FabellaError(f"{files[0]}: {NOTHING}")
    problems = Problems()
    times = Counter(each.result.id for each in taken if isinstance(each.result, Examination))
    for each in taken:
        problems += each.problems()
        if isinstance(each.result, Examination) and times[each.result.id] > 1:
            problems.add(
                f"{each.place}: id",
                each.result.id,
                "is the id of more than one examination",
                "give each examination once, under an id of its own",
            )
    problems.raise_any()
    return tuple(each.examination() for each in taken)


def _confirmations(paths: Sequence[Path]) -> tuple[Confirmation, ...]:
    """Return what was seen, or raise everything wrong with any of the files."""
    lesions, day = load_lesions(), today()
    problems = Problems()
    read: list[Confirmation] = []
    for path in paths:
        for number, text in enumerate(read_whole(path).split(b"\n"), start=1):
            if not text.strip():
                continue
            try:
                read.append(read_confirmation(text, lesions=lesions, today=day, line=number))
            except InputError as error:
                problems += problems_at(error, str(path), number)
    problems.raise_any()
    if not read:
        raise FabellaError(f"{paths[0]}: holds no confirmation")
    return tuple(read)
