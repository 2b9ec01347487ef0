"""A lesion has one probability: the plan starts from the number that the conclusion tells.

Held against each other is what is printed, as a reader would: letter, patient's page, terminal and JSON.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from fabella import cli
from fabella.anatomy import Side, load_lesions
from fabella.protocol import load_protocol
from fabella.record import Acuity, Context, Examination, Mechanism, Patient, Setting, read_examination
from fabella.report import as_text, build_letter, build_summary, letter_document, summary_document
from fabella.stats.written import percentage
from fabella.workup import ANY_LEVEL, Workup, draw_examinations, drawable, load_model, run_workup
from tests.fifty_patients import SEEN_ON, patients

EXAMPLES = Path(__file__).parents[1] / "examples"
FILES = tuple(sorted((*EXAMPLES.glob("*.json"), *EXAMPLES.glob("follow/*.json"))))
DRAWN = (
    Context(setting=Setting.EMERGENCY, acuity=Acuity.ACUTE, mechanism=Mechanism.TWIST),
    Context(setting=Setting.SPORTS_CLINIC, acuity=Acuity.SUBACUTE),
    Context(setting=Setting.SPECIALIST_CLINIC, acuity=Acuity.CHRONIC),
    Context(setting=Setting.PRIMARY_CARE),
)
DRAWN_EACH = 12
AGES = (15.0, 27.0, 44.0, 68.0)
NAMES = {each.id: each.name for each in load_lesions().values()}
PERCENT = r"(?:over |under |>|<)?\d+%"


def examples() -> Iterator[Examination]:
    """Every example file, those of courses line by line."""
    protocol = load_protocol()
    courses = (EXAMPLES / "follow").glob("*.jsonl")
    texts = [*(file.read_text() for file in FILES), *(x for c in courses for x in c.read_text().splitlines())]
    return (read_examination(text, protocol=protocol, today=SEEN_ON) for text in texts)


def drawn() -> Iterator[Examination]:
    """Knees drawn from the model in four clinics, with a third of the routine signs, whichever they are."""
    rng = np.random.default_rng(20261101)
    model = load_model()
    signs = drawable(model, load_protocol(), None, routine=True)
    for context, age in zip(DRAWN, AGES, strict=True):
        for _ in range(DRAWN_EACH):
            few = [each for each in signs if rng.random() < 1 / 3]
            found = draw_examinations(model, few, 1, rng, patient=Patient(age_years=age), context=context)
            yield next(iter(found)).examination


@cache
def workups() -> tuple[Workup, ...]:
    """What is concluded of all of them, and of fifty invented patients."""
    everyone = (*examples(), *(each.examination for each in patients()), *drawn())
    return tuple(map(run_workup, everyone))


def concluded(workup: Workup, side: Side) -> dict[str, float]:
    """The probability of each lesion of a knee."""
    assert workup.conclusion is not None
    return {each.lesion: each.probability for each in workup.conclusion.knee(side).any_level()}


def test_every_step_starts_from_what_is_concluded() -> None:
    """To the last digit, for every outcome of every step; before, one in 30 was written otherwise."""
    started, far = 0, 0
    for workup in workups():
        assert workup.advice is not None
        for step in (*workup.advice.first, *workup.advice.bedside, *workup.advice.images):
            told = concluded(workup, step.side)
            for outlook in step.outlooks:
                assert outlook.now == told[outlook.lesion], (workup.examination.id, step.id, outlook)
                assert 0 <= outlook.then <= 1
                started, far = started + 1, far + (abs(outlook.then - outlook.now) > 0.05)
    assert started > 800
    assert far > 100


def written(text: str, lesion: str) -> set[str]:
    """Every percentage that stands behind the name of a lesion, with or without its bar: how likely it is."""
    flat = re.sub(r"[·─├┤●]+|\s+", " ", text)
    found = re.findall(rf"{re.escape(NAMES[lesion])}(?: +|, +| from +)({PERCENT})", flat, re.IGNORECASE)
    return {each.replace(">", "over ").replace("<", "under ") for each in found}


def told_of(workup: Workup) -> dict[str, set[str]]:
    """The percentages of each lesion that may stand on paper: one a knee."""
    sides = [concluded(workup, side) for side in Side]
    return {lesion: {percentage(each[lesion]) for each in sides} for lesion in NAMES}


def test_letter_and_page_write_one_percentage() -> None:
    """Of each lesion of a knee: as the conclusion, as what else fits, and as what a step would move."""
    in_plans = 0
    for workup in workups():
        day = workup.examination.examined_on or SEEN_ON
        letter = as_text(letter_document(build_letter(workup, written_on=day, practice=True)))
        page = as_text(summary_document(build_summary(workup, written_on=day, practice=True)))
        told = told_of(workup)
        for lesion, name in NAMES.items():
            for text in (letter, page):
                assert written(text, lesion) <= told[lesion], (workup.examination.id, lesion)
            in_plans += f"{name} from" in " ".join(letter.split())
    assert in_plans > 25


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_terminal_and_json_write_one_percentage(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of an example file, by ``fabella conclude`` and ``fabella next``; the JSON to the last digit.

    What lesions are there together is a percentage of another thing.
    """
    workup = run_workup(read_examination(file.read_text(), protocol=load_protocol(), today=SEEN_ON))
    told, seen = told_of(workup), 0
    for command in ("conclude", "next"):
        with pytest.raises(SystemExit):
            cli.main((command, str(file)))
        said = re.sub(r"^  together .*?^  or ", "", capsys.readouterr().out, flags=re.DOTALL | re.MULTILINE)
        for lesion in NAMES:
            seen += len(written(said, lesion))
            assert written(said, lesion) <= told[lesion], (command, lesion)
    assert seen
    with pytest.raises(SystemExit):
        cli.main(("conclude", str(file), "--json"))
    tree = json.loads(capsys.readouterr().out)
    likely = {
        (side, each["id"]): each["probability"]
        for side, knee in tree["knees"].items()
        for each in knee["lesions"]
        if each["level"] == ANY_LEVEL
    }
    for step in tree["next_steps"]:
        for outlook in step["outlooks"]:
            assert outlook["now"] == likely[step["side"], outlook["lesion"]]
