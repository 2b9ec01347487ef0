import pytest

from fabella.audit.stories import code_of, hints_of, mechanism_of
from fabella.record import Acuity, Answer, Mechanism

# Invented, in the style of case reports.
MECHANISMS = {
    "insidious": """
        Insidious onset of medial knee pain over six months
        No known injury; knee swelling noticed by parents
        Gradual onset of pain behind the kneecap
        Woke with a hot swollen knee
        Atraumatic swelling for three weeks
        Spontaneous swelling after a course of antibiotics
        Two-year history of intermittent locking
        Slowly enlarging lump above the knee
        Limp and refusal to walk for two days, fever
        Knee pain for three months, worse at night
        Progressive stiffness after total knee replacement
        Pain three weeks after ACL reconstruction
        Known haemophilia, sudden swelling without injury
        Fever and knee pain five days after a sore throat
        Knee pain and limp in a boy, no trauma recalled
        Thigh pain then knee pain for four months, overweight boy
        Denied trauma; two weeks of swelling
        Ache for a month, ice and rest help
        Handball player, ache below the kneecap
        Pain on stairs, worse going down
        Knee has locked on and off for many years, the last time turning in bed
        Wrenched it eight years ago; swelling again for three weeks
        Five bouts of swelling in two years; first after a fall from a ladder
        Slow onset over months, then a sudden sharp pain on landing
        No distinct injury; front of the knee hurts
        A week of pain at the inner side, worse twisting and turning
        Locks and hurts only in deep squats; a blow to the shin twelve years ago
        Weeks of leg pain in a small girl, cannot kneel at nursery
        Ache around the kneecap for months, worse since spring with hopping; wrist sprain in the past
        Knee collapses and falls inwards, no injury
        A lump for ten years in a gardener who kneels and squats
        Fullness for a month; a fall last winter without harm
        A week of swelling in a distance runner who had halved her mileage
        Three months of pain in a runner, no injury or change of training
        Ache when cycling or running
        Swelling came on suddenly; nothing had happened""",
    "overuse": """
        No trauma; pain after increasing weekly mileage for a marathon
        Military recruit with shin and knee pain after two weeks of marching
        Distance runner with lateral knee pain after 5 km
        Increased running distance before a half marathon
        Runner, 50 km a week, pain on the outer side
        Gradual onset of pain in a long-distance cyclist
        Repetitive jumping training, pain below the patella, no injury
        Pain on the outer side after a week of unaccustomed walking
        Three weeks of pain after starting to run every morning
        A month of growing pain that had not kept her from training; two days ago a twinge""",
    "twist": """
        Pivoting injury at handball, felt a pop
        Changed direction suddenly at football and the knee buckled
        Landed awkwardly after a lay-up
        Foot caught in the turf while turning
        Cutting manoeuvre during a rugby match, non-contact
        Twisted the knee getting out of a car
        Side-stepped an opponent, knee gave way
        Slipped on ice, knee twisted beneath her
        Twisted the knee three years ago and unstable since
        Twisted the knee two months ago
        Sprained knee in a fall at school
        Stopped short and turned the body on the planted foot
        Made a sharp cut, then swelling
        Planted the leg to mount a motorcycle and turned; it gave
        Swung the bat and felt a clunk
        A tearing feeling in a swimming race
        Stepped into a pothole""",
    "valgus_force": """
        Tackled from the side at rugby
        Blow to the outer side of the knee
        Knee forced inwards in a tackle
        Struck on the lateral aspect of the knee by an opponent
        Forced valgus in a judo throw
        Another player fell on the outside of his knee
        Landing from a header the knee gave way inwards""",
    "varus_force": """
        Blow to the inner side of the knee with varus strain
        Hit on the medial side of the extended knee
        Varus stress in a wrestling hold
        Kicked by an opponent on the inside of the knee""",
    "hyperextension": """
        Hyperextended the knee on a trampoline
        Knee bent backwards when stepping in a hole
        Hyper-extension injury at a vault
        Kicked on the front of a straight leg""",
    "direct_blow": """
        Dashboard injury in a car crash
        Kicked on the thigh and front of the knee at football
        Hit his knee on a table
        Struck by a hockey stick
        Direct trauma to the patella from a falling object
        Bumped the knee on the bed frame
        Dragged over the gravel behind a sledge
        Slid along the road on his shin
        Collision with the goalkeeper
        Farmer, kicked by a cow
        A large dog ran into her knee
        Kneecap knocked out of place on a bench, and again turning in bed
        Slid in to tackle and the knee was struck; cannot say whether it twisted
        A team mate landed on his planted leg
        Dragged the shin and the front of the knee along the sand""",
    "fall_on_knee": """
        Fell onto the flexed knee from standing
        Fell directly on both knees
        Slipped and landed on the bent knee
        Fell from her bicycle onto the knee
        Tripped over a kerb and fell on the kneecap
        Fell off a scooter
        Fell from her own height onto the knee""",
    "forced_quadriceps": """
        Jumped for a rebound, sudden pain on take-off
        Missed a step going downstairs
        Sudden deceleration while sprinting
        Stumbled and tried to save himself
        Weight lifting, snap above the patella
        Stopped suddenly during basketball
        Kicked a ball, sudden pain at the front of the knee
        The leg gave way while skipping rope and he came down on the knee
        Stepping down with a heavy box felt two pops and fell
        Going up for a header, felt a pop
        Jumped on a trampoline with another child, no fall""",
    "squat_or_kneel": """
        Swelling the day after three hours of lunging and kneeling
        Pain after squatting down to lift a box
        Got up from kneeling and the knee locked
        Stood up from a squatting position
        Kneeling to lay carpet for a week
        Crouching in the garden, felt a click""",
    "high_energy": """
        Motorcycle collision at high speed
        Pedestrian struck by a car
        Fall from a height of 4 m
        Fell from a ladder
        Road traffic accident, front-seat passenger
        Crushed by a forklift
        Thrown from a horse
        Missed a rung four feet up and landed on the foot
        Jumped off a wall two metres high
        Fell while climbing, about five metres
        Came off an electric scooter at 30 km/h""",
    "minor_fall": """
        Fell off a step a year ago, treated at home; pain and deformity
        Slipped on a wet floor
        Tripped at home
        Ground-level fall in a nursing home
        Simple fall while walking the dog
        Fell down two steps""",
    "penetrating": """
        Knelt on a sewing needle
        Thorn prick while gardening
        Dog bite at the knee
        Stab wound to the knee
        Puncture by a palm frond
        Gunshot wound to the distal thigh""",
}
ROWS = [(words.strip(), code) for code, lines in MECHANISMS.items() for words in lines.strip().splitlines()]


def test_the_table_is_as_long_as_it_should_be() -> None:
    """At least 60 phrases are tried, and every mechanism has some."""
    assert len(ROWS) >= 60
    assert set(MECHANISMS) == set(Mechanism)


@pytest.mark.parametrize(("words", "code"), ROWS)
def test_the_words_of_a_mechanism_are_understood(words: str, code: str) -> None:
    """A mechanism in free words gets the code that fits it best."""
    assert mechanism_of(words) == code


@pytest.mark.parametrize(
    "words", ["", "Seen at follow-up", "Right-handed teacher", "Acute swelling after minor trauma"]
)
def test_words_without_a_mechanism_have_none(words: str) -> None:
    """What tells nothing about the beginning gets no mechanism."""
    assert mechanism_of(words) is None


def test_an_acute_complaint_without_a_word_on_its_beginning_is_not_called_insidious() -> None:
    """Pain and swelling may be anything when it is acute, and began by itself when it is not."""
    assert mechanism_of("Pain and swelling", Acuity.ACUTE) is None
    assert mechanism_of("Pain and swelling", Acuity.CHRONIC) is Mechanism.INSIDIOUS


def test_what_happened_long_before_the_complaint_began_is_not_how_it_began() -> None:
    """An event is judged by its time against that of the onset; one without harm never counts."""
    told = "Twisted the knee a year ago; pain on stairs"
    assert mechanism_of(told, onset_days=365) is Mechanism.TWIST
    assert mechanism_of(told, onset_days=60) is Mechanism.INSIDIOUS
    assert mechanism_of("Fell on the knee a year ago and got well; swollen") is Mechanism.INSIDIOUS
    assert mechanism_of("Fell on the knee a year ago, painful since", onset_days=30) is Mechanism.FALL_ON_KNEE
    assert mechanism_of("A thorn four weeks ago; swollen again", onset_days=2) is Mechanism.PENETRATING


def test_what_was_so_when_the_complaint_began_is_an_answer() -> None:
    """What happened three months ago is the present when the complaint began then, and the past otherwise."""
    told = "Felt a pop three months ago, with swelling"
    assert hints_of(told, 90) == {"pop_heard": True, "swelling_noticed": True}
    assert hints_of(told, 7) == {}


def test_the_shape_of_a_leg_is_no_force() -> None:
    """Knock knees and bow legs are not how an injury came; a force of that name is."""
    assert mechanism_of("Painful valgus knee") is Mechanism.INSIDIOUS
    assert mechanism_of("Years of pain, varus deformity") is Mechanism.INSIDIOUS
    assert mechanism_of("Tackled, valgus force") is Mechanism.VALGUS_FORCE
    assert mechanism_of("Varus knee injury at football") is Mechanism.VARUS_FORCE


def test_what_is_denied_is_no_mechanism() -> None:
    """A denied twist, an old sprain and a non-contact injury are not read as the thing denied."""
    assert mechanism_of("Denied twisting; fell on the knee") is Mechanism.FALL_ON_KNEE
    assert mechanism_of("Two years of pain; old sprain in childhood") is Mechanism.INSIDIOUS
    assert mechanism_of("Non-contact twist") is Mechanism.TWIST
    assert mechanism_of("Non-contact hyperextension on ice") is Mechanism.HYPEREXTENSION
    assert mechanism_of("Non-contact valgus injury at landing") is Mechanism.VALGUS_FORCE
    assert mechanism_of("Pain for weeks, taken for a sprain") is Mechanism.INSIDIOUS
    assert mechanism_of("Foot drop after an injury at rugby") is Mechanism.TWIST
    assert mechanism_of("Kicking a shovel he struck the ground with the foot") is Mechanism.FORCED_QUADRICEPS
    assert mechanism_of("Hit the ground with the knee") is Mechanism.DIRECT_BLOW
    assert mechanism_of("Twisted on the stairs, no fall") is Mechanism.TWIST
    assert mechanism_of("Long-distance lorry driver with calf pain") is not Mechanism.OVERUSE
    assert mechanism_of("Pain while jumping, no fall or injury") is Mechanism.INSIDIOUS


HINTS: list[tuple[str, dict[str, Answer]]] = [
    ("Worse after play", {"activity_pain": True}),
    (
        "Pain with running, sitting and stairs down",
        {"activity_pain": True, "theatre_sign": True, "pain_on_stairs": True},
    ),
    ("Lump on the shin", {"lump_noticed": True}),
    (
        "Growing lump above the knee, night pain",
        {"lump_noticed": True, "lump_growing": True, "night_pain": True},
    ),
    ("Two spontaneous patellar dislocations in a year", {"previous_patellar_dislocation": True}),
    ("Recurrent clunk", {"catching": True}),
    ("Knee pain and clicking", {"painful_click": True}),
    ("No fever, chills or weight loss", {"fever": False, "rigors_or_unwell": False, "weight_loss": False}),
    ("No locking or giving way", {"locking": False, "giving_way": False}),
    ("Heard a pop and could not continue", {"pop_heard": True, "could_not_continue": True}),
    ("Swelling within two hours", {"swelling_noticed": True, "swelling_onset_hours": 2.0}),
    ("Swollen the next morning", {"swelling_noticed": True, "swelling_onset_hours": 24.0}),
    ("ACL reconstruction two years earlier", {"previous_surgery": True}),
    ("Total knee replacement three years ago", {"previous_surgery": True, "knee_prosthesis": True}),
    ("Fell; knee pain for several months before", {"pain_before_injury": True}),
    ("Twisted the knee; mild pain in daily life for three days before that", {"pain_before_injury": True}),
    ("Twisted the knee; no earlier knee trouble", {"pain_before_injury": False}),
    ("Pain for two weeks before the visit", {}),
    ("Increased training for a race", {"training_increase": True}),
    ("Took up daily ten-kilometre walks six weeks before", {"training_increase": True}),
    ("Runner, 50 km a week", {}),
    ("Runner who went up to 50 km a week", {"training_increase": True}),
    ("Pain and swelling of the left leg", {"calf_pain": True, "swelling_noticed": True}),
    ("Calf swelling for a week", {}),
    ("Sudden swelling and pain of the lower leg", {"calf_pain": True, "maximal_within_a_day": True}),
    ("Swollen ankle; a swollen knee since", {"swelling_noticed": True}),
    ("Redness of the leg, worse while treated as cellulitis", {}),
    ("Cellulitis of the shin a week before", {"skin_infection": True}),
    ("Kicked a ball, felt sudden pain above the knee", {"maximal_within_a_day": True}),
    ("Kicked on the knee", {"fall_or_blunt_trauma": True}),
    ("Injection into the left knee a week before", {"recent_injection_or_aspiration": True}),
    ("Immobile for five months", {"immobilised_recently": True}),
    ("Tight and swollen calf after four hours in a car", {"clot_risk": True}),
    ("Ache of the leg after a long bus journey", {"clot_risk": True}),
    (
        "Pain of the lower leg, aortic aneurysm, no atrial fibrillation",
        {"known_aneurysm": True, "atrial_fibrillation": False},
    ),
    ("Peripheral arterial disease with a femoral bypass", {"known_arterial_disease": True}),
    ("Crisis in sickle cell disease", {"sickle_cell": True, "immunosuppressed": True}),
    ("Replaced knee, the other sound", {"previous_surgery": True, "knee_prosthesis": True}),
    ("Both knees were replaced", {"previous_surgery": True, "knee_prosthesis": True}),
    ("Knee that is to be replaced", {}),
    ("The other knee was replaced", {}),
    ("Cervical cancer treated three years before", {"cancer_history": True}),
    ("Mother had breast cancer", {}),
    ("Cramps in both calves", {"calf_pain": True}),
    ("Two weeks earlier dysuria", {"recent_gut_or_urethral_infection": True}),
    (
        "Painful swelling of a metacarpophalangeal joint",
        {"other_joints_painful": True, "swelling_noticed": True},
    ),
    ("In an attack he limps", {}),
    ("He limps since", {"antalgic_gait": True}),
    ("Several aspirations elsewhere", {"recent_injection_or_aspiration": True}),
    ("Drained three times", {"recent_injection_or_aspiration": True}),
    ("Woke in the night with severe pain", {"maximal_within_a_day": True}),
    ("Pain while walking in a shop some hours before", {}),
    ("Pain while walking", {"activity_pain": True}),
    ("Patella went out, knee stuck flexed", {"patella_seen_displaced": True}),
    ("Knee gets stuck; patella never out", {"locking": True}),
    ("His foot struck the ground and the knee gave way", {"giving_way": True}),
    ("Pain running down the leg", {}),
    ("It popped out of place and went back", {"patella_seen_displaced": True}),
    (
        "Kneecap popped out of place three times",
        {"patella_seen_displaced": True, "previous_patellar_dislocation": True},
    ),
    ("Bouts of large, painless swelling", {"swelling_noticed": True, "intermittent_swelling": True}),
    ("Sweats at night; night sweats for a month", {"rigors_or_unwell": True}),
    ("Eight kg lost since spring", {"weight_loss": True}),
    ("Stiff every morning", {}),
    ("Stiff in the morning for half an hour", {"morning_stiffness_min": 30.0}),
    ("Morning stiffness of an hour", {"morning_stiffness_min": 60.0}),
    ("Morning stiffness under 30 minutes", {"morning_stiffness_min": 15.0}),
    ("Marked morning stiffness", {"morning_stiffness_min": 60.0}),
    ("No injury, no morning stiffness", {"morning_stiffness_min": 0.0}),
    ("Growing swelling of the knee", {"swelling_noticed": True}),
    ("Hard swelling above the knee", {"swelling_noticed": True, "lump_noticed": True}),
    (
        "Kneecap out at 15, put back by himself; many dislocations since",
        {"patella_seen_displaced": True, "previous_patellar_dislocation": True},
    ),
    ("Pain at the outer side of the kneecap", {"pain_anterior": True}),
    ("Pain and swelling on the inner side", {"pain_medial": True, "swelling_noticed": True}),
    ("Cannot bend or fully straighten it", {"unable_to_straighten": True}),
    ("Worse twisting and pivoting", {"pain_on_twisting": True}),
    ("Worse running downhill", {"activity_pain": True}),
    ("Pain below the kneecap when running at football", {"pain_anterior": True, "activity_pain": True}),
    ("Pain running for the bus", {}),
    ("Swelling after her usual dancing", {"swelling_noticed": True}),
    ("Constant pain; aches of the left shoulder", {"rest_pain": True, "other_joints_painful": True}),
    ("Rash in the gluteal crease", {"rash": True}),
    ("Pain in the knee and thigh", {"groin_pain": True}),
    ("A loud snap on landing", {"pop_heard": True}),
    (
        "Worse with every run, now at rest and at night",
        {"activity_pain": True, "rest_pain": True, "night_pain": True},
    ),
    ("A hard lump for a year, growing", {"lump_noticed": True, "lump_growing": True}),
    ("Swollen after a trivial bump", {"swelling_noticed": True}),
    ("Psoriasis for decades", {"psoriasis": True}),
    ("Now on crutches", {"walking_aid": True}),
    ("Brought off the slope", {"could_not_continue": True}),
    ("Lower-leg pain while walking a week ago", {"calf_pain": True}),
    ("Open tibial fracture of that leg at 18", {"previous_injury": True}),
    ("Limping for a month", {"antalgic_gait": True}),
    ("Pale and tired, bruises easily", {"pallor": True, "bruises_elsewhere": True}),
    ("A deep lump above the knee", {"lump_noticed": True, "mass_firm_fixed": True}),
    ("Carpet layer", {"kneeling_work": True}),
    ("On warfarin", {"anticoagulant": True}),
    ("Diabetic with a foot ulcer", {"diabetes": True, "skin_infection": True}),
    ("Steroid injection two weeks earlier", {"recent_injection_or_aspiration": True}),
    ("Groin pain and low back pain", {"groin_pain": True, "back_pain": True}),
    ("Old sprain with swelling two years ago", {"previous_injury": True}),
    ("Overweight child; insect bites over the area; basketball player", {}),
    (
        "Could not stand for pain and the knee swelled",
        {"unable_to_weight_bear_at_injury": True, "swelling_noticed": True},
    ),
    ("No earlier knee injury", {"previous_injury": False}),
    ("No earlier dislocation", {"previous_patellar_dislocation": False}),
    ("No injury, earlier sprain", {"previous_injury": True}),
    ("Osteoarthritis, no gout", {"previous_gout": False}),
    ("Does not like to walk without the immobiliser", {}),
    ("Put in a knee immobiliser", {"immobilised_recently": True}),
    ("Limped off with help", {"could_not_continue": True}),
    ("A bump on the inner side", {"lump_noticed": True}),
    ("A lump there went away by itself", {}),
    ("A lump for years, larger this winter", {"lump_noticed": True, "lump_growing": True}),
    ("Pain since using a kneeling chair", {}),
    ("Pain for weeks after a sports injury", {}),
    ("Pain in front, most at tennis", {"pain_anterior": True, "activity_pain": True}),
    ("Pain settled to the outer side", {"pain_lateral": True}),
    ("Pain at the back inner side", {"pain_medial": True, "pain_posterior": True}),
    ("Discomfort and fullness behind both knees", {"pain_posterior": True}),
    ("Knee ache and a lump at the back of the knee", {"lump_noticed": True}),
    ("No spreading, front-of-knee or hip pain", {"pain_anterior": False, "groin_pain": False}),
    ("No injury or change of training", {"training_increase": False}),
    ("Two weeks of intensive walking", {"training_increase": True}),
    ("The effusion came back over the years", {"swelling_noticed": True, "intermittent_swelling": True}),
    ("Operation on the other knee's ligament a year ago; reconstruction of the other knee", {}),
    ("Ended in a block to straightening", {"unable_to_straighten": True}),
    ("Pain and swelling of the knee and wrist", {"swelling_noticed": True, "other_joints_painful": True}),
    ("Swelling moving from joint to joint", {"swelling_noticed": True, "other_joints_painful": True}),
    ("Struck the ground with the outer side of the knee", {"fall_or_blunt_trauma": True}),
    ("At first at night, then always", {"rest_pain": True}),
    ("Gardener, kneels and squats", {"kneeling_work": True}),
    ("Swollen after a tick bite, other joints spared", {"swelling_noticed": True, "tick_exposure": True}),
    ("Both hands ache in the morning", {"other_joints_painful": True}),
    ("The elbow of the right side is sore too", {"other_joints_painful": True}),
    ("Cannot walk for pain", {"unable_to_weight_bear_at_injury": True}),
    ("Cannot walk properly for pain", {}),
    ("Struck by a car bumper", {}),
    ("Deep squat: pop, then swelling", {"pop_heard": True, "swelling_noticed": True}),
    (
        "Kneecap went out dancing and back by itself; third time this year",
        {"patella_seen_displaced": True, "previous_patellar_dislocation": True},
    ),
    ("Repeated dislocations of the kneecap", {"previous_patellar_dislocation": True}),
    ("Swelled in an hour", {"swelling_noticed": True, "swelling_onset_hours": 0.0}),
    ("Pain on the outer side after 3 km", {"pain_lateral": True, "activity_pain": True}),
    ("No fever, pain in the knee or thigh when walking", {"fever": False, "activity_pain": True}),
]


@pytest.mark.parametrize(("words", "answers"), HINTS)
def test_a_story_answers_what_it_plainly_says(words: str, answers: dict[str, Answer]) -> None:
    """Plain equivalents of a question of the history are taken, and nothing else."""
    assert hints_of(words) == answers


def test_the_injury_with_which_it_began_is_no_earlier_one() -> None:
    """An accident as long ago as the complaint is its beginning; one of another time is an earlier injury."""
    assert hints_of("Pain since a car accident two years before", 730) == {}
    assert hints_of("A month of pain; car accident two years before", 30) == {"previous_injury": True}
    assert hints_of("Pain since a fall two years ago, an earlier sprain", 730) == {"previous_injury": True}


def test_settings_and_sexes_have_their_everyday_names() -> None:
    """The words a case uses for a setting, a sex and an acuity lead to the codes of the record."""
    assert code_of("setting", "Emergency department") == "emergency"
    assert code_of("setting", "orthopaedic clinic") == "specialist_clinic"
    assert code_of("sex", "F") == "female"
    assert code_of("acuity", "acute on chronic") == "chronic"
    assert code_of("setting", "on the moon") is None
