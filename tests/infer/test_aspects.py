"""A sign whose levels are not degrees of one thing: what a needle brings out of a knee.

What each fluid means is common practice: turbid fluid comes from an infection, crystals or an inflamed joint;
blood from a tear or a fracture; fat on it from opened marrow.
"""

from functools import cache

import pytest

from fabella.evidence import load_edition
from fabella.grade import grade, levels_of
from fabella.infer import Observation, Setting, knees, load_model
from fabella.protocol import load_protocol
from fabella.record import Examination, Mechanism
from fabella.teach.dice import Dice
from fabella.teach.knees import draw_knee
from fabella.workup import drawable, run_workup
from tests.flags.build import RIGHT, Found, exam

PROTOCOL = load_protocol()
ASPIRATE = "haemarthrosis_aspirate"
HOT: dict[str, Found] = {"warmth": "hot", "effusion": "moderate"}


@cache
def chances(level: str | None, *, hurt: bool = False) -> dict[str, float]:
    """The conclusion about a hot knee, or a hurt one, with what the needle brought."""
    found: dict[str, Found] = {"effusion": "large", "bony_tenderness": True} if hurt else dict(HOT)
    if level is not None:
        found[ASPIRATE] = level
    told = exam(
        found,
        days=2,
        mechanism=Mechanism.HIGH_ENERGY if hurt else Mechanism.INSIDIOUS,
    )
    workup = run_workup(told)
    assert workup.conclusion is not None
    return {entry.lesion: entry.probability for entry in workup.conclusion.knee(RIGHT).any_level()}


def test_turbid_fluid_speaks_for_infection_and_clear_or_bloody_fluid_against_it() -> None:
    """Pus makes a septic joint likelier than no needle does, clear fluid and blood less likely."""
    septic = {level: chances(level)["septic_arthritis"] for level in (None, "clear", "turbid", "blood")}
    assert septic["turbid"] > septic[None] > max(septic["clear"], septic["blood"])
    for lesion in ("spontaneous_haemarthrosis", "acl_tear"):
        assert chances("blood")[lesion] > chances("turbid")[lesion]


def test_fat_on_the_blood_speaks_for_a_fracture() -> None:
    """Fat makes each fracture into the joint likelier than blood alone, and a torn ligament less likely."""
    for lesion in ("tibial_plateau_fracture", "distal_femoral_fracture"):
        assert chances("blood_with_fat", hurt=True)[lesion] > chances("blood", hurt=True)[lesion]
    assert chances("blood_with_fat", hurt=True)["acl_tear"] < chances("blood", hurt=True)["acl_tear"]


def test_an_abnormal_aspirate_that_nobody_described_says_nothing_of_its_kind() -> None:
    """Abnormal without a level is neither pus nor fat nor known blood: it is left out."""
    told = exam({**HOT, ASPIRATE: True}, days=2, mechanism=Mechanism.INSIDIOUS)
    assert ASPIRATE not in {each.recorded for each in evidence(told)}


def evidence(told: Examination) -> tuple[Observation, ...]:
    """What is said of the right knee."""
    graded = grade(told, edition=load_edition(), protocol=PROTOCOL)
    return knees(told, graded, protocol=PROTOCOL, knowledge=load_model().knowledge)[RIGHT].observations


def test_one_finding_is_told_once() -> None:
    """The aspects of one finding weigh together under its own name, in reasons and in what entered."""
    told = exam({**HOT, ASPIRATE: "turbid"}, days=2, mechanism=Mechanism.INSIDIOUS)
    assert len([each for each in evidence(told) if each.recorded == ASPIRATE]) == 3
    conclusion = run_workup(told).conclusion
    assert conclusion is not None
    knee = conclusion.knee(RIGHT)
    assert knee.findings.count(ASPIRATE) == 1
    for entry in knee.lesions:
        signs = [reason.sign for reason in (*entry.reasons_for, *entry.reasons_against)]
        assert signs.count(ASPIRATE) <= 1
        assert set(signs) <= {sign.id for sign in PROTOCOL.signs}


def test_aspects_are_no_signs_of_their_own() -> None:
    """Every aspect names levels of its sign and has an indicator; only signs are examined."""
    knowledge = load_model().knowledge
    for sign, aspects in knowledge.aspects.items():
        assert next(iter(aspects)) == sign
        for aspect, levels in aspects.items():
            assert aspect in knowledge.indicators
            assert set(levels) <= set(levels_of(PROTOCOL.sign(sign)))
    assert all(sign in PROTOCOL for sign in knowledge.signs)
    assert ASPIRATE not in {sign.id for sign in drawable(load_model(), PROTOCOL, None)}


@pytest.mark.parametrize(
    ("lesion", "level"),
    [("septic_arthritis", "turbid"), ("acl_tear", "blood"), ("tibial_plateau_fracture", "blood_with_fat")],
)
def test_a_practice_knee_holds_the_fluid_of_its_lesion(lesion: str, level: str) -> None:
    """Of 200 drawn knees with one lesion the aspirate is what it should be oftener than two in five times."""
    model = load_model()
    state = next(
        i for i in range(len(model.states)) if {name for name, _ in model.states.names(i)} == {lesion}
    )
    circumstances = Setting(acuity="acute", age_years=40.0)
    levels = levels_of(PROTOCOL.sign(ASPIRATE))
    seen = [
        levels[
            draw_knee(
                model, circumstances, state, RIGHT, Dice(seed), protocol=PROTOCOL, signs=[ASPIRATE]
            ).relaxed[ASPIRATE]
        ]
        for seed in range(200)
    ]
    assert seen.count(level) > 80
