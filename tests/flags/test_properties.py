"""What holds for every examination: unknown is never false, sides never mix, the evidence is not needed."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import fabella
from fabella.anatomy import Side, other
from fabella.flags import cannot_wait, load_rules
from fabella.flags.bleeding import bleed_needs_factor
from fabella.flags.decisions import DECISIONS
from fabella.flags.explanations import bled_after_injury
from fabella.flags.knee import Knee
from fabella.flags.story import TOLD
from fabella.record import Context, Examination, Finding, Mechanism, Patient, State, write_examination
from tests.flags.build import MET, PROTOCOL, Verdicts, verdicts
from tests.flags.examples import EXAMPLES
from tests.flags.published import load_cases
from tests.strategies import examinations

KNOWN = [case.examination for case in load_cases()] + [
    replace(examination, id=f"{rule}.{number}")
    for rule, triple in EXAMPLES.items()
    for number, examination in enumerate(triple)
    if examination
]
RULES = load_rules()
TODAY = date(2025, 6, 30)
ANY = examinations(PROTOCOL, max_findings=40, max_answers=30)


@st.composite
def rich(draw: st.DrawFn) -> Examination:
    """Two examinations laid over each other, at least one of which a rule has something to say about."""
    base, over = draw(st.sampled_from(KNOWN)), draw(st.sampled_from(KNOWN) | ANY)
    findings = {(each.sign, each.side): each for each in (*over.findings, *base.findings)}
    return replace(base, findings=tuple(findings.values()), history={**over.history, **base.history})


def contradicts_itself(examination: Examination) -> bool:
    """Say whether an injury was told of a knee that was not injured: forgetting either half decides."""
    told = any(examination.history.get(item) is True for item in TOLD)
    return told and examination.context.mechanism in {Mechanism.INSIDIOUS, Mechanism.OVERUSE}


RICH = rich().filter(lambda examination: not contradicts_itself(examination))


def forgetting(examination: Examination) -> Iterator[tuple[str, Examination]]:
    """Yield the examination with one thing made unknown: a finding, an answer, the age, the mechanism."""
    for each in examination.findings:
        yield each.sign, examination.without(each.sign, each.side)
    for item in examination.history:
        yield item, replace(examination, history={k: v for k, v in examination.history.items() if k != item})
    yield "age", replace(examination, patient=replace(examination.patient, age_years=None))
    yield "mechanism", replace(examination, context=replace(examination.context, mechanism=None))


def mirrored(examination: Examination) -> Examination:
    """The same examination with right and left exchanged."""
    done = examination.context.procedure
    context = replace(
        examination.context,
        complaint=examination.context.complaint and tuple(map(other, examination.context.complaint)),
        procedure=done and replace(done, sides=tuple(other(side) for side in done.sides)),
    )
    findings = tuple(replace(f, side=other(f.side) if f.side else None) for f in examination.findings)
    imaging = tuple(replace(each, side=other(each.side)) for each in examination.imaging)
    return replace(examination, context=context, imaging=imaging, findings=findings)


def read(examination: Examination, rule: str, side: Side) -> tuple[bool | None, bool | None]:
    """What a rule says of its criteria, and of its relevance."""
    reading = DECISIONS[rule](Knee(examination, side, PROTOCOL))
    return reading.met, reading.relevant


def asked_no_further(knee: Knee) -> bool:
    """Whether a fresh bleed explains the joint, so that of infection only what is known counts."""
    return bled_after_injury(knee) is True or knee.reading(bleed_needs_factor).met is True


def assert_forgetting_never_denies(examination: Examination) -> None:
    """Check the property of `test_forgetting_never_denies` on one examination."""
    for alarm in cannot_wait(examination, protocol=PROTOCOL):
        if alarm.verdict is not MET:
            continue
        for forgotten, poorer in forgetting(examination):
            side = alarm.side or Side.RIGHT
            criteria, relevant = read(poorer, alarm.rule, side)
            if relevant is False and asked_no_further(Knee(poorer, side, PROTOCOL)):
                continue
            assert criteria is not False, (alarm.rule, forgotten)
            assert relevant is not False, (alarm.rule, forgotten)
            heard = verdicts(poorer)
            if any(heard.get((rule, alarm.side)) is MET for rule in RULES[alarm.rule].settled_by):
                continue
            silent = (alarm.rule, alarm.side) not in heard
            assert not silent or (criteria is None and relevant is None), (alarm.rule, forgotten)


@pytest.mark.parametrize("examination", KNOWN, ids=lambda each: each.id)
def test_forgetting_never_denies(examination: Examination) -> None:
    """When one known thing becomes unknown, a met rule stays met or cannot be excluded.

    It may fall silent only when both its criteria and its relevance have become unknown, that is when the
    forgotten thing was all that connected the rule with this knee, or when a met rule that settles it
    remains; never because unknown was read as false. A joint that filled with blood is asked no further.
    (Day of onset and acuity stand in for each other and are left out.)
    """
    assert_forgetting_never_denies(examination)


@given(RICH)
def test_forgetting_never_denies_whatever_was_found(examination: Examination) -> None:
    """The same for published and invented patients laid over each other."""
    assert_forgetting_never_denies(examination)


def untold(examination: Examination) -> Iterator[tuple[str, Examination]]:
    """Yield the examination without its cause, without its time, and without either; what was found stays."""
    told, causeless = examination.context, replace(examination.context, mechanism=None)
    timeless = {"onset_days": None, "acuity": None}
    yield "cause", replace(examination, context=causeless)
    yield "time", replace(examination, context=replace(told, **timeless))
    yield "cause and time", replace(examination, context=replace(causeless, **timeless))


FROM_THE_CAUSE = frozenset({"pittsburgh_knee"})
"""Rules of which the cause is a criterion: who fell is another thing than who twisted a knee."""


@pytest.mark.parametrize("examination", KNOWN, ids=lambda each: each.id)
def test_a_danger_is_asked_about_where_the_story_is_missing(examination: Examination) -> None:
    """What was met and presses is met or asked about when nobody wrote how and when it began."""
    for alarm in cannot_wait(examination, protocol=PROTOCOL):
        rule = RULES[alarm.rule]
        if alarm.verdict is not MET or not rule.urgency.presses or alarm.rule in FROM_THE_CAUSE:
            continue
        for missing, poorer in untold(examination):
            heard = verdicts(poorer)
            settled = any(heard.get((each, alarm.side)) is MET for each in rule.settled_by)
            assert settled or (alarm.rule, alarm.side) in heard, (alarm.rule, missing)


@given(ANY | RICH)
def test_sides_are_alike(examination: Examination) -> None:
    """Exchanging right and left exchanges the alarms and changes nothing else."""
    swapped: Verdicts = {
        (rule, other(side) if side else None): verdict
        for (rule, side), verdict in verdicts(examination).items()
    }
    assert verdicts(mirrored(examination)) == swapped


@given(ANY)
def test_no_examination_breaks_a_rule(examination: Examination) -> None:
    """Any valid examination is read without an error, and every alarm accounts for each criterion once."""
    for alarm in cannot_wait(examination, protocol=PROTOCOL):
        ids = [each.id for each in (*alarm.met, *alarm.unknown, *alarm.unmet)]
        assert len(ids) == len(set(ids))
        assert alarm.action
        assert alarm.source
        assert alarm.met or alarm.unknown


@pytest.mark.parametrize("state", [State.NOT_EXAMINED, State.UNTESTABLE])
def test_not_examined_and_untestable_are_unknown(state: State) -> None:
    """A sign left out, or not testable for pain, says as much as a sign never mentioned."""
    for triple in EXAMPLES.values():
        for examination in filter(None, triple):
            emptied = tuple(Finding(sign=f.sign, side=f.side, state=state) for f in examination.findings)
            bare = replace(examination, findings=())
            assert verdicts(replace(examination, findings=emptied)) == verdicts(bare)


def test_an_empty_examination_is_silent() -> None:
    """Nothing known, nothing said."""
    nothing = replace(KNOWN[0], patient=Patient(), context=Context(), history={}, findings=())
    assert verdicts(nothing) == {}


def test_a_protocol_without_signs_loses_no_plain_alarm() -> None:
    """A sign whose levels are not known any more still counts as present or absent."""
    poor = replace(PROTOCOL, signs=())
    examination = EXAMPLES["vascular_injury"][0]
    alarms = {(a.rule, a.verdict) for a in cannot_wait(examination, protocol=poor)}
    assert ("vascular_injury", MET) in alarms


@pytest.mark.parametrize("sabotage", ["gone", "garbage"])
def test_the_alarms_need_no_evidence(tmp_path: Path, sabotage: str) -> None:
    """With every table of the evidence gone, or garbage, a fresh interpreter raises the same alarms."""
    package = tmp_path / "fabella"
    shutil.copytree(Path(fabella.__file__).parent, package, ignore=shutil.ignore_patterns("__pycache__"))
    editions = package / "evidence" / "editions"
    tables = [path for path in editions.rglob("*") if path.is_file()]
    assert tables
    for table in tables:
        table.write_bytes(b"\xff\x00 no table")
    if sabotage == "gone":
        shutil.rmtree(editions)
    files = [tmp_path / f"{each.id}.json" for each in KNOWN]
    for file, examination in zip(files, KNOWN, strict=True):
        file.write_text(write_examination(examination), encoding="utf-8")
    command = [sys.executable, "-c", READ_ALARMS, str(tmp_path), TODAY.isoformat(), *map(str, files)]
    environment = {**os.environ, "PYTHONPATH": str(tmp_path)}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    assert done.returncode == 0, done.stderr
    for examination, line in zip(KNOWN, done.stdout.splitlines(), strict=True):
        here = [repr(alarm) for alarm in cannot_wait(examination, protocol=PROTOCOL)]
        assert json.loads(line) == here


READ_ALARMS = """
import datetime, json, sys
import fabella
from fabella.flags import cannot_wait
from fabella.protocol import load_protocol
from fabella.record import read_examination
folder, today, *files = sys.argv[1:]
assert fabella.__file__.startswith(folder)
protocol = load_protocol()
for file in files:
    text = open(file, encoding="utf-8").read()
    found = read_examination(text, protocol=protocol, today=datetime.date.fromisoformat(today))
    print(json.dumps([repr(alarm) for alarm in cannot_wait(found, protocol=protocol)]))
"""


@given(examination=RICH)
def test_what_is_open_always_asks_something(examination: Examination) -> None:
    """A rule that cannot be excluded names at least one question that would settle it."""
    for alarm in cannot_wait(examination, protocol=PROTOCOL):
        assert alarm.is_met or any(each.ask for each in alarm.unknown), (alarm.rule, alarm.side)
