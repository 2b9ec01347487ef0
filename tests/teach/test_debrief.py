import json
from dataclasses import replace
from functools import cache
from math import log2

import pytest

from fabella.anatomy import Side, load_lesions, other
from fabella.flags import load_rules
from fabella.infer import Grounding, Reason
from fabella.packaged import packaged_table
from fabella.protocol import load_protocol
from fabella.teach import (
    Act,
    Debrief,
    Dice,
    Encounter,
    Event,
    Hidden,
    Terms,
    Topic,
    act,
    debrief,
    debrief_tree,
    measure_difficulty,
    play_ideal,
    play_random,
    replay,
)
from fabella.teach.conduct import conduct_of
from fabella.teach.debrief_words import missed_lines, worth_lines
from fabella.teach.left_out import Missed
from fabella.teach.misreading import Slip, misread, tolerance
from fabella.teach.next_time import lesson_of
from fabella.teach.players import COURTESIES, Played
from fabella.teach.scores import UNNAMED, score
from fabella.teach.wording import conduct_words, door_words, lesson_words, slip_words
from fabella.workup import Urgency, run_workup
from tests.report import made_up
from tests.teach.patients import patient, patient_with, reasoner

PROTOCOL = load_protocol()
STATION = Terms(minutes=6)


def locked() -> Hidden:
    """A locked medial meniscus in somebody of 24."""
    return patient_with("medial_meniscus_tear", "displaced", seed=6, age_years=24)


@cache
def ideal() -> Played:
    """The ideal examiner with that patient."""
    return play_ideal(locked(), STATION, reasoner())


@cache
def debriefed() -> Debrief:
    """A student who did what the ideal examiner did, then believed in the wrong ligament."""
    played = ideal().encounter
    told = act(played, Event(act=Act.BELIEVE, beliefs=(("acl_tear", 0.9),)))
    return debrief(act(told, Event(act=Act.FINISH)), reasoner=reasoner(), ideal=ideal())


def did(hidden: Hidden, *events: Event) -> Encounter:
    """Bare legs, then these events."""
    return replay(hidden, Terms(), [Event(act=Act.DO, sign="exposure"), *events])


def test_scores_are_those_of_their_definitions() -> None:
    """Brier adds squares, the log score surprises in bits; an unnamed lesion counts as one per cent."""
    got = score({"a": 0.8, "b": 0.3}, present=["a"], lesions=["a", "b", "c"])
    assert got.brier == pytest.approx(0.04 + 0.09 + UNNAMED**2)
    assert got.log == pytest.approx(-log2(0.8) - log2(0.7) - log2(1 - UNNAMED))


@pytest.mark.parametrize("truth", [0.1, 0.35, 0.9])
def test_the_scores_are_proper(truth: float) -> None:
    """On average nobody scores better than by saying the true chance."""

    def expected(p: float) -> tuple[float, float]:
        there, absent = (score({"a": p}, present=held, lesions=["a"]) for held in (["a"], []))
        return (
            truth * there.brier + (1 - truth) * absent.brier,
            truth * there.log + (1 - truth) * absent.log,
        )

    said = [p / 100 for p in range(5, 96, 5)]
    for index in (0, 1):
        assert min(said, key=lambda p: expected(p)[index]) == pytest.approx(truth)


def test_the_ideal_examiner_is_courteous_and_keeps_to_the_rules() -> None:
    """Every courtesy first, both knees, the sound one first, nothing known to be forbidden, in time."""
    played = ideal()
    done = [turn.event.sign for turn in played.encounter.run.turns if turn.event.act is Act.DO]
    assert tuple(done[: len(COURTESIES)]) == COURTESIES
    checks = {each.id: each.kept for each in conduct_of(played.encounter.run, protocol=PROTOCOL)}
    assert checks["both_knees"]
    assert checks["sound_side_first"]
    assert not [each for each in debriefed().hurts if each.known]
    last = played.encounter.run.turns[-1]
    assert last.at_s < 6 * 60 + PROTOCOL.sign("haemarthrosis_aspirate").seconds
    assert all(step.bits > 0 for step in played.steps)
    assert len({step.sign for step in played.steps}) == len(played.steps)


def test_the_debrief_says_what_the_clinic_says() -> None:
    """The workup of the debrief is that of the same examination anywhere else."""
    answer = debriefed()
    assert answer.workup.conclusion == run_workup(answer.workup.examination).conclusion
    assert not answer.workup.failures
    assert answer.present == {side: knee.lesions for side, knee in locked().knees.items()}


def test_the_probabilities_move_step_by_step_from_the_door_to_the_end() -> None:
    """The first moment knows nothing, the last everything recorded; the student's belief stands beside it."""
    answer = debriefed()
    first, last = answer.moments[0], answer.moments[-1]
    assert (first.at_s, first.sign, first.believed) == (0.0, None, {})
    assert last.believed == {"acl_tear": 0.9}
    thought = ideal().thought
    for lesion, p in last.chances.items():
        assert p == pytest.approx(thought.chances[lesion])
    assert [each.at_s for each in answer.moments] == sorted(each.at_s for each in answer.moments)
    assert {"medial_meniscus_tear", "acl_tear"} <= set(last.chances)


def test_too_sure_of_what_is_not_there_scores_worse_than_the_findings() -> None:
    """Nine tenths on an absent ligament costs more than what the findings allowed."""
    scores = debriefed().scores
    assert set(scores) == {"student", "findings", "ideal"}
    assert scores["student"].brier > scores["ideal"].brier
    assert scores["student"].log > scores["ideal"].log


def test_what_findings_were_worth_is_told_with_what_they_were() -> None:
    """A no that speaks for a lesion does not read as if the patient had had it."""
    reasons = [
        Reason(
            sign=sign,
            abnormal=abnormal,
            weight_bits=0.5,
            sources=(),
            grounding=Grounding(published=0, derived=0, judgement=1),
        )
        for sign, abnormal in (
            ("pain_before_injury", False),
            ("pain_before_injury", True),
            ("lachman", False),
            ("swelling_onset_hours", True),
        )
    ]
    ((name, told),) = worth_lines(replace(debriefed(), worth={"medial_meniscus_tear": tuple(reasons)}))
    assert name == load_lesions()["medial_meniscus_tear"].name
    assert [words for _, words in told] == [
        "Pain or swelling before the injury: no",
        "Pain or swelling before the injury: yes",
        "Lachman test: normal",
        "Time from injury to swelling",
    ]


def test_a_slip_is_found_and_a_careful_record_is_none() -> None:
    """Missed, overcalled, invented and unrecorded findings are told; reading within the error is not."""
    hidden = patient(3)
    side, sound = hidden.person.side, other(hidden.person.side)
    outcomes = hidden.outcomes
    positive = next(
        name
        for (name, where), each in outcomes.items()
        if where is side
        and each.level
        and each.guarded
        and len(PROTOCOL.sign(name).scale.levels) == 2
        and not PROTOCOL.sign(name).stress_test
    )
    bend = outcomes["passive_flexion", sound].value
    assert bend is not None
    far = bend - tolerance(PROTOCOL.sign("passive_flexion")) * 3
    encounter = did(
        hidden,
        Event(act=Act.DO, sign=positive, side=side),
        Event(act=Act.RECORD, sign=positive, side=side, level=PROTOCOL.sign(positive).scale.levels[0].id),
        Event(act=Act.DO, sign="passive_flexion", side=sound),
        Event(act=Act.RECORD, sign="passive_flexion", side=sound, value=far),
        Event(act=Act.RECORD, sign="lachman", side=sound, level="0"),
    )
    slips = {each.sign: each.slip for each in misread(encounter)}
    assert slips == {positive: Slip.MISSED, "passive_flexion": Slip.READING, "lachman": Slip.NOT_DONE}
    assert all(slip_words(each, protocol=PROTOCOL) for each in misread(encounter))
    close = act(encounter, Event(act=Act.RECORD, sign="passive_flexion", side=sound, value=round(bend)))
    assert "passive_flexion" not in {each.sign for each in misread(close)}
    assert misread(ideal().encounter) == ()


def test_what_was_done_twice_and_not_noted_is_told_once() -> None:
    """Looking again at what was not recorded makes no second slip of it."""
    hidden = patient(3)
    name, side = next(
        (name, where)
        for (name, where), each in hidden.outcomes.items()
        if each.level and each.guarded and PROTOCOL.sign(name).scale.levels and where is not None
        if not PROTOCOL.sign(name).stress_test
    )
    twice = did(hidden, *[Event(act=Act.DO, sign=name, side=side)] * 2)
    assert [(each.sign, each.slip) for each in misread(twice)] == [(name, Slip.NOT_RECORDED)]


def test_a_record_of_what_was_not_done_is_not_said_to_be_wrong() -> None:
    """Recorded untested it may even be right: the lesson says what was shown, not what was there."""
    lesson = lesson_of(
        conduct=(),
        hurts=(),
        left_out=(),
        missed=(),
        misread=misread(did(patient(3), Event(act=Act.RECORD, sign="lachman", side=Side.LEFT, level="0"))),
        believed={},
        allowed={},
        unchecked=(),
        present=(),
        earlier={},
    )
    assert lesson.topic is Topic.MISREAD
    assert "what was there" not in lesson_words(lesson, protocol=PROTOCOL)


def test_one_pull_shows_travel_and_stop() -> None:
    """Whoever did a Lachman test has felt its end point: recording it is no record of what was not done."""
    hidden = patient(8)
    side = other(hidden.person.side)
    pulled = Event(act=Act.DO, sign="lachman", side=side)
    levels = PROTOCOL.sign("lachman_end_point").scale.levels
    shown = did(hidden, pulled).run.turns[-1].seen.shown
    assert shown is not None
    assert shown.possible
    right, wrong = (levels[0], levels[1]) if shown.firm else (levels[1], levels[0])
    for level, slips in ((right, set()), (wrong, {Slip.OVERCALLED if shown.firm else Slip.MISSED})):
        record = Event(act=Act.RECORD, sign="lachman_end_point", side=side, level=level.id)
        found = [each for each in misread(did(hidden, pulled, record)) if each.sign == "lachman_end_point"]
        assert {each.slip for each in found} == slips


def test_a_wrong_record_moves_the_wrong_lesion() -> None:
    """What the student recorded, not what was there, is what the conclusion of the debrief rests on."""
    hidden = patient(3)
    side = hidden.person.side
    wrong = did(
        hidden,
        *(Event(act=Act.DO, sign="lachman", side=each) for each in (other(side), side)),
        Event(act=Act.RECORD, sign="lachman", side=side, level="3+"),
    )
    chances = debrief(wrong, reasoner=reasoner()).moments
    assert chances[-1].chances["acl_tear"] > 3 * chances[0].chances["acl_tear"]


def test_conduct_counts_order_knees_and_courtesy() -> None:
    """A rude run keeps little; what could not come up is not counted against it."""
    hidden = patient(3)
    side = hidden.person.side
    rude = did(
        hidden,
        Event(act=Act.DO, sign="lachman", side=side),
        Event(act=Act.DO, sign="lachman", side=other(side)),
        Event(act=Act.DO, sign="posterior_drawer", side=side),
    )
    checks = {each.id: each for each in conduct_of(rude.run, protocol=PROTOCOL)}
    for name in ("greeting", "hand_hygiene", "consent", "pain_first", "face_watched", "both_knees"):
        assert checks[name].kept is False, name
    assert checks["exposure"].kept is True
    assert checks["both_knees"].share == pytest.approx(0.5)
    assert checks["sound_side_first"].kept is False
    assert checks["look_feel_move"].kept is None
    assert all(conduct_words(each) for each in checks.values() if each.kept is not None)


def test_every_topic_can_be_said() -> None:
    """The lesson of the debrief is a sentence without a gap."""
    words = lesson_words(debriefed().lesson, protocol=PROTOCOL)
    assert words.endswith((".", "?"))
    assert "{" not in words
    assert "_" not in words


def test_left_out_is_ranked_by_information_and_holds_nothing_done() -> None:
    """What was left out promised most first, none of it was tried, and what it would have shown is true."""
    hidden = locked()
    short = replay(hidden, STATION, [Event(act=Act.DO, sign=each) for each in COURTESIES])
    answer = debrief(short, reasoner=reasoner(), ideal=ideal())
    bits = [each.bits for each in answer.left_out]
    assert bits == sorted(bits, reverse=True)
    assert len(bits) > 3
    for each in answer.left_out:
        if each.side is not None and each.would is not None:
            found = hidden.everything.finding(each.sign, each.side)
            assert found is not None
            assert each.would in (found.level, found.value)
    assert "student" not in answer.scores


def test_what_was_done_on_the_other_knee_or_in_vain_is_left_out() -> None:
    """A test of the sound knee, of covered legs or after the time is none of the knee complained of."""
    hidden, side = locked(), locked().person.side

    def left(*events: Event, minutes: float | None = None) -> dict[str, Side | None]:
        run = replay(hidden, Terms(minutes=minutes), events)
        found = debrief(run, reasoner=reasoner(), ideal=ideal()).left_out
        return {each.sign: each.side for each in found}

    bare = Event(act=Act.DO, sign="exposure")
    sign = next(name for name, where in left(bare).items() if where is side)
    test = Event(act=Act.DO, sign=sign, side=side)
    assert sign not in left(bare, test)
    assert sign in left(bare, replace(test, side=other(side)))
    assert sign in left(test)
    assert sign in left(replace(bare, thought_s=300.0), test, minutes=5)


def test_rules_missed_of_one_matter_are_told_together() -> None:
    """As everywhere else: one line for a fracture met by two rules, true when one of them is, of its knee."""

    def missed(rule: str, side: Side, *, true: bool) -> Missed:
        return Missed(alarm=made_up.alarm(rule, side, Urgency.SAME_DAY), asked=(), true=true)

    found = replace(
        debriefed(),
        missed=(
            missed("tender_bone_not_weight_bearing", Side.RIGHT, true=True),
            missed("ottawa_knee", Side.RIGHT, true=False),
            missed("tender_bone_not_weight_bearing", Side.LEFT, true=False),
            missed("ottawa_knee", Side.LEFT, true=False),
        ),
    )
    (right,), (left,) = (tuple(missed_lines(found, true=each)) for each in (True, False))
    assert right == (
        "Right knee, today: Rule tender bone not weight bearing. Because: the one criterion. "
        "Also met: Rule ottawa knee."
    )
    assert left == right.replace("Right knee", "Left knee")
    both = replace(found, missed=tuple(replace(each, true=True) for each in found.missed))
    assert tuple(missed_lines(both, true=True)) == (right.replace("Right knee", "Both knees"),)


def test_the_rules_that_can_be_missed_exist() -> None:
    """Every rule and lesion of the table is one of the program's."""
    lesions = load_lesions()
    for rule, named in packaged_table("teach/data/alarms.toml").items():
        assert rule in load_rules(), rule
        for lesion, _, level in (each.partition(":") for each in named):
            assert lesion in lesions
            assert level in ("", *(each.id for each in lesions[lesion].levels))


def test_the_debrief_is_written_as_json() -> None:
    """Everything of the debrief survives as JSON, the answer only then."""
    tree = json.loads(json.dumps(debrief_tree(debriefed())))
    assert tree["format"] == "fabella.debrief/1"
    named = [each["id"] for each in tree["present"][locked().person.side.value]]
    assert "medial_meniscus_tear" in named
    assert len(tree["timeline"]) == len(debriefed().turns)
    assert tree["ideal"]["steps"]
    assert set(tree["lesson"]) == {"topic", "about"}


def test_whoever_follows_the_information_does_better_than_chance() -> None:
    """Over ten patients the ideal examiner's log score is better than that of one who does anything."""
    ideals: list[float] = []
    randoms: list[float] = []
    for seed in range(10):
        hidden = patient(seed, curriculum="first")
        present = [lesion for lesion, _ in hidden.complaint.lesions]
        for played, into in (
            (play_ideal(hidden, Terms(minutes=5), reasoner()), ideals),
            (play_random(hidden, Terms(minutes=5), reasoner(), dice=Dice(seed)), randoms),
        ):
            into.append(score(played.thought.chances, present=present, lesions=load_lesions()).log)
    assert sum(ideals) < sum(randoms)


def test_difficulty_is_what_the_ideal_examiner_is_left_in_doubt_about() -> None:
    """It is a probability, the same each time, with a word."""
    one = measure_difficulty(locked(), STATION, reasoner())
    assert one == measure_difficulty(locked(), STATION, reasoner())
    assert 0 <= one.sureness <= 1
    assert one.word in ("easy", "fair", "hard")


def test_the_door_says_who_waits() -> None:
    """Age, sex, place and knee stand on the door, and nothing else."""
    words = door_words(ideal().encounter.run.door)
    assert "24-year-old" in words
    assert str(locked().person.side) in words
    assert "meniscus" not in words
