"""What one sentence means, by hand: which signs ", left normal" takes in, and ranges by neutral zero."""

import pytest

from fabella.anatomy import Side
from fabella.dictation import Became, understand
from fabella.protocol import load_protocol
from fabella.record import State

PROTOCOL = load_protocol()
RIGHT, LEFT = Side.RIGHT, Side.LEFT
NAMED = {"lachman", "lachman_end_point"}


def states(text: str, side: Side) -> dict[str, State | float | None]:
    """What is understood of one knee: the reading of each sign, or its state."""
    read = understand(text, protocol=PROTOCOL)
    found = [each for span in read.spans for each in span.findings if each.side is side]
    return {each.sign: each.state if each.value is None else each.value for each in found}


@pytest.mark.parametrize(
    "close",
    [
        ", left normal.",
        ", left side normal.",
        ", left knee normal.",
        ", the other knee normal.",
        ", left normal. Right knee no effusion.",
    ],
)
def test_normal_behind_a_comma_means_the_signs_named(close: str) -> None:
    """Behind signs of the other knee in one sentence "left normal" says nothing of what was not named."""
    left = states("right knee lachman 2 plus soft end point" + close, LEFT)
    assert left == dict.fromkeys(NAMED, State.NORMAL)


@pytest.mark.parametrize("close", [". Left knee normal.", ", left knee otherwise normal."])
def test_a_sentence_of_its_own_or_the_rest_means_the_whole_knee(close: str) -> None:
    """A sentence that says it of the knee alone, or "otherwise", takes in the whole knee."""
    left = states("right knee lachman 2 plus soft end point" + close, LEFT)
    assert set(left) > {"ligament_laxity_any", "passive_flexion"}
    assert not NAMED & set(left)


@pytest.mark.parametrize(
    "close", ["Left knee nothing abnormal.", "Left knee normal.", "Left knee otherwise fine."]
)
def test_a_normal_knee_states_no_manoeuvre_that_was_done_on_the_other(close: str) -> None:
    """What is seen and felt of a normal knee is normal; a test of the other knee was not done on it."""
    told = "Right knee large effusion, red, lateral joint line tender, posterior drawer 2+, Thessaly positive"
    left = states(f"{told}, reverse pivot shift positive, dial test positive. {close}", LEFT)
    assert set(left) == {
        "effusion", "erythema", "joint_line_tenderness_lateral", "passive_extension", "passive_flexion",
        "ligament_laxity_any", "mcmurray",
    }  # fmt: skip
    assert set(left.values()) == {State.NORMAL}


def test_beside_one_ligament_the_others_of_a_normal_knee_stand_by_themselves() -> None:
    """Where the Lachman was told, "otherwise normal" means the collaterals; "otherwise stable" all others."""
    collaterals = {"valgus_stress_30": State.NORMAL, "varus_stress_30": State.NORMAL}
    normal = states("Left knee pivot shift clunk, otherwise normal.", LEFT)
    assert collaterals.items() <= normal.items()
    assert not {"lachman", "posterior_drawer", "ligament_laxity_any"} & set(normal)
    stable = states("Left knee Lachman 1+, otherwise stable.", LEFT)
    assert collaterals.items() <= stable.items()
    assert stable["posterior_drawer"] is State.NORMAL


@pytest.mark.parametrize(
    ("before", "part"),
    [
        ("Ligaments stable.", "Patellofemoral joint normal"),
        ("No effusion.", "PFJ fine"),
        ("Full range.", "Extensor mechanism and medial facet normal"),
        ("McMurray negative.", "Medial compartment unremarkable"),
    ],
)
def test_a_part_of_the_knee_that_is_normal_never_vanishes(before: str, part: str) -> None:
    """Words that name a part are no statement of the whole knee: they are read, or asked about."""
    read = understand(f"Right knee: {before} {part}. Left knee normal.", protocol=PROTOCOL)
    spans = [span for span in read.spans if read.words(span) in part and span.became is not Became.FRAME]
    assert spans
    assert all(span.findings or span.became.is_open for span in spans)
    assert read.said_normal == (LEFT,)


@pytest.mark.parametrize("mark", ["-", "/", " "])
@pytest.mark.parametrize(
    ("numbers", "extension", "flexion"),
    [(("0", "5", "140"), -5.0, 140.0), (("5", "0", "140"), 5.0, 140.0), (("0", "0", "130"), 0.0, 130.0)],
)
def test_a_range_by_neutral_zero(
    mark: str, numbers: tuple[str, str, str], extension: float, flexion: float
) -> None:
    """Extension, neutral, flexion (common practice): 5-0-140 goes 5 beyond straight, 0-5-140 lacks 5."""
    read = states(f"Right knee ROM {mark.join(numbers)}.", RIGHT)
    assert read == {"passive_extension": extension, "passive_flexion": flexion}


@pytest.mark.parametrize("numbers", ["5 10 140", "0 140 5", "5 5 5"])
def test_three_numbers_that_are_no_range_are_not_read(numbers: str) -> None:
    """Without a zero among the first two, or not ending in the bend, nothing is taken from three numbers."""
    assert states(f"Right knee ROM {numbers}.", RIGHT) == {}


@pytest.mark.parametrize(
    "words", ["can't bend past 60", "cannot bend beyond 60 degrees", "unable to flex past 60"]
)
def test_what_a_knee_cannot_bend_past_is_how_far_it_bends(words: str) -> None:
    """It is the patient who bends: active flexion ends there."""
    assert states(f"The right knee {words}.", RIGHT) == {"active_flexion": 60.0}


@pytest.mark.parametrize(
    "said",
    [
        "cannot take four steps",
        "can't walk 4 steps",
        "couldn't manage four steps",
        "not able to take 4 steps",
    ],
)
def test_a_leg_that_cannot_take_four_steps_was_tested(said: str) -> None:
    """Who cannot take four steps has been asked to: the fracture rules need that, not an untested sign."""
    assert states(f"Right knee {said}.", RIGHT) == {"unable_to_weight_bear": State.ABNORMAL}
