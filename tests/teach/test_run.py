import json
import re
from dataclasses import replace
from itertools import count

import pytest

from fabella.anatomy import Side, load_lesions, other
from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Setting
from fabella.teach import (
    Act,
    Encounter,
    Event,
    Face,
    Terms,
    act,
    begin,
    event_tree,
    named_twice,
    read_event,
    replay,
    seen_tree,
)
from fabella.teach.answering import GUARDS_FROM
from fabella.teach.known import known_by
from fabella.teach.players import COURTESIES
from tests.teach.patients import patient, patient_with

PROTOCOL = load_protocol()
UNTIMED = Terms()


def do(encounter: Encounter, sign: str, side: Side | None = None) -> Encounter:
    """Do one thing."""
    return act(encounter, Event(act=Act.DO, sign=sign, side=side))


def prepared(terms: Terms = UNTIMED, *, seed: int = 3) -> Encounter:
    """An encounter after every courtesy, with bare legs."""
    events = [Event(act=Act.DO, sign=courtesy) for courtesy in COURTESIES]
    return replay(patient(seed), terms, events)


def test_everything_costs_its_seconds_and_changing_position_too() -> None:
    """The clock is the protocol's seconds, positions taken up once, and the thinking before each event."""
    encounter = prepared()
    before = encounter.run.clock_s
    encounter = do(encounter, "lachman", Side.RIGHT)
    position = PROTOCOL.position("special").seconds
    assert encounter.run.clock_s == before + position + PROTOCOL.sign("lachman").seconds
    encounter = act(encounter, Event(act=Act.DO, sign="lachman", side=Side.LEFT, thought_s=7))
    assert encounter.run.clock_s == before + position + 2 * PROTOCOL.sign("lachman").seconds + 7
    assert encounter.run.turns[-1].at_s == encounter.run.clock_s - PROTOCOL.sign("lachman").seconds


def test_nothing_forces_the_order_or_the_other_knee() -> None:
    """Any sign may come first, on either knee; nothing that is returned depends on what was left out."""
    hidden = patient(3)
    bare = [
        Event(act=Act.DO, sign="exposure"),
        Event(act=Act.DO, sign="pivot_shift", side=hidden.person.side),
    ]
    rude = replay(hidden, UNTIMED, bare).run.turns[-1].seen
    assert rude.shown is not None
    assert not rude.refused
    kind = do(prepared(), "pivot_shift", hidden.person.side).run.turns[-1].seen
    assert rude.shown == kind.shown


def test_covered_legs_show_nothing_until_they_are_bare() -> None:
    """Looking through trousers costs time and shows nothing; a walking aid is seen all the same."""
    encounter = do(begin(patient(3), UNTIMED), "lachman", Side.RIGHT)
    assert encounter.run.turns[-1].seen.covered
    assert encounter.run.turns[-1].seen.shown is None
    assert encounter.run.clock_s > 0
    for of_the_person in ("walking_aid", "pallor", "body_temperature"):
        assert not do(encounter, of_the_person).run.turns[-1].seen.covered


def test_the_station_ends_when_the_time_is_up() -> None:
    """After the last second nothing more can be done, but what was found and believed can still be told."""
    encounter = act(prepared(Terms(minutes=5)), Event(act=Act.WATCH_FACE, thought_s=290))
    assert encounter.run.time_is_up
    late = do(encounter, "lachman", Side.RIGHT)
    assert late.run.turns[-1].seen.refused
    assert late.run.clock_s == encounter.run.clock_s
    told = act(late, Event(act=Act.BELIEVE, beliefs=(("acl_tear", 0.5),)))
    ended = act(told, Event(act=Act.FINISH))
    assert ended.run.beliefs == (("acl_tear", 0.5),)
    assert ended.run.finished
    assert do(ended, "lachman", Side.RIGHT) is ended


def test_events_survive_as_json_and_bring_the_same_run() -> None:
    """Stored events are read back unchanged, and playing them again gives every word and number again."""
    encounter = do(prepared(Terms(minutes=8, told=True)), "effusion_sweep", Side.LEFT)
    for event in (
        Event(act=Act.POSITION, position="walking", thought_s=1.5),
        Event(act=Act.RECORD, sign="effusion_sweep", side=Side.LEFT, level="1+"),
        Event(act=Act.RECORD, sign="passive_flexion", side=Side.LEFT, value=120),
        Event(act=Act.BELIEVE, beliefs=(("acl_tear", 0.6), ("mcl_tear", 0.2))),
        Event(act=Act.COMPLETE, would=("hip", "pulses")),
        Event(act=Act.FINISH),
    ):
        encounter = act(encounter, event)
    text = json.dumps([event_tree(event) for event in encounter.run.events])
    events = [read_event(tree, protocol=PROTOCOL) for tree in json.loads(text)]
    assert tuple(events) == encounter.run.events
    assert replay(encounter.hidden, encounter.run.terms, events).run == encounter.run


def test_faulty_events_are_refused_with_every_fault() -> None:
    """A sign, side, level, value or lesion that does not exist is told, with the nearest that does."""
    for tree, told in (
        ({"act": "dance"}, "act"),
        ({"act": "do", "sign": "lachmann", "side": "left"}, "did you mean lachman"),
        ({"act": "do", "sign": "lachman"}, "needs a side"),
        ({"act": "do", "sign": "giving_way", "side": "left"}, "has no side"),
        ({"act": "do", "sign": "effusion", "side": "left"}, "only sums up"),
        ({"act": "record", "sign": "lachman", "side": "left", "level": "4+"}, "is no level"),
        ({"act": "record", "sign": "lachman", "side": "left", "value": 300}, "is not possible"),
        ({"act": "believe", "beliefs": [["acl", 0.5]]}, "is not known"),
        ({"act": "believe", "beliefs": [["acl_tear", 1.5]]}, "is no probability"),
        ({"act": "finish", "secret": 1}, "is no key"),
        ([], "is no object"),
    ):
        with pytest.raises(InputError, match=told):
            read_event(tree, protocol=PROTOCOL)


def test_a_differential_names_each_lesion_once() -> None:
    """What is named twice is told by its name; a run in which it was kept can still be read."""
    pairs = [["acl_tear", 0.7], ["mcl_tear", 0.2], ["acl_tear", 0.1]]
    event = read_event({"act": "believe", "beliefs": pairs}, protocol=PROTOCOL)
    (problem,) = named_twice(event)
    assert (problem.value, problem.says) == (load_lesions()["acl_tear"].name, "is named twice")
    assert not named_twice(replace(event, beliefs=event.beliefs[:2]))


def test_it_hurts_more_without_asking_and_in_the_sore_knee() -> None:
    """Pain is said aloud, seen only when the face is watched, and less when the spot was asked for."""
    drawn = (patient_with("tibial_plateau_fracture", seed=seed) for seed in count())
    hidden = next(each for each in drawn if not each.knees[other(each.person.side)].lesions)
    side = hidden.person.side
    sore = next(
        name
        for (name, where), outcome in hidden.outcomes.items()
        if where is side and outcome.level and outcome.guarded and PROTOCOL.sign(name).hurts > 1
        if not PROTOCOL.sign(name).avoid_when  # or it hurts whoever has a reason not to be so tested
    )
    bare = [Event(act=Act.DO, sign="exposure"), Event(act=Act.WATCH_FACE)]
    kind = [Event(act=Act.DO, sign="pain_first"), *bare]
    rude, careful = replay(hidden, UNTIMED, bare), replay(hidden, UNTIMED, kind)
    hurt = [do(each, sore, side) for each in (rude, careful)]
    assert hurt[0].hurt_on(side) > hurt[1].hurt_on(side) > 0
    seen = hurt[0].run.turns[-1].seen
    assert seen.said
    assert seen.face in (Face.WINCE, Face.GRIMACE)
    unwatched = do(replay(hidden, UNTIMED, bare[:1]), sore, side).run.turns[-1].seen
    assert unwatched.face is None
    assert do(rude, sore, other(side)).hurt_on(other(side)) == 0


def test_hurting_a_knee_again_and_again_makes_it_guard_and_then_refuse() -> None:
    """Pain adds up: in the end painful tests are refused on that knee, and gentle looking is not."""
    hidden = patient_with("septic_arthritis")
    side = hidden.person.side
    encounter = replay(hidden, UNTIMED, [Event(act=Act.DO, sign="exposure")])
    for _ in range(12):
        encounter = do(encounter, "apley", side)
    assert encounter.hurt_on(side) > GUARDS_FROM
    assert encounter.run.turns[-1].seen.refused
    assert not do(encounter, "scar", side).run.turns[-1].seen.refused


def test_a_guarded_level_is_never_more_than_the_relaxed_one_of_a_yes_or_no_sign() -> None:
    """Guarding hides a stress test and makes none positive."""
    for seed in range(40):
        for (name, side), outcome in patient(seed).outcomes.items():
            sign = PROTOCOL.sign(name)
            if side is not None and len(sign.scale.levels) == 2:
                assert outcome.guarded <= outcome.level, name


def test_the_legs_are_seen_in_each_position_once_bare() -> None:
    """Standing shows angles of both legs, walking cadence and stance; a dressed patient shows neither."""
    dressed = act(begin(patient(3), UNTIMED), Event(act=Act.POSITION, position="standing"))
    assert dressed.run.turns[-1].seen.look is None
    encounter = act(prepared(), Event(act=Act.POSITION, position="standing"))
    look = encounter.run.turns[-1].seen.look
    assert look is not None
    for leg in (look.right, look.left):
        assert leg.alignment_deg == encounter.hidden.outcomes["tibiofemoral_angle", leg.side].value
    walking = act(encounter, Event(act=Act.POSITION, position="walking")).run.turns[-1].seen.look
    assert walking is not None
    assert walking.cadence_per_min is not None
    assert walking.left.stance_share_pct is not None


def test_told_findings_are_words_and_untold_ones_are_not() -> None:
    """Where the examiner tells findings there is a sentence; otherwise only what the figure draws."""
    told = do(prepared(Terms(told=True)), "lachman", Side.RIGHT).run.turns[-1].seen
    assert told.told.startswith("Lachman test, right: ")
    assert do(prepared(), "lachman", Side.RIGHT).run.turns[-1].seen.told == ""


def test_what_is_known_is_what_was_asked_and_recorded() -> None:
    """An answer counts once heard, a finding once recorded; mechanism and onset are unknown until asked."""
    encounter = begin(patient(3), UNTIMED)
    assert known_by(encounter).context.mechanism is None
    assert known_by(encounter).history == {}
    encounter = do(do(prepared(), "giving_way"), "lachman", Side.LEFT)
    known = known_by(encounter)
    assert known.context.mechanism is encounter.hidden.person.context.mechanism
    assert set(known.history) <= {"giving_way"}
    assert known.findings == ()
    encounter = act(encounter, Event(act=Act.RECORD, sign="lachman", side=Side.LEFT, level="2+"))
    assert [each.level for each in known_by(encounter).findings] == ["2+"]


def test_what_was_told_needs_no_record_but_may_be_corrected() -> None:
    """A finding that the examiner told is known; one that was only shown is not until it is recorded."""
    told = do(prepared(Terms(told=True)), "effusion_sweep", Side.LEFT)
    assert [each.sign for each in known_by(told).findings] == ["effusion_sweep"]
    assert known_by(do(prepared(), "effusion_sweep", Side.LEFT)).findings == ()
    other_word = act(told, Event(act=Act.RECORD, sign="effusion_sweep", side=Side.LEFT, level="3+"))
    assert [each.level for each in known_by(other_word).findings] == ["3+"]


@pytest.mark.parametrize("seed", range(6))
def test_nothing_that_is_sent_names_a_lesion(seed: int) -> None:
    """Whatever is asked and examined, neither the text of the run nor what was seen holds a lesion."""
    hidden = patient(seed, setting=Setting.SPECIALIST_CLINIC, curriculum="ligaments")
    encounter = prepared(Terms(told=True), seed=seed)
    encounter = replay(hidden, Terms(told=True), encounter.run.events)
    for sign in PROTOCOL.sequence():
        for side in (None,) if sign.is_person or sign.is_history else tuple(Side):
            encounter = do(encounter, sign.id, side)
    sent = json.dumps([seen_tree(turn.seen) for turn in encounter.run.turns]) + repr(encounter.run)
    said = set(re.findall(r"[a-z_0-9]+", sent))
    assert not said & set(load_lesions())
    own = {lesion for knee in hidden.knees.values() for lesion, _ in knee.lesions}
    assert not [lesion for lesion in own if load_lesions()[lesion].name.split(" (")[0] in sent]
    assert "lesions" not in sent
    assert "forbidden" not in sent
    assert repr(encounter) == f"Encounter(hidden, {len(encounter.run.turns)} turns)"
