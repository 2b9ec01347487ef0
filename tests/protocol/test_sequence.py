import dataclasses

import pytest

from fabella.anatomy import Structure
from fabella.errors import InputError
from fabella.protocol import Kind, Measure, load_protocol

PROTOCOL = load_protocol()


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("lachmann", "lachman"),
        ("Lachman Test", "lachman"),
        ("pivot", "pivot_shift"),
        ("patellar ballottement", "patellar_tap"),
        ("Baker's cyst", "popliteal_mass"),
        ("knock-knees", "valgus_alignment"),
        ("Lelli", "lever_sign"),
        ("housemaids knee", "prepatellar_swelling"),
        ("SLR", "straight_leg_raise"),
        ("dorsalis pedis", "distal_pulses"),
    ],
)
def test_an_unknown_sign_is_answered_with_the_nearest(name: str, meant: str) -> None:
    """A misspelt or differently named sign is refused, and the one meant is offered first."""
    assert PROTOCOL.nearest(name)[0] == meant
    with pytest.raises(InputError, match=f"did you mean {meant}") as refused:
        PROTOCOL.sign(name)
    (problem,) = refused.value.problems
    assert (problem.place, problem.value) == ("sign", name)


def test_a_name_like_none_is_answered_with_the_way_to_the_list() -> None:
    """When nothing is near, the message says where all signs are listed."""
    with pytest.raises(InputError, match="'fabella protocol' lists every sign"):
        PROTOCOL.sign("xyzzy")


def test_every_name_and_alias_leads_to_its_own_sign() -> None:
    """Whoever uses any name of a sign is led to that sign first."""
    for sign in PROTOCOL.signs:
        for name in (sign.id, sign.name, *sign.aliases):
            assert PROTOCOL.nearest(name)[0] == sign.id


def test_a_sign_is_found_by_its_id() -> None:
    """A known id gives its sign, and membership tells beforehand."""
    assert PROTOCOL.sign("lachman").name == "Lachman test"
    assert "lachman" in PROTOCOL
    assert "lachmann" not in PROTOCOL


def test_positions_share_out_all_signs() -> None:
    """Every sign is done in exactly one position."""
    shared = [sign for position in PROTOCOL.positions for sign in PROTOCOL.at(position.id)]
    assert tuple(shared) == PROTOCOL.signs


def test_an_unknown_position_is_refused_with_the_allowed_ones() -> None:
    """Asking for signs at a position that does not exist names those that do."""
    with pytest.raises(InputError, match="did you mean 'standing'"):
        PROTOCOL.at("standin")


def test_the_sequence_leaves_out_what_only_sums_up() -> None:
    """The sequence holds every sign that takes time; with routine_only, only those of every knee."""
    everything = PROTOCOL.sequence()
    assert {s.id for s in PROTOCOL.signs} - {s.id for s in everything} == {
        "effusion",
        "joint_line_tenderness",
        "tenderness_anterior",
        "bony_tenderness",
        "range_of_motion_limited",
        "ligament_laxity_any",
        "mcmurray",
        "distal_neurovascular",
    }
    assert PROTOCOL.sequence(routine_only=True) == tuple(s for s in everything if s.routine)


def test_summaries_restate_signs_of_the_protocol() -> None:
    """A summary names the signs it restates, none of them a summary itself."""
    for sign in PROTOCOL.signs:
        assert not any(PROTOCOL.sign(each).is_summary for each in sign.summary_of)


def test_signs_about_a_structure() -> None:
    """The signs of the anterior cruciate ligament are those a surgeon would list, in order."""
    ids = [sign.id for sign in PROTOCOL.about(Structure.ACL)]
    assert {"pop_heard", "anterior_drawer", "lachman", "pivot_shift", "lever_sign"} <= set(ids)
    assert "posterior_sag" not in ids
    assert ids.index("anterior_drawer") < ids.index("lachman") < ids.index("pivot_shift")


def test_history_holds_questions_only() -> None:
    """History is what is asked and counts as a finding; courtesy is not among it."""
    assert {sign.kind for sign in PROTOCOL.history()} == {Kind.HISTORY}
    assert all(sign.is_history for sign in PROTOCOL.history())
    assert "mechanism_of_injury" not in {sign.id for sign in PROTOCOL.history()}


def test_time_is_counted_by_hand() -> None:
    """Both knees take twice the time, a person's sign once, and each position is taken up once.

    By hand: lachman 2 x 6 + pivot_shift 2 x 6 + turning to special 5 + fever 4 + history 0 = 33.
    """
    assert PROTOCOL.seconds(["lachman", "pivot_shift", "lachman", "fever"]) == 33
    assert PROTOCOL.seconds([]) == 0
    assert PROTOCOL.seconds(["mcmurray"]) == 0


@pytest.mark.parametrize(
    ("sign", "seconds"),
    [("lachman", 12), ("posterior_sag", 8), ("leg_length_difference", 20), ("locking", 4), ("mass_size", 6)],
)
def test_the_side_rule_decides_how_often_time_passes(sign: str, seconds: int) -> None:
    """Knees done in turn or compared count twice; differences, questions and single lumps once."""
    assert PROTOCOL.sign(sign).seconds_in_all == seconds


def test_time_of_an_unknown_sign_is_refused() -> None:
    """Adding up the time of a sign that does not exist is an error, not zero."""
    with pytest.raises(InputError, match="lachmann"):
        PROTOCOL.seconds(["lachmann"])


def test_levels_are_found_by_id() -> None:
    """A level is found by its id; an unknown one is refused with the nearest or the allowed ones."""
    assert PROTOCOL.sign("pivot_shift").level("clunk").rank == 2
    with pytest.raises(InputError, match="did you mean 'clunk'"):
        PROTOCOL.sign("pivot_shift").level("klunk")
    with pytest.raises(InputError, match="record a reading"):
        PROTOCOL.sign("passive_flexion").level("1+")


def test_a_reading_beyond_its_range_is_impossible() -> None:
    """The ends of the range are possible, anything beyond them is not."""
    measure = PROTOCOL.sign("passive_flexion").scale.measure
    assert isinstance(measure, Measure)
    assert [measure.allows(value) for value in (-0.1, 0, 170, 170.1)] == [False, True, True, False]


def test_the_protocol_is_frozen() -> None:
    """Nobody can change a sign for everybody else."""
    with pytest.raises(dataclasses.FrozenInstanceError):
        PROTOCOL.sign("lachman").hurts = 3  # type: ignore[misc]


def test_a_sign_tells_what_kind_it_is() -> None:
    """Person, history, measure and summary are told apart."""
    fever, lachman, mcmurray = (PROTOCOL.sign(each) for each in ("fever", "lachman", "mcmurray"))
    assert (fever.is_person, fever.is_history, fever.has_measure, fever.is_summary) == (
        True,
        True,
        False,
        False,
    )
    assert (lachman.is_person, lachman.is_history, lachman.has_measure, lachman.is_summary) == (
        False,
        False,
        True,
        False,
    )
    assert (mcmurray.has_measure, mcmurray.is_summary) == (False, True)


def test_a_sign_that_left_the_examination_is_still_named() -> None:
    """What an old record or paper tells of is called by its id in words, not refused."""
    assert load_protocol().name_of("lachman") == load_protocol().sign("lachman").name
    assert load_protocol().name_of("sign_of_old") == "sign of old"
