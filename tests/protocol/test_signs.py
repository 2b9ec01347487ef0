import re
from collections.abc import Callable

import pytest

from fabella.anatomy import Structure
from fabella.protocol import Kind, Measure, SideRule, Sign, Unit, load_protocol
from fabella.protocol.sequence import folded

PROTOCOL = load_protocol()
MEASURED = pytest.mark.parametrize("sign", [s for s in PROTOCOL.signs if s.has_measure], ids=lambda s: s.id)

# No angle, gap or girth of a living person lies beyond these; typed here as a second opinion on the data.
WIDEST = {
    Unit.DEGREES: (-90, 180),
    Unit.MILLIMETRES: (0, 30),
    Unit.CENTIMETRES: (-20, 250),
    Unit.HOURS: (0, 24 * 14),
    Unit.MINUTES: (0, 600),
    Unit.SECONDS: (0, 15),
    Unit.STEPS_PER_MINUTE: (20, 200),
    Unit.METRES_PER_SECOND: (0, 4),
    Unit.PERCENT: (0, 100),
    Unit.RATIO: (0, 2),
    Unit.CELSIUS: (30, 43),
    Unit.POINTS: (0, 9),
    Unit.KILOGRAMS_PER_SQUARE_METRE: (10, 90),
    Unit.PER_MINUTE: (4, 260),
    Unit.MILLIMETRES_OF_MERCURY: (30, 280),
}


def measure_of(sign: Sign) -> Measure:
    """Return the measure of a sign that has one."""
    assert sign.scale.measure is not None
    return sign.scale.measure


def test_there_are_signs_enough_for_a_whole_examination() -> None:
    """The protocol holds over a hundred and ten signs, in eleven positions."""
    assert len(PROTOCOL.signs) >= 110
    assert [position.number for position in PROTOCOL.positions] == list(range(11))


def failing(holds: Callable[[Sign], object]) -> list[str]:
    """Return the signs of which something does not hold."""
    return [sign.id for sign in PROTOCOL.signs if not holds(sign)]


@pytest.mark.parametrize(
    "field", ["id", "name", "aliases", "kind", "technique", "normal", "scale", "structures", "provenance"]
)
def test_every_field_is_written(field: str) -> None:
    """No sign lacks a name, another name, a technique, a normal, a scale, a structure or a provenance."""
    assert failing(lambda sign: getattr(sign, field)) == []


def test_texts_are_whole_sentences() -> None:
    """Technique, caution and normal begin with a capital or a figure and end with a stop or question mark."""
    sentences = re.compile(r"[A-Z0-9](?!.*  ).*[.?]")
    assert failing(lambda sign: sentences.fullmatch(sign.technique)) == []
    assert failing(lambda sign: sentences.fullmatch(sign.normal)) == []
    assert failing(lambda sign: not sign.caution or sentences.fullmatch(sign.caution)) == []


def test_a_technique_is_short_enough_to_be_read_at_the_bedside() -> None:
    """A technique is one to three sentences in fewer than 320 characters."""
    assert failing(lambda sign: len(sign.technique) < 320) == []
    assert failing(lambda sign: len(re.findall(r"[.?](?= |$)", sign.technique)) <= 3) == []


def test_history_is_a_question() -> None:
    """What is asked, and only that, is history, and it ends with a question mark."""
    assert failing(lambda sign: not sign.is_history or sign.technique.endswith("?")) == []
    assert (
        failing(lambda sign: sign.is_history == (sign.position == "history" and sign.kind != "courtesy"))
        == []
    )


def test_history_of_the_knee_is_asked_about_the_knee_complained_of() -> None:
    """A history item belongs either to the painful knee or to the person."""
    assert {sign.side_rule for sign in PROTOCOL.history()} == {SideRule.COMPLAINT_SIDE, SideRule.ONCE}


def test_ids_are_unique_and_plain() -> None:
    """Every id is unique and made of small letters, figures and underscores."""
    ids = [sign.id for sign in PROTOCOL.signs]
    assert len(set(ids)) == len(ids)
    assert [each for each in ids if not re.fullmatch(r"[a-z][a-z0-9_]*", each)] == []


def test_no_name_calls_two_signs() -> None:
    """Ids, names and aliases of different signs are different, whatever their case and hyphens."""
    owners: dict[str, set[str]] = {}
    for sign in PROTOCOL.signs:
        for name in (sign.id, sign.name, *sign.aliases):
            owners.setdefault(folded(name), set()).add(sign.id)
    assert {name: ids for name, ids in owners.items() if len(ids) > 1} == {}


def test_the_order_is_total_and_follows_the_positions() -> None:
    """Signs are numbered from 1 without a gap, one position after the other."""
    assert [sign.order for sign in PROTOCOL.signs] == list(range(1, len(PROTOCOL.signs) + 1))
    number = {position.id: position.number for position in PROTOCOL.positions}
    numbers = [number[sign.position] for sign in PROTOCOL.signs]
    assert numbers == sorted(numbers)


def test_lying_is_look_then_feel_then_move() -> None:
    """With the patient lying, everything is looked at before it is felt, and felt before it is moved."""
    kinds = [sign.kind for sign in PROTOCOL.at("lying")]
    assert list(dict.fromkeys(kinds)) == [Kind.LOOK, Kind.FEEL, Kind.MOVE]
    assert kinds == sorted(kinds, key=[Kind.LOOK, Kind.FEEL, Kind.MOVE].index)


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("pain_first", "warmth"),
        ("consent", "exposure"),
        ("warmth", "effusion_sweep"),
        ("effusion_sweep", "patellar_tap"),
        ("straight_leg_raise", "passive_extension"),
        ("active_flexion", "passive_flexion"),
        ("posterior_sag", "anterior_drawer"),
        ("posterior_sag", "posterior_drawer"),
        ("posterior_sag", "lachman"),
        ("patellar_apprehension", "moving_patellar_apprehension"),
        ("valgus_stress_30", "valgus_stress_pain"),
        ("lachman", "pivot_shift"),
        ("thessaly_5", "duck_walk"),
        ("steinmann_1", "apley"),
    ],
)
def test_what_misleads_or_hurts_comes_later(first: str, then: str) -> None:
    """A sag comes before any drawer, active before passive, the gentle test before the painful one."""
    assert PROTOCOL.sign(first).order < PROTOCOL.sign(then).order


def test_levels_are_ranked_from_normal() -> None:
    """Levels are different, at least two when there are any, and ranked from 0."""
    assert failing(lambda sign: len(sign.scale.levels) != 1) == []
    assert failing(lambda sign: len({each.id for each in sign.scale.levels}) == len(sign.scale.levels)) == []
    assert failing(lambda sign: all(each.rank == n for n, each in enumerate(sign.scale.levels))) == []
    assert failing(lambda sign: sign.scale.levels or sign.scale.measure) == []


@MEASURED
def test_ranges_are_those_of_a_living_person(sign: Sign) -> None:
    """The possible range of a reading rises, lies within what a body allows, and says what its sign means."""
    measure = measure_of(sign)
    low, high = WIDEST[measure.unit]
    assert low <= measure.low < measure.high <= high
    assert measure.positive or measure.low >= 0


def test_painful_tests_say_when_they_must_not_be_done() -> None:
    """What hurts an injured knee has a contraindication or a caution."""
    assert failing(lambda sign: sign.hurts < 2 or sign.avoid_when or sign.caution) == []


def test_painful_stress_spares_a_fresh_fracture() -> None:
    """No painful stress test is done on a knee that may be broken."""
    painful = [sign for sign in PROTOCOL.signs if sign.stress_test and sign.hurts >= 2]
    assert len(painful) > 20
    assert [s.id for s in painful if "fracture_suspected" not in {each.id for each in s.avoid_when}] == []


@pytest.mark.parametrize(
    ("state", "spared"),
    [
        ("unable_to_stand", {"thessaly_20", "hop_pain", "antalgic_gait", "ege"}),
        ("locked_knee", {"bounce_home", "forced_extension_pain", "mcmurray_medial", "pivot_shift"}),
        ("extensor_rupture_suspected", {"passive_flexion", "resisted_extension_pain", "deep_squat"}),
        ("knee_dislocation_suspected", {"pivot_shift", "recurvatum", "external_rotation_recurvatum"}),
        ("foot_without_blood", {"pivot_shift", "recurvatum", "external_rotation_recurvatum"}),
        ("acute_patellar_dislocation", {"patellar_apprehension", "patellar_glide_increased"}),
        ("septic_joint_suspected", {"mcmurray_medial", "flexion_pain", "apley"}),
        ("hip_prosthesis", {"hip_rotation_reduced", "ober", "obligate_external_rotation"}),
        ("dvt_suspected", {"ankle_brachial_index", "duck_walk"}),
        ("compartment_syndrome_suspected", {"ankle_brachial_index", "deep_squat"}),
        ("recent_surgery", {"pivot_shift", "lachman", "hop_pain"}),
        ("acute_tense_effusion", {"anterior_drawer", "pivot_shift", "mcmurray_lateral"}),
        ("fracture_suspected", {"lachman", "patellar_tap", "deep_squat"}),
    ],
)
def test_contraindications_spare_the_tests_that_harm(state: str, spared: set[str]) -> None:
    """In each state at least the tests that common practice forbids are left out."""
    left_out = {s.id for s in PROTOCOL.signs if state in {each.id for each in s.avoid_when}}
    assert spared <= left_out


def test_what_cannot_wait_is_never_forbidden() -> None:
    """Signs on which a limb depends may be looked for in every state."""
    vital = (
        "distal_pulses",
        "cool_foot",
        "compartment_tense",
        "passive_toe_stretch_pain",
        "straight_leg_raise",
    )
    assert [PROTOCOL.sign(each).avoid_when for each in vital] == [()] * len(vital)


@pytest.mark.parametrize("structure", Structure)
def test_every_structure_is_examined(structure: Structure) -> None:
    """Every structure of the anatomy is spoken of by at least one sign that is examined or asked."""
    assert [sign for sign in PROTOCOL.about(structure) if sign.kind is not Kind.COURTESY]


def test_guarding_can_hide_every_ligament_and_meniscus_test() -> None:
    """Ligament stress, drawers, shifts, meniscal provocation and apprehension count as stress tests."""
    stress = {sign.id for sign in PROTOCOL.signs if sign.stress_test}
    pattern = (
        r"lachman|drawer|pivot|(valgus|varus)_stress|^dial_|mcmurray|thessaly|apley|steinmann|apprehension"
    )
    assert {s.id for s in PROTOCOL.signs if re.search(pattern, s.id)} <= stress
    assert not stress & {"effusion_sweep", "crepitus", "distal_pulses", "scar"}


def test_a_sign_takes_a_realistic_time() -> None:
    """Only a sign that sums up others takes no time; only aspiration and pressures take a minute or more."""
    assert failing(lambda sign: sign.seconds > 0 or sign.is_summary) == []
    assert failing(lambda sign: sign.seconds < 60) == ["haemarthrosis_aspirate", "ankle_brachial_index"]


def test_the_routine_of_both_knees_fits_a_quarter_of_an_hour() -> None:
    """From greeting to closing, what belongs to every knee takes between ten and fifteen minutes."""
    routine = [sign.id for sign in PROTOCOL.sequence(routine_only=True)]
    assert 10 * 60 < PROTOCOL.seconds(routine) <= 15 * 60


def test_a_published_ground_names_a_year() -> None:
    """What rests on a publication says which, with its year."""
    published = [s.provenance for s in PROTOCOL.signs if s.provenance.startswith("published: ")]
    assert len(published) > 20
    assert [each for each in published if not re.search(r"\b(19|20)\d\d\b", each)] == []
