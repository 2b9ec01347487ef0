"""The one thing to practise next, and what is told of beliefs, the foot and guarding, is fair to say."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from fabella.anatomy import Side, other
from fabella.protocol import Kind, load_protocol
from fabella.record import Acuity, Setting
from fabella.teach import (
    Act,
    Debrief,
    Event,
    Hidden,
    Recipe,
    Terms,
    Topic,
    debrief,
    draw_patient,
    facts_of,
    recipe_with,
    replay,
)
from fabella.teach.conduct import Check, Hurt, guarded_from
from fabella.teach.debrief_words import hurt_lines, left_out_lines, unchecked_lines
from fabella.teach.facts import ALERT
from fabella.teach.known import known_by, record_of
from fabella.teach.left_out import LeftOut, left_out
from fabella.teach.misreading import Misread, Slip
from fabella.teach.next_time import FAR, MOVES, MUCH_LEFT_BITS, lesson_of
from fabella.teach.players import COURTESIES
from fabella.teach.unchecked import must_be_checked, unchecked
from fabella.teach.upshot import upshot_lines
from fabella.teach.wording import lesson_words
from tests.teach.patients import reasoner

PROTOCOL = load_protocol()
NOTHING: dict[str, Any] = {
    "conduct": (),
    "hurts": (),
    "left_out": (),
    "missed": (),
    "unchecked": (),
    "misread": (),
    "believed": {},
    "allowed": {},
    "present": (),
    "earlier": {},
}
ACL = ("giving_way", "pop_heard", "lachman", "lachman_end_point", "pivot_shift", "anterior_drawer")


@cache
def torn(acuity: Acuity = Acuity.CHRONIC) -> Hidden:
    """A torn anterior cruciate ligament in somebody of 24."""
    recipe = Recipe(seed=5, age_years=24, acuity=acuity, setting=Setting.SPORTS_CLINIC)
    return draw_patient(recipe_with(recipe, [("acl_tear", "complete")], alone=True))


@cache
def dislocated(acuity: Acuity = Acuity.ACUTE) -> Hidden:
    """A dislocated knee in somebody of 30."""
    recipe = Recipe(seed=5, age_years=30, acuity=acuity, setting=Setting.EMERGENCY)
    return draw_patient(recipe_with(recipe, [("knee_dislocation", "")], alone=True))


def careful(hidden: Hidden, *signs: str, beliefs: tuple[tuple[str, float], ...] = ()) -> Debrief:
    """Courtesies, then signs on both knees, each read as it showed, then what is believed."""
    events = [Event(act=Act.DO, sign=each) for each in COURTESIES] + [Event(act=Act.WATCH_FACE)]
    side = hidden.person.side
    for name in signs:
        sign = PROTOCOL.sign(name)
        sides = (None,) if sign.is_history or sign.is_person else (other(side), side)
        for where in sides:
            events.append(Event(act=Act.DO, sign=name, side=where))
            shown = replay(hidden, Terms(), events).run.turns[-1].seen.shown
            if shown is not None:
                events.append(record_of(PROTOCOL, name, where, shown))
    if beliefs:
        events.append(Event(act=Act.BELIEVE, beliefs=beliefs))
    events += [Event(act=Act.DO, sign="closing"), Event(act=Act.COMPLETE, would=("x",))]
    return debrief(replay(hidden, Terms(), events), reasoner=reasoner())


def out(sign: str, *, bits: float, now: float, then: float) -> LeftOut:
    """Return a sign left out."""
    return LeftOut(
        sign=sign, side=None, bits=bits, seconds=4, would=None, lesion="acl_tear", now=now, then=then
    )


def test_harm_comes_first_however_often_a_smaller_thing_came_up() -> None:
    """Of topics the gravest; repetition decides between those that cost marks; with none, nothing."""
    assert lesson_of(**NOTHING).topic is Topic.NOTHING
    hurt = Hurt(sign="pivot_shift", side=Side.LEFT, at_s=1, degree=1, forbidden=("x",), known=("x",))
    harm = NOTHING | {"hurts": (hurt,), "conduct": (Check(id="consent", kept=False),)}
    one_knee = Check(id="both_knees", kept=False)
    telling = out("lachman", bits=0.4, now=0.2, then=0.7)
    marks = NOTHING | {"conduct": (one_knee,), "left_out": (telling,), "present": ("acl_tear",)}
    for times in (0, 4, 40):
        assert lesson_of(**harm | {"earlier": {"consent": times}}).topic is Topic.FORBIDDEN
        rude = marks | {"conduct": (one_knee, Check(id="consent", kept=False))}
        assert lesson_of(**rude | {"earlier": {"left_out": times}}).topic is Topic.CONSENT
    assert lesson_of(**marks).topic is Topic.BOTH_KNEES
    assert lesson_of(**marks | {"earlier": {"left_out": 3}}).topic is Topic.LEFT_OUT


@pytest.mark.parametrize(
    ("believed", "allowed", "topic"),
    [
        (0.95, 0.2, Topic.TOO_SURE),  # right, but not by what was found
        (0.4, 0.95, Topic.TOO_UNSURE),
        (0.2, 0.15, Topic.NOTHING),  # as unsure as the findings leave one
        (0.9, 0.85, Topic.NOTHING),
    ],
)
def test_a_belief_is_measured_by_the_findings(believed: float, allowed: float, topic: Topic) -> None:
    """A lesion that is there: neither luck is praised, nor a doubt blamed that the findings leave."""
    case = NOTHING | {
        "believed": {"acl_tear": believed},
        "allowed": {"acl_tear": allowed},
        "present": ("acl_tear",),
    }
    assert lesson_of(**case).topic is topic


def test_whoever_was_misled_by_the_findings_is_not_blamed_for_it() -> None:
    """A lesion that is not there, believed as the findings have it; and believed against them."""
    misled = NOTHING | {"believed": {"pcl_tear": 0.9}, "present": ("acl_tear",)}
    assert lesson_of(**misled | {"allowed": {"pcl_tear": 0.85, "acl_tear": 0.1}}).topic is Topic.NOTHING
    against = lesson_of(**misled | {"allowed": {"pcl_tear": 0.9 - FAR - 0.01, "acl_tear": 0.1}})
    assert (against.topic, against.about) == (Topic.TOO_SURE, "pcl_tear")
    assert "than your findings allow" in lesson_words(against, protocol=PROTOCOL)


def test_what_was_left_out_teaches_where_it_would_have_moved_something() -> None:
    """The one that moves most, not the one that promised most; none that moves nothing."""
    there = NOTHING | {"present": ("acl_tear",)}
    little = out("previous_patellar_dislocation", bits=0.43, now=0.2, then=0.2 + MOVES / 2)
    most = out("lachman_end_point", bits=0.40, now=0.2, then=0.88)
    seldom = out("pain_on_squatting", bits=MUCH_LEFT_BITS / 2, now=0.1, then=0.9)
    assert lesson_of(**there | {"left_out": (little, seldom)}).topic is Topic.NOTHING
    assert lesson_of(**there | {"left_out": (little, most, seldom)}).about == "lachman_end_point"


def test_what_would_have_misled_is_no_lesson() -> None:
    """A sign that would have raised a lesion that is not there, or lowered one that is, was well left out."""
    raised, lowered = (out("lachman", bits=0.4, now=a, then=b) for a, b in ((0.2, 0.6), (0.6, 0.2)))
    for present, misleads, leads in ((("acl_tear",), lowered, raised), ((), raised, lowered)):
        assert lesson_of(**NOTHING | {"present": present, "left_out": (misleads,)}).topic is Topic.NOTHING
        assert lesson_of(**NOTHING | {"present": present, "left_out": (leads,)}).topic is Topic.LEFT_OUT


def test_the_gravest_slip_is_practised_not_the_first() -> None:
    """What was missed weighs more than an earlier measurement that was off."""

    def slip(sign: str, kind: Slip, at_s: float) -> Misread:
        return Misread(sign=sign, side=Side.LEFT, slip=kind, recorded=None, shown=None, at_s=at_s)

    slips = (slip("passive_flexion", Slip.READING, 10), slip("lachman", Slip.MISSED, 20))
    assert lesson_of(**NOTHING | {"misread": slips}).about == "lachman"


def test_an_examination_that_found_enough_is_not_sent_after_what_would_change_nothing() -> None:
    """A torn ligament found and said as sure as it is: no question of the history is held against it."""
    found = careful(
        torn(), *ACL, "pain_on_squatting", "joint_line_tenderness_medial", beliefs=(("acl_tear", 0.9),)
    )
    assert found.lesson.topic not in (Topic.LEFT_OUT, Topic.TOO_SURE, Topic.TOO_UNSURE)
    assert any(each.bits >= 0.1 for each in found.left_out)


def test_what_could_not_have_been_tested_or_answered_is_not_left_out() -> None:
    """A knee that lets nobody test its ligaments, and questions without an answer, are no gaps."""
    seen = unanswered = 0
    for seed in range(60):
        hidden = draw_patient(Recipe(seed=seed, setting=Setting.EMERGENCY))
        if not hidden.complaint.prevented:
            continue
        encounter = replay(hidden, Terms(), [Event(act=Act.DO, sign=each) for each in COURTESIES])
        names = {each.sign for each in left_out(encounter, reasoner().think(known_by(encounter)), reasoner())}
        assert not [name for name in names if PROTOCOL.sign(name).stress_test], seed
        asked = {name for name in names if PROTOCOL.sign(name).kind is Kind.HISTORY}
        assert None not in {hidden.answers[name] for name in asked}, seed
        seen, unanswered = seen + 1, unanswered + (None in hidden.answers.values())
    assert seen > 5
    assert unanswered > 5


def test_the_foot_is_examined_below_a_freshly_dislocated_knee_whatever_it_shows() -> None:
    """Pulses and nerve left out are told, are the lesson where no rule was missed, and a habit not kept."""
    hidden = dislocated()
    must = tuple(must_be_checked(hidden))
    assert {"distal_pulses", "foot_drop"} <= set(must)  # common practice
    without = careful(hidden, "lachman", "valgus_stress_30")
    assert [each.sign for each in without.unchecked] == list(must)
    assert len(tuple(unchecked_lines(without))) == len(must)
    lesson = lesson_of(**NOTHING | {"unchecked": without.unchecked})
    assert lesson.topic is Topic.UNCHECKED
    assert "examine the foot" in lesson_words(lesson, protocol=PROTOCOL)
    done = careful(hidden, *must, "lachman", "valgus_stress_30")
    assert done.unchecked == ()
    assert must_be_checked(dislocated(Acuity.CHRONIC)) == {}
    assert must_be_checked(torn(Acuity.ACUTE)) == {}


def test_forgetting_the_foot_is_no_finding_of_what_cannot_wait() -> None:
    """The habit of clearing what cannot wait is not kept by whoever did not examine the foot."""
    hidden = dislocated()
    bare = [Event(act=Act.DO, sign=each) for each in COURTESIES]
    run = replay(hidden, Terms(), bare)
    kept = {each.habit: each.kept for each in facts_of(run, debrief(run, reasoner=reasoner())).habits}
    assert unchecked(run)
    assert kept[ALERT] is False


def test_a_knee_hurt_until_it_guards_is_told_so() -> None:
    """From when on, and what that does to what is tested afterwards; a gentle examiner hears none of it."""
    hidden = next(
        each
        for seed in range(40)
        for each in [
            draw_patient(
                recipe_with(
                    Recipe(seed=seed, age_years=24, acuity=Acuity.ACUTE, setting=Setting.EMERGENCY),
                    [("acl_tear", "complete")],
                )
            )
        ]
        if not each.complaint.guarding and not each.complaint.prevented
    )
    side = hidden.person.side
    bare = Event(act=Act.DO, sign="exposure")
    cruel = [Event(act=Act.DO, sign="pivot_shift", side=side)] * 8
    hurt, gentle = (replay(hidden, Terms(), [bare, *each]) for each in (cruel, cruel[:1]))
    assert guarded_from(gentle) is None
    at = guarded_from(hurt)
    assert at is not None
    assert 0 < at < hurt.run.clock_s
    told = debrief(hurt, reasoner=reasoner())
    assert told.guarded_from_s == at
    assert any("guarded, because it had been hurt" in each for each in hurt_lines(told))


@pytest.mark.parametrize(
    ("signs", "beliefs", "said"),
    [
        (ACL, (("acl_tear", 0.95),), "You weighed what you found well"),
        (ACL, (("medial_meniscus_tear", 0.9), ("acl_tear", 0.1)), "it is the weighing that cost you"),
        (("pain_lateral",), (("acl_tear", 0.95),), "nearer the truth than your findings allow"),
        (
            ("pain_lateral",),
            (("medial_meniscus_tear", 0.9),),
            "more could have been found, and what you found",
        ),
        (ACL, (), "You did not say what you thought"),
    ],
)
def test_what_lay_in_finding_and_what_in_weighing_is_told_apart(
    signs: tuple[str, ...], beliefs: tuple[tuple[str, float], ...], said: str
) -> None:
    """Found and weighed; found and anchored; right without findings; found and nothing said."""
    found = careful(torn(), *signs, beliefs=beliefs)
    lines = tuple(upshot_lines(found))
    assert said in lines[0]
    far = [lesion for lesion, p in beliefs if abs(p - found.allowed[lesion]) >= FAR]
    assert len(lines) == 1 + len(far)


def test_that_it_is_none_of_the_lesions_can_be_said() -> None:
    """A sound knee with a complaint: saying so is a differential, and scores well; saying nothing is none."""
    recipe = Recipe(seed=1000, age_years=30, acuity=Acuity.CHRONIC, setting=Setting.PRIMARY_CARE)
    sound = draw_patient(recipe_with(recipe, [], alone=True))
    assert sound.complaint.lesions == ()
    said, silent, wrong = (
        debrief(replay(sound, Terms(), [Event(act=Act.DO, sign="exposure"), *more]), reasoner=reasoner())
        for more in (
            [Event(act=Act.BELIEVE)],
            [],
            [Event(act=Act.BELIEVE, beliefs=(("acl_tear", 0.8),))],
        )
    )
    assert said.scores["student"].brier < 0.02 < wrong.scores["student"].brier
    assert "student" not in silent.scores
    assert not any("did not say" in each for each in upshot_lines(said))
    torn_apart = {"allowed": {"acl_tear": 0.9}, "present": ("acl_tear",)}
    assert lesson_of(**NOTHING | torn_apart | {"believed": {}}).topic is Topic.TOO_UNSURE
    assert lesson_of(**NOTHING | torn_apart | {"believed": None}).topic is Topic.NOTHING


def test_each_line_of_what_was_left_out_tells_what_it_would_have_been() -> None:
    """A level in its words, or a reading with its unit: no line leaves it open."""
    readings = 0
    for seed in range(8):
        hidden = draw_patient(Recipe(seed=seed, setting=Setting.PRIMARY_CARE, age_years=60))
        found = careful(hidden, "swelling_visible")
        lines = tuple(left_out_lines(found))
        assert lines
        for line, each in zip(lines, found.left_out, strict=False):
            assert "would have been" in line, line
            readings += isinstance(each.would, float) and any(digit in line for digit in "0123456789")
    assert readings
