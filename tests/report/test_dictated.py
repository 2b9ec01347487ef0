"""What was understood of a dictation, as it is shown to be confirmed."""

import pytest

from fabella.anatomy import Side
from fabella.dictation import understand
from fabella.protocol import load_protocol
from fabella.record import Finding, State
from fabella.report.dictated import answer_words, dictation_tree, finding_words


@pytest.mark.parametrize(
    ("sign", "state", "value", "words"),
    [
        ("hip_rotation_reduced", State.NORMAL, None, "Hip rotation reduced: no"),
        ("mcmurray_medial", State.NORMAL, None, "McMurray test, medial: negative"),
        ("lachman_end_point", State.NORMAL, None, "Lachman end point: firm"),
        ("effusion", State.NORMAL, None, "Effusion, overall: none"),
        ("passive_extension", None, -5.0, "Passive extension: 5° short of straight"),
        ("passive_flexion", None, 110.0, "Passive flexion: 110°"),
        ("lachman", State.ABNORMAL, 8.0, "Lachman test: positive, 8 mm"),
    ],
)
def test_a_finding_is_confirmed_in_words_that_cannot_be_misread(
    sign: str, state: State | None, value: float | None, words: str
) -> None:
    """A normal sign says its normal level, an angle its direction; nothing reduced is called normal."""
    unit = None if value is None else ("mm" if sign == "lachman" else "deg")
    finding = Finding(sign=sign, side=Side.RIGHT, state=state, value=value, unit=unit)
    assert finding_words(finding, load_protocol()) == words


@pytest.mark.parametrize(
    ("sign", "level", "words"),
    [
        ("haemarthrosis_aspirate", "blood_with_fat", "Joint aspirate: blood with fat"),
        ("single_leg_squat", "painful_or_unable", "Single-leg squat: painful or impossible"),
    ],
)
def test_a_grade_is_confirmed_in_words_and_not_by_its_key(sign: str, level: str, words: str) -> None:
    """What stands in the file with underscores is read back as it is said."""
    finding = Finding(sign=sign, side=Side.RIGHT, state=State.ABNORMAL, level=level)
    assert finding_words(finding, load_protocol()) == words


@pytest.mark.parametrize(
    ("item", "answer", "words"),
    [("swelling_onset_hours", 1.0, "1 hour"), ("morning_stiffness_min", 20.0, "20 minutes"),
     ("pop_heard", True, "yes"), ("fever", False, "no")],
)  # fmt: skip
def test_an_answer_that_is_a_number_has_its_unit(item: str, answer: bool | float, words: str) -> None:
    """Swollen after 1 is not confirmed unless it says whether hours or days."""
    assert answer_words(answer, load_protocol().sign(item)) == words


def test_the_tree_keeps_an_empty_list_only_where_it_says_something() -> None:
    """An image that shows nothing says so; a word without findings needs no empty list of them."""
    tree = dictation_tree(understand("X-ray right knee normal.", protocol=load_protocol()))
    image = {"image": "radiograph", "side": "right", "shows": [], "words": "X-ray right knee normal"}
    assert tree["imaging"] == [image]
    spans = tree["spans"]
    assert isinstance(spans, list)
    assert spans[0]["imaging"] == [image]
    assert "findings" not in spans[0]
