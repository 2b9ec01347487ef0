"""What the eighteenth set showed, each as a principle, with what must not be read so."""

import pytest

from fabella.dictation import Became
from fabella.record import Mechanism, Setting, Sex
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, RIGHT, found, read


def _of_person(text: str) -> dict[str, float | None]:
    return {each.sign: each.value for each in read(text).findings if each.side is None}


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("Heart rate 134, BP 85/50.", {"heart_rate": 134, "systolic_pressure": 85}),
        ("HR 58, BP 112 over 70, sats 98 on air.",
         {"heart_rate": 58, "systolic_pressure": 112, "oxygen_saturation": 98}),
        ("Her pulse is one hundred and twelve, resps twenty two.",
         {"heart_rate": 112, "respiratory_rate": 22}),
        ("Blood pressure 104 over 62, resp rate 22 per minute, temperature 38.6.",
         {"systolic_pressure": 104, "respiratory_rate": 22, "body_temperature": 38.6}),
        ("GCS 15.", {}),
        ("HR 72, no fever.", {"heart_rate": 72}),
        ("Sats 96%.", {"oxygen_saturation": 96}),
    ],
)  # fmt: skip
def test_vital_signs_are_read_with_their_numbers(said: str, told: dict[str, float]) -> None:
    """The upper pressure is written; what has no place in the record is put aside, and none is asked."""
    assert _of_person(said) == told
    assert read(said).is_complete


@pytest.mark.parametrize(
    "said",
    [
        "Heart rate 134, no, 143.",
        "Heart rate 134 or 143.",
        "Heart rate 134, no",
        "Heart rate 134 at the scene. Heart rate 98 on arrival.",
        "BP 50/85.",
        "Heart rate 1340.",
        "Sats 96% on two litres of oxygen.",
        "If her heart rate were 134 you would worry.",
    ],
)
def test_a_vital_sign_in_doubt_is_asked_about(said: str) -> None:
    """Put right, told twice, turned round, impossible, or only supposed: none is written unasked."""
    assert _of_person(said) == {}
    assert not read(said).is_complete


def test_the_pulse_of_a_foot_is_no_heart_rate() -> None:
    """A pulse of two plus is felt at a foot."""
    text = "Right knee. Pulse 2 plus."
    assert _of_person(text) == {}


@pytest.mark.parametrize(
    "said",
    [
        "I'll get an MRI and we'll talk about reconstruction after that.",
        "Plan: weight, physio, weight-bearing films.",
        "Advised stress radiographs and MRI, physiotherapy, review with reports after two weeks.",
        "Nil by mouth from now please.",
        "Bloods and cultures have gone, and I'm going to aspirate it before she gets any antibiotics.",
        "Assessment and plan: PT for hip strengthening, follow up in six weeks, hold off on an injection.",
        "He's for theatre this week.",
    ],
)
def test_what_is_to_be_done_is_put_aside(said: str) -> None:
    """A plan is neither a finding nor a question, and answers no question of the history."""
    understood = read(f"Right knee. No effusion. {said} Lachman negative.")
    assert found(f"Right knee. No effusion. {said} Lachman negative.", RIGHT) == {
        "effusion": NORMAL,
        "lachman": NORMAL,
    }
    assert understood.is_complete
    assert not understood.history


@pytest.mark.parametrize(
    "said",
    [
        "I'll get an MRI because the Lachman is positive.",
        "Plan is an arthroscopy, the effusion is large.",
        "I'm going to aspirate it, there's a tense effusion.",
        "We'll review the knee which has no effusion.",
    ],
)
def test_a_plan_with_a_finding_in_it_is_not_lost(said: str) -> None:
    """What was found beside a plan is read, or asked about."""
    understood = read(f"Right knee. {said}")
    assert understood.findings or not understood.is_complete


@pytest.mark.parametrize(
    ("said", "found_there"),
    [
        ("Discharge from the scar.", {"scar": ABNORMAL, "sinus": ABNORMAL}),
        ("Referred to us with an effusion.", {"effusion": ABNORMAL}),
        ("Discussed, and the calf is tender.", {"tenderness_calf": ABNORMAL}),
    ],
)
def test_what_opens_like_a_plan_and_tells_what_was_found_is_a_story(
    said: str, found_there: dict[str, object]
) -> None:
    """A wound that discharges is nobody who is discharged."""
    assert found(f"Right knee. {said}", RIGHT) == found_there


def test_how_it_came_about_and_what_was_told_is_no_plan() -> None:
    """A story opens with where the patient was sent, or with a month."""
    assert read("Right knee. Back in March he twisted it.").context.mechanism is Mechanism.TWIST
    assert read("Referred to us with locking of the right knee.").history["locking"] is True
    assert not read("Right knee. Discharged from hospital after a clot.").is_complete
    assert not read("Right knee. Bloods have gone, the aspirate was turbid.").is_complete
    assert read("Right knee. No effusion. Discharge home with crutches.").is_complete


def test_a_plan_for_the_other_knee_leaves_open_which_is_told_of_next() -> None:
    """Its knee may be that of what follows, or not."""
    text = "Right knee. No effusion. I'll get an MRI of the left knee. Lachman positive."
    assert found(text, RIGHT) == {"effusion": NORMAL}
    assert found(text, LEFT) == {}
    assert not read(text).is_complete


@pytest.mark.parametrize(
    ("text", "right", "left"),
    [
        ("Right knee: limps on the right. No effusion. Left knee the same.",
         {"antalgic_gait": ABNORMAL, "effusion": NORMAL}, {"effusion": NORMAL}),
        ("Right knee: gait normal. No effusion. Left knee the same, all normal.",
         {"antalgic_gait": NORMAL, "effusion": NORMAL}, {"antalgic_gait": NORMAL, "effusion": NORMAL}),
        ("Right knee has a large effusion. Left knee the same, all normal.", {"effusion": "large"}, {}),
    ],
)  # fmt: skip
def test_the_same_carries_over_no_limp_and_nothing_that_normal_contradicts(
    text: str, right: dict[str, object], left: dict[str, object]
) -> None:
    """A limp is on one side; "the same, all normal" of a bad knee is asked about."""
    assert (found(text, RIGHT), found(text, LEFT)) == (right, left)


def test_behind_a_normal_knee_what_is_told_is_of_the_other() -> None:
    """One knee was normal as a whole, so nothing more is told of it; where only signs were, it is asked."""
    told = found("Right knee is normal. But the left has a large effusion and is warm. Lachman 2 plus.", LEFT)
    assert told == {"effusion": "large", "warmth": "warm", "lachman": "2+"}
    open_one = "Right knee has no effusion. But the left has a large effusion and is warm."
    assert "warmth" not in found(open_one, RIGHT)


def test_an_end_point_shares_its_knee_with_the_result_before_it() -> None:
    """In "2+ on the right with a soft end point, negative with a firm end on the left"."""
    text = "Lachman two plus on the right with a soft end point, negative with a firm end on the left."
    assert found(text, RIGHT) == {"lachman": "2+", "lachman_end_point": "soft"}
    assert found(text, LEFT) == {"lachman": NORMAL, "lachman_end_point": "firm"}


@pytest.mark.parametrize(
    ("text", "age", "sex"),
    [
        ("34-year-old man, a climber.", 34, Sex.MALE),
        ("42-year-old male patient, software engineer by profession.", 42, Sex.MALE),
        ("F 66. Both knees.", 66, Sex.FEMALE),
        ("Woman 58, retired.", 58, Sex.FEMALE),
        ("Motorcyclist, male, about 28, came off.", 28, Sex.MALE),
        ("I've a lovely chap here, forty-seven, a teacher.", 47, None),
    ],
)
def test_who_the_patient_is(text: str, age: float, sex: Sex | None) -> None:
    """An age in the ways in which a story opens; "34-year-old man," is no "old man" who is spoken to."""
    patient = read(text).patient
    assert (patient.age_years, patient.sex) == (age, sex)


@pytest.mark.parametrize("text", ["Right knee flexion, 66, Lachman negative.", "M 2 plus."])
def test_a_number_without_a_person_is_no_age(text: str) -> None:
    """A letter and a number open no story by themselves elsewhere."""
    assert read(text).patient.age_years is None


@pytest.mark.parametrize(
    ("text", "setting"),
    [
        ("Specialist clinic. Left knee stable.", Setting.SPECIALIST_CLINIC),
        ("68 year old man, GP clinic, right knee pain.", Setting.PRIMARY_CARE),
        ("Sports medicine clinic. 26 yo female.", Setting.SPORTS_CLINIC),
        ("She went to the GP clinic.", None),
        ("Right knee. Emergency department. No effusion.", None),
    ],
)
def test_where_the_patient_is_seen(text: str, setting: Setting | None) -> None:
    """As a clause of its own it tells where; an emergency only opens the text."""
    assert read(text).context.setting == setting


@pytest.mark.parametrize(
    ("said", "days"),
    [
        ("Injury to the left knee forty minutes ago.", 0),
        ("Pain in the left knee times four weeks.", 28),
        ("Complains of pain in the left knee since eight months.", 240),
        ("Twisted the left knee last night.", 1),
    ],
)
def test_how_long_ago_it_was(said: str, days: float) -> None:
    """The ways in which trades and countries say a time."""
    assert read(said).context.onset_days == days


@pytest.mark.parametrize(
    ("said", "left"),
    [
        ("Can't lift the left foot up.", {"foot_drop": "absent"}),
        ("He's not able to lift the left leg straight.", {"straight_leg_raise": "unable"}),
        ("Power of quadriceps is five by five.", {"knee_extension_strength": "5"}),
        ("Quads strength right four out of five, left five.", {"knee_extension_strength": "5"}),
        ("Hip abduction strength 4 out of 5 on the left.", {"hip_abduction_weak": ABNORMAL}),
        ("Left knee. Any movement at all is painful.", {"motion_pain_any": ABNORMAL}),
        ("Distal pulses felt on the left.", {"distal_pulses": NORMAL}),
        ("Left single leg squat valgus.", {"single_leg_squat": "poor_control"}),
        (
            "On the left, when I flex the hip it rolls out by itself.",
            {"obligate_external_rotation": ABNORMAL},
        ),
    ],
)
def test_what_was_read_amiss(said: str, left: dict[str, object]) -> None:
    """A foot that cannot be lifted is no leg; powers are told in several ways."""
    assert found(f"Left knee. {said}" if "left" not in said.casefold() else said, LEFT) == left


def test_a_fall_at_speed_and_no_injury_are_mechanisms() -> None:
    """A denial of any injury is one as well."""
    assert read("He came off at speed.").context.mechanism is Mechanism.HIGH_ENERGY
    assert (
        read("Denies any injury, denies swelling, denies locking.").context.mechanism is Mechanism.INSIDIOUS
    )


def test_who_somebody_is_is_put_aside_beside_findings_too() -> None:
    """But not right beside a sign, where a word that is not known may change it."""
    assert read("Right knee, a carpenter, no effusion.").is_complete
    assert not read("Right knee effusion carpenter.").is_complete
    assert not read("Right knee effusion, he said, small.").is_complete


@pytest.mark.parametrize(
    ("said", "item"),
    [
        ("Abdominal aneurysm.", "known_aneurysm"),
        ("Both legs swollen for years.", "old_leg_swelling"),
        ("She had the cartilage out as a girl.", "previous_surgery"),
        ("It sometimes swells up and then goes down again.", "intermittent_swelling"),
        ("Stairs bad.", "pain_on_stairs"),
    ],
)
def test_history_in_everyday_words(said: str, item: str) -> None:
    """What patients tell, as it is dictated."""
    assert read(said).history.get(item) is True
    assert not read(f"No {said[0].lower()}{said[1:]}").history.get(item)


@pytest.mark.parametrize(
    "said",
    [
        "Both legs swollen for years, the left more since Friday.",
        "Both legs swollen for years but worse this week.",
        "Both legs swollen for years and the left one is now bigger.",
    ],
)
def test_what_is_old_but_not_only_that_is_asked_about(said: str) -> None:
    """An alarm must not fall silent by half a sentence."""
    assert "old_leg_swelling" not in read(said).history
    assert not read(said).is_complete


def test_ice_and_crutches_are_a_plan() -> None:
    """They tell no walking aid of today."""
    assert read("Right knee. No effusion. Ice and crutches.").is_complete
    assert not _of_person("Right knee. No effusion. Ice and crutches.")


def test_a_sentence_of_which_nothing_is_understood_is_one_question() -> None:
    """What was understood in a sentence keeps its open words apart."""
    spans = read("Right knee. The frobnicator wiffled upon the gromblets. No effusion.").open_spans
    assert len(spans) == 1
    assert spans[0].became is Became.NOT_UNDERSTOOD
    assert len(read("Right knee: frobnicated, Lachman negative, gromblets.").open_spans) > 1


def test_a_number_with_two_points_is_none() -> None:
    """It was a crash."""
    assert not read("Temp 38.6.10 mm at 30.").is_complete


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ("Known sickle cell disease.", True),
        ("Known sickle cell trait.", False),
        ("No sickle cell trait.", None),
    ],
)
def test_who_carries_the_trait_has_not_the_disease(said: str, answer: bool | None) -> None:
    """And who has not even the trait was not asked about the disease by that name."""
    assert read(f"Right knee. {said}").history.get("sickle_cell") is answer


@pytest.mark.parametrize(
    "said", ["She is not on the pill.", "No family history of clots.", "No long journey."]
)
def test_denying_one_risk_of_a_clot_denies_not_the_others(said: str) -> None:
    """One answer holds four things, and one of them was asked about."""
    assert "clot_risk" not in read(f"Right knee pain. {said}").history


def test_what_happens_for_no_reason_is_not_how_it_began() -> None:
    """It was twisted, and gives way since; what came on for no reason began so."""
    twisted = read("Twisted the right knee. It gives way for no reason.")
    assert twisted.context.mechanism is Mechanism.TWIST
    assert twisted.history["giving_way"] is True
    assert read("Right knee pain, came on for no reason.").context.mechanism is Mechanism.INSIDIOUS


def test_a_foot_that_is_not_lifted_off_the_bed_is_a_leg_that_is_not_raised() -> None:
    """A foot that is not lifted is one that drops."""
    assert found("Right: cannot lift his foot off the bed.", RIGHT) == {"straight_leg_raise": "unable"}
    assert found("Right: cannot lift his foot.", RIGHT) == {"foot_drop": "absent"}


@pytest.mark.parametrize(
    "said",
    ["Left: total knee replacement.", "Left: scar of total knee replacement.", "Left: previous surgery."],
)
def test_what_is_told_of_the_knee_not_complained_of_is_asked_about(said: str) -> None:
    """The answers of a history are about the knee that troubles: it has no prosthesis for the other's."""
    understood = read(f"Right knee pain for two weeks. {said}")
    assert not understood.history
    assert not understood.is_complete
    assert read(f"Right knee pain. {said.replace('Left', 'Right')}").history


def test_trouble_of_the_other_knee_makes_it_one_complained_of() -> None:
    """It needs no question; nor does what is told of the person, or denied."""
    assert read("Right knee pain. Left knee locks.").context.complained_of == (RIGHT, LEFT)
    assert read("Right knee pain. Left: no previous surgery.").history["previous_surgery"] is False
    assert read("Right knee pain. Left knee: on warfarin.").history["anticoagulant"] is True
