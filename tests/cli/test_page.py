import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from functools import cache
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console

from fabella.anatomy import Side, load_lesions
from fabella.cli.drawing import show
from fabella.cli.page import conclusion_page
from fabella.cli.words import CAUTION, grounding_words, load_words
from fabella.protocol import load_protocol
from fabella.record import read_examination
from fabella.workup import (
    Alarm,
    AlarmVerdict,
    Fit,
    Grounding,
    KneeConclusion,
    Urgency,
    Withheld,
    Workup,
    run_workup,
)
from tests.cli.running import EXAMPLES, HANDBALL, MORNINGS, YEARS, call


@cache
def workup(example: Path = HANDBALL) -> Workup:
    """The workup of an example, that of a twisted knee if not told otherwise."""
    return run_workup(
        read_examination(example.read_bytes(), protocol=load_protocol(), today=date(2100, 1, 1))
    )


def page(capsys: pytest.CaptureFixture[str], shown: Workup, *, width: int = 80, top: int = 5) -> str:
    """The page of a workup as it is printed."""
    console = Console(width=width, highlight=False, markup=False, emoji=False, file=StringIO())
    sides = (Side.RIGHT, Side.LEFT)
    show(console, conclusion_page(shown, words=load_words(), sides=sides, top=top, console=console))
    return capsys.readouterr().out


def with_right(shown: Workup, change: KneeConclusion) -> Workup:
    """The workup with another right knee."""
    assert shown.conclusion is not None
    knees = tuple(change if knee.side is Side.RIGHT else knee for knee in shown.conclusion.knees)
    return replace(shown, conclusion=replace(shown.conclusion, knees=knees))


def right_of(shown: Workup) -> KneeConclusion:
    """The right knee of a workup."""
    assert shown.conclusion is not None
    return shown.conclusion.knee(Side.RIGHT)


def in_order(text: str, parts: Iterable[str]) -> bool:
    """Say whether all parts stand in a text, one after the other."""
    return re.search(".*".join(map(re.escape, parts)), text, re.DOTALL) is not None


def flat(text: str) -> str:
    """The text with every run of blanks and line ends as one blank."""
    return " ".join(text.split())


def test_the_page_is_read_from_the_top(capsys: pytest.CaptureFixture[str]) -> None:
    """What cannot wait comes first, met before open; then right knee, left knee, what next, the caution."""
    text = page(capsys, workup())
    assert in_order(
        text,
        (
            "twist-at-handball",
            "What cannot wait",
            "! Right knee",
            "because",
            "source",
            "Right knee ─",
            "anterior cruciate ligament tear",
            "complete",
            "for ",
            "rests on",
            "together",
            "Left knee ─",
            "Not complained of",
            "What next",
            "At the bedside",
            "Images",
            workup().edition,
        ),
    )
    assert flat(text).count(CAUTION) == 1
    assert flat(text).endswith(CAUTION)


def test_what_is_open_stands_below_what_is_met(capsys: pytest.CaptureFixture[str]) -> None:
    """A rule that is met comes before one that cannot be excluded."""
    text = page(capsys, workup(HANDBALL.with_name("slip_on_ice.json")))
    assert in_order(text, ("What cannot wait", "! Both knees", "because", "source", "cannot be excluded"))


def test_what_is_not_urgent_has_its_own_heading(capsys: pytest.CaptureFixture[str]) -> None:
    """A rule that can wait is told apart from those that cannot, also when it alone is met."""
    whole = workup(HANDBALL.with_name("slip_on_ice.json"))
    heading, routine = "Not urgent, not to be missed ─", "- Both knees, routinely"
    assert in_order(page(capsys, whole), ("What cannot wait", "! Both knees, today", heading, routine))
    alone = tuple(each for each in whole.alarms if each.urgency is Urgency.ROUTINE_BUT_DO_NOT_MISS)
    text = page(capsys, replace(whole, alarms=alone))
    assert in_order(text, ("What cannot wait", "No urgent rule is met", heading, routine))


def test_every_number_is_that_of_the_workup(capsys: pytest.CaptureFixture[str]) -> None:
    """Each lesion named has its own percentage and interval in its line, rounded as in a letter."""
    text = page(capsys, workup(), width=120, top=3)
    for entry in right_of(workup()).any_level()[:3]:
        name = load_lesions()[entry.lesion].name
        line = next(line for line in text.splitlines() if line.startswith(f"  {name}"))
        low, high = (min(max(round(each * 100), 1), 99) for each in (entry.low, entry.high))
        assert line.endswith(f"{low} to {high}%")
        assert f"{round(entry.probability * 100)}%  " in line


@pytest.mark.parametrize("width", [40, 60, 80, 100, 140])
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_page_fits_every_width(width: int, path: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """No line is longer than the terminal, none ends in blanks, and every bar is whole."""
    monkeypatch.setenv("COLUMNS", str(width))
    for name in ("conclude", "next"):
        text = call(name, path).out
        assert max(map(len, text.splitlines())) <= width
        assert not re.search(r" $", text, re.MULTILINE)
    cells = 20 if width >= 66 else 10
    bars = re.findall(r"[·├─●┤]*●[·├─●┤]*", call("conclude", path).out)
    assert bars
    assert {len(each) for each in bars} == {cells}


def test_nothing_is_said_by_colour(monkeypatch: pytest.MonkeyPatch) -> None:
    """Piped output has no escape codes; without colour only weight is used, and the words stay the same."""
    plain = call("conclude", HANDBALL).out
    assert "\x1b" not in plain
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm-256color")
    bold = call("conclude", HANDBALL).out
    assert set(re.findall(r"\x1b\[([0-9;]*)m", bold)) <= {"0", "1", "2", "1;2"}
    assert re.sub(r"\x1b\[[0-9;]*m", "", bold) == plain


def test_a_plain_terminal_gets_plain_characters() -> None:
    """Where the terminal knows only ASCII, bars and arrows are drawn with it and nothing is lost as ``?``."""
    text, rich = (call("conclude", HANDBALL, encoding=each).out for each in ("ascii", "utf-8"))
    assert re.search(r"\.+\[-*#-*\]\.+", text)
    assert "->" in text
    assert text.count("?") == rich.count("?")


def test_poor_fit_is_said_first_and_names_the_odd_signs(capsys: pytest.CaptureFixture[str]) -> None:
    """When the findings fit nothing, the knee begins with that, with the signs that fit least."""
    knee = replace(right_of(workup()), fit=Fit(p_value=0.01, poor=True, odd=("lachman", "effusion")))
    text = flat(page(capsys, with_right(workup(), knee)))
    assert in_order(
        text, ("Right knee ─", "fit nothing here well, least of all", "Lachman", "effusion", "100%")
    )


def test_a_knee_without_complaint_takes_one_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    """A quiet knee is told in two lines at most, but not when something is likely in it or nothing fits."""
    shown = workup()
    quiet = page(capsys, shown).split("Left knee ─")[1].split("What next")[0]
    assert len([line for line in quiet.splitlines()[1:] if line.strip()]) <= 2
    loud = page(capsys, with_right(shown, replace(right_of(shown), symptomatic=False)))
    assert "Right knee, not complained of" in loud


def test_what_is_alike_on_both_knees_is_said_once(capsys: pytest.CaptureFixture[str]) -> None:
    """The same alarm on both knees is one, and says so."""
    alarm = next(each for each in workup().alarms if each.verdict is AlarmVerdict.MET)
    both: tuple[Alarm, ...] = tuple(replace(alarm, side=side) for side in Side)
    text = page(capsys, replace(workup(), alarms=both))
    assert text.count("! Both knees, ") == 1
    assert flat(text).count(alarm.action) == 1


def test_no_alarm_is_said_too(capsys: pytest.CaptureFixture[str]) -> None:
    """The page says so when no rule is met, and whether any is left open."""
    assert "No rule is met, and none is left open." in page(capsys, replace(workup(), alarms=()))
    still_open = tuple(each for each in workup(YEARS).alarms if each.verdict is not AlarmVerdict.MET)
    assert any(each.unknown for each in still_open)
    assert "No rule is met.\n" in page(capsys, replace(workup(), alarms=still_open))


def test_every_open_alarm_is_on_the_page(capsys: pytest.CaptureFixture[str]) -> None:
    """Each rule that cannot be excluded is named with what to ask, or among what is less pressing."""
    for path in EXAMPLES:
        text = flat(call("conclude", path).out)
        for alarm in call("conclude", path, "--json").json["cannot_wait"]:
            assert alarm["name"] in text
            if alarm["verdict"] == "cannot_be_excluded" and alarm["urgency"] in {"now", "same_day"}:
                assert all(criterion["ask"] in text for criterion in alarm["unknown"])
    assert capsys.readouterr().out == ""


def test_shares_are_said_in_percent() -> None:
    """What a number rests on is said by kind, empty kinds left out."""
    assert (
        grounding_words(Grounding(published=0.4, derived=0, judgement=0.6)) == "40% published, 60% judgement"
    )
    assert grounding_words(Grounding(published=0, derived=0, judgement=0)) == "the prior alone"


def test_signs_are_named_as_in_the_protocol() -> None:
    """Reasons, odd and unused signs appear by name, never by id."""
    for path in (HANDBALL, MORNINGS, YEARS):
        assert "_" not in call("conclude", path).out
        assert "_" not in call("next", path).out


def test_a_history_alone_sends_nobody_into_a_scanner(capsys: pytest.CaptureFixture[str]) -> None:
    """Images are named only when something was examined."""
    assert "Magnetic resonance imaging" in page(capsys, workup())
    untouched = replace(workup(), examination=replace(workup().examination, findings=()))
    assert "Magnetic resonance imaging" not in page(capsys, untouched)


def test_of_what_entered_nowhere_only_the_abnormal_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    """A finding without meaning for the model is told with its grade when abnormal, not when normal."""
    right = replace(right_of(workup()), unused=("walking_aid", "fall_or_blunt_trauma"))
    said = page(capsys, with_right(workup(), right))
    assert "not used  walking aid, crutches" in said
    assert "blow" not in said


def test_of_much_that_is_withheld_the_page_names_the_first(capsys: pytest.CaptureFixture[str]) -> None:
    """Nine tests withheld for one reason are four and a number; five are named."""
    advice = workup().advice
    assert advice is not None

    def withheld(count: int) -> str:
        tests = tuple(
            Withheld(id=f"test_{n}", name=f"Test {n}", side=Side.RIGHT, reasons=("Fracture suspected",))
            for n in range(count)
        )
        return page(capsys, replace(workup(), advice=replace(advice, withheld=tests)), width=200)

    assert "test 2; test 3; and 5 more." in withheld(9)
    assert "test 3; test 4." in withheld(5)
