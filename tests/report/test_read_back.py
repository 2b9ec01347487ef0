"""What a letter says of each finding is dictated again, and understood as what was recorded."""

from collections.abc import Callable, Iterator

import pytest

from fabella.anatomy import Side
from fabella.dictation import Understood, understand
from fabella.evidence import load_edition
from fabella.grade import grade
from fabella.protocol import Sign, load_protocol
from fabella.record import Examination, Finding, Origin, State
from fabella.report.findings import knee_findings, normal_on_both
from fabella.report.gather import gather
from fabella.report.phrases import load_phrases

PROTOCOL = load_protocol()
SIGNS = sorted(
    (PROTOCOL.sign(id_) for group in load_phrases().groups for id_ in group.signs), key=lambda s: s.order
)
ASKED = {"tenderness_posterolateral", "tenderness_anterior", "heel_height_difference", "clarke_sign"}
"""Normal signs whose words leave the dictation asking: where exactly, against what, or which of two tests."""
ALIKE = {"hip_internal_rotation", "hip_external_rotation"}
"""Measured only: without a reading, one that is normal is dictated as rotation that is not reduced."""


def dictated(*findings: Finding) -> Understood:
    """What is understood of the findings as a letter words them."""
    examination = Examination(id="one", origin=Origin.INVENTED, findings=findings)
    graded = grade(examination, edition=load_edition(), protocol=PROTOCOL)
    readings = gather(examination, graded, PROTOCOL)
    both = normal_on_both(readings)
    abnormal = "; ".join(knee_findings(readings, Side.RIGHT, PROTOCOL).abnormal)
    return understand(f"Both knees: {both}" if both else f"Right knee: {abnormal}.", protocol=PROTOCOL)


def states(findings: tuple[Finding, ...]) -> set[tuple[str, Side | None, State | None]]:
    """What was found where."""
    return {(each.sign, each.side, each.state) for each in findings}


@pytest.mark.parametrize("sign", [each for each in SIGNS if each.id not in ALIKE], ids=lambda sign: sign.id)
def test_a_normal_sign_is_read_back_as_that_sign(sign: Sign) -> None:
    """Every sign that a letter calls normal on both knees is understood so, and nothing else with it."""
    normal = tuple(Finding(sign=sign.id, side=side, state=State.NORMAL) for side in Side)
    read = dictated(*normal)
    assert states(read.findings) == (set() if sign.id in ASKED else states(normal))
    assert read.is_complete is (sign.id not in ASKED)


def abnormal(sign: Sign) -> Iterator[Finding]:
    """The sign as abnormal on the right, without a grade and with each."""
    for level in (None, *(each.id for each in sign.scale.levels[1:])):
        yield Finding(sign=sign.id, side=Side.RIGHT, state=State.ABNORMAL, level=level)


def test_an_abnormal_sign_is_never_read_as_another(tell: Callable[[str], None]) -> None:
    """In every grade, what is understood of a letter's words is what was recorded, or something is asked.

    At least 85 of 100 are understood without a question (today 89: judgement where to hold it).
    """
    whole = total = 0
    for sign in SIGNS:
        for recorded in abnormal(sign):
            read = dictated(recorded)
            assert states(read.findings) <= states((recorded,)), (recorded, read.findings)
            levels = {each.level for each in read.findings if recorded.level and each.level}
            assert levels <= {recorded.level}, (recorded, read.findings)
            assert read.findings or not read.is_complete
            whole += read.is_complete
            total += 1
    tell(f"Abnormal findings of letters read back without a question: {whole} of {total}")
    assert whole >= 0.85 * total


@pytest.mark.parametrize("side", Side)
def test_a_normal_lachman_says_nothing_of_its_end_point(side: Side) -> None:
    """A letter that calls the test normal does not call it firm: that is its end point, a sign of its own."""
    read = dictated(*(Finding(sign="lachman", side=each, state=State.NORMAL) for each in Side))
    assert {each.sign for each in read.findings if each.side is side} == {"lachman"}
