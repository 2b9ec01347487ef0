import ast
import gc
import json
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import BrokenExecutor
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from typing import ClassVar
from weakref import ref

import pytest
from django.template import engines

from fabella import web
from fabella.anatomy import Side
from fabella.protocol import load_protocol
from fabella.record import Examination, Finding, Origin, State, write_examination
from fabella.report.answer import conclusion_tree
from fabella.report.cannot_wait import Urgent
from fabella.store.clinic.concluded import concluded_from, concluded_tree
from fabella.web import concluding, elsewhere
from fabella.web.api.conclusion import live_tree
from fabella.web.concluding import live, workup_of
from fabella.web.elsewhere import computed, soon_computed, when_computed
from fabella.web.hands.working_up import Signed, work_up
from fabella.web.workers import Workers
from fabella.workup import ANY_LEVEL, Workup
from tests.web.hands import wait_until

LAX = Finding(sign="lachman", side=Side.RIGHT, state=State.ABNORMAL, level="2+")
EXAMINATION = Examination(id="one", origin=Origin.INVENTED, findings=(LAX,))


@pytest.mark.usefixtures("workers")
def test_it_makes_no_difference_where_it_is_concluded() -> None:
    """Another process comes to the very same conclusion, plate included, and computes each state once."""
    there = live(EXAMINATION)
    assert live(replace(EXAMINATION)) is there
    elsewhere._workers.clear()
    assert live(EXAMINATION) == there


def test_a_killed_process_costs_no_conclusion(workers: Workers) -> None:
    """When the other process is killed the conclusion is drawn here, and the next one elsewhere again."""
    killed = workers.start(os.getpid).result()
    os.kill(killed, signal.SIGKILL)
    assert live(replace(EXAMINATION, id="two")).concluded.knees
    assert live(replace(EXAMINATION, id="three")).concluded.knees
    assert workers.start(os.getpid).result() not in {killed, os.getpid()}


def test_processes_that_always_end_are_given_up(workers: Workers, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no other process can live, conclusions are drawn here, and three tries are all that it costs."""
    tries = []

    def end(*_: object) -> None:
        tries.append(1)
        raise BrokenExecutor("it ended")

    monkeypatch.setattr(workers, "start", end)
    for number in range(5):
        assert live(replace(EXAMINATION, id=f"again-{number}")).concluded.knees
    assert len(tries) == 3


def test_the_other_process_ends_with_the_server() -> None:
    """A server that is killed leaves nobody behind."""
    server = Workers(1)
    conclusion_process = server.start(_start_another).result()
    os.kill(server.start(os.getpid).result(), signal.SIGKILL)
    server.end()
    wait_until(lambda: not _runs(conclusion_process))


_kept: list[Workers] = []


def _start_another() -> int:
    """Start a process of one's own, as a server does, and return its number."""
    _kept.append(Workers(1))
    return _kept[0].start(os.getpid).result()


def _runs(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return not _is_dead(process)


def _is_dead(process: int) -> bool:
    """Whether nothing is left of a process but its number."""
    try:
        with open(f"/proc/{process}/stat", encoding="ascii") as file:  # noqa: PTH123
            return file.read().split()[2] == "Z"
    except FileNotFoundError:
        return True


def test_what_a_signature_keeps_is_read_as_it_was() -> None:
    """Through JSON and back a conclusion is the same, down to the weight and source of each reason."""
    concluded = live(EXAMINATION).concluded
    kept = json.loads(json.dumps(concluded_tree(workup_of(EXAMINATION))))
    assert concluded_from(kept) == concluded
    assert concluded.knees[0].lesions[0].reasons_for[0].sign == "lachman"


def test_pages_and_commands_state_the_same_reasons() -> None:
    """For every lesion that the pages name, reasons are those of the command, digit by digit."""
    workup, protocol = workup_of(EXAMINATION), load_protocol()
    printed = conclusion_tree(workup, protocol=protocol)
    (knee, *_) = live_tree(live(EXAMINATION).concluded, workup, protocol)["knees"]
    assert knee["lesions"]
    for lesion in knee["lesions"]:
        same = next(
            each
            for each in printed["knees"][knee["side"]]["lesions"]
            if (each["id"], each["level"]) == (lesion["id"], ANY_LEVEL)
        )
        assert (lesion["for"], lesion["against"]) == (same["for"], same["against"])


@pytest.mark.usefixtures("workers")
def test_what_nobody_waits_for_is_begun_one_after_the_other() -> None:
    """Asked for what takes long, nothing holds up the asker; the second is begun when the first is there."""
    assert [when_computed(_slowly, each) for each in (1, 2, 1)] == [None, None, None]
    wait_until(lambda: when_computed(_slowly, 1) == 1)
    assert when_computed(_slowly, 2) is None
    wait_until(lambda: when_computed(_slowly, 2) == 2)
    assert when_computed(_slowly, 1) == 1, "what was computed is not computed again"


def test_what_nobody_waits_for_outlives_a_killed_process(workers: Workers) -> None:
    """When the other process is killed, what it was at is begun anew by the next who asks."""
    assert when_computed(_slowly, 3) is None
    os.kill(workers.start(os.getpid).result(), signal.SIGKILL)
    assert when_computed(_slowly, 4) is None
    wait_until(lambda: when_computed(_slowly, 4) == 4)


def _slowly(number: int) -> int:
    time.sleep(0.2)
    return number


@pytest.mark.usefixtures("workers")
def test_what_takes_longer_than_a_moment_is_asked_for_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody looks at an empty page for longer than a moment; what was begun goes on and is there later."""
    live(EXAMINATION)  # the other process is there
    monkeypatch.setattr(elsewhere, "MOMENT_S", 0.05)
    assert soon_computed(_slowly, 5) is None
    wait_until(lambda: soon_computed(_slowly, 5) == 5)
    assert soon_computed(_slowly, 5) == 5


def test_a_letter_after_the_examination_concludes_nothing_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same examination under the name of whoever signs it is concluded once, and says who it was."""
    live(replace(EXAMINATION, id="written-later"))

    def conclude_anew(_: Examination) -> Workup:
        raise AssertionError("concluded again")

    monkeypatch.setattr(concluding, "run_workup", conclude_anew)
    found = workup_of(replace(EXAMINATION, id="written-later", examiner="Ann Kettle"))
    assert found.examination.examiner == "Ann Kettle"


_HANDING = {"all_computed", "computed", "in_turn", "soon_computed", "when_computed"}


def test_what_is_computed_elsewhere_can_be_read_there() -> None:
    """Every function that a page hands to another process stands in a module that needs no database.

    One that does not would end those processes one by one, and conclusions with them.
    """
    handed = set()
    for path in sorted(Path(web.__file__).parent.rglob("*.py")):
        name = ".".join(
            ("fabella", "web", *path.relative_to(Path(web.__file__).parent).with_suffix("").parts)
        )
        for call in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(call, ast.Call) and getattr(call.func, "id", "") in _HANDING:
                (function, *_) = call.args
                assert isinstance(function, ast.Name), ast.unparse(call)
                handed.add(getattr(import_module(name), function.id).__module__)
    assert len(handed) > 5
    without = {key: value for key, value in os.environ.items() if key != "DJANGO_SETTINGS_MODULE"}
    done = subprocess.run(
        [sys.executable, "-c", "\n".join(f"import {each}" for each in sorted(handed))],
        capture_output=True,
        text=True,
        env=without,
        check=False,
    )
    assert done.returncode == 0, done.stderr


@pytest.mark.usefixtures("workers")
def test_signed_visits_are_worked_up_in_another_process() -> None:
    """Own hands ask for many workups: they come from there, and no process ends over them."""
    signed = Signed(sha256="0" * 64, edition="2026.1", looked_into=True, file=write_examination(EXAMINATION))
    wait_until(lambda: when_computed(work_up, (signed,)) is not None)
    (made,) = when_computed(work_up, (signed,)) or ()
    assert made.conclusion is not None
    assert made.conclusion.knee(Side.RIGHT).any_level()[0].lesion == "acl_tear"
    assert elsewhere._ended == []


def test_one_rule_stays_open_and_two_stay_open() -> None:
    """How many further rules nobody could answer is told in the number of the verb."""
    page = engines["jinja2"].get_template("_conclusion.html")
    open_rule = Urgent(
        rule="septic_joint_adult", where="Right knee", when="now", name="A rule", action="", because=("ask",),
        source="",
    )  # fmt: skip
    for more, words in ((1, "1 further rule stays open"), (2, "2 further rules stay open")):
        concluded = replace(live(EXAMINATION).concluded, unsettled=(open_rule,), unsettled_more=more)
        assert words in page.render({"live": concluded, "weigh_both": ()})


def test_what_is_for_now_and_open_is_not_folded_away() -> None:
    """It stands at the head of what an examination comes to; what can be asked later is folded."""
    page = engines["jinja2"].get_template("_conclusion.html")
    now, later = (
        Urgent(
            rule="knee_dislocation", where="Right knee", when=when, name=f"A rule for {when}", action="",
            because=("ask this", "ask that"), source="",
        )
        for when in ("now", "today")
    )  # fmt: skip
    concluded = replace(live(EXAMINATION).concluded, unsettled=(now, later), unsettled_more=0)
    told = page.render({"live": concluded, "weigh_both": ()})
    assert told.index("A rule for now") < told.index("Ask this; ask that.") < told.index("Right knee</h3>")
    assert told.index("Not excluded either <small>1</small>") < told.index("A rule for today")
    assert told.count("A rule for now") == 1


@dataclass(frozen=True)
class _Large:
    """Something large, of which many editions are asked about in a day."""

    is_large: ClassVar[bool] = True

    edition: int


@pytest.mark.parametrize("is_elsewhere", [True, False])
@pytest.mark.usefixtures("workers")
def test_of_what_is_large_little_is_remembered(is_elsewhere: bool) -> None:
    """An exam that is looked at while it is marked is megabytes, and another one after each mark."""
    if not is_elsewhere:
        elsewhere._workers.clear()
    asked = [_Large(edition) for edition in range(40)]
    left = [ref(each) for each in asked]
    assert [computed(_edition, each) for each in asked] == list(range(40))
    asked.clear()
    gc.collect()
    assert sum(each() is not None for each in left) <= 16


def _edition(about: _Large) -> int:
    return about.edition
