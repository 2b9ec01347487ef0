"""What an image showed cannot wait, and what asked for that image alone is silent once it was read."""

import pytest

from fabella.flags import cannot_wait
from fabella.record import Examination, ImageKind, Mechanism
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, Found, exam, verdict, verdicts

FILM, VEINS = ImageKind.RADIOGRAPH, ImageKind.VEIN_ULTRASOUND
SORE = {"tenderness_calf": True, "whole_leg_swollen": True}
ASKS_FOR_FILMS = ("ottawa_knee", "acute_knee_radiograph")


@pytest.mark.parametrize("rule", ASKS_FOR_FILMS)
def test_a_rule_for_films_is_silent_once_they_were_read(rule: str) -> None:
    """Films that are taken and not read, or of the other knee, answer nothing."""
    hurt: dict[str, Found] = {"active_flexion": 80.0, "passive_flexion": 80.0, "effusion": "small"}

    def told(shows: tuple[str, ...] | None) -> object:
        return verdict(exam(hurt, days=1, mechanism=Mechanism.FALL_ON_KNEE, imaged={FILM: shows}), rule)

    assert verdict(exam(hurt, days=1, mechanism=Mechanism.FALL_ON_KNEE), rule) is MET
    assert told(None) is MET
    assert told(()) is None
    assert told(("patellar_fracture",)) is None
    left = exam(None, hurt, days=1, mechanism=Mechanism.FALL_ON_KNEE, complaint=(LEFT,), imaged={FILM: ()})
    assert verdict(left, rule, LEFT) is MET


@pytest.mark.parametrize("rule", ASKS_FOR_FILMS)
@pytest.mark.parametrize("image", [ImageKind.CT, ImageKind.MRI])
def test_what_shows_more_than_films_answers_for_them(rule: str, image: ImageKind) -> None:
    """Nobody goes back from CT or MRI to films in search of a fracture."""
    hurt: dict[str, Found] = {"active_flexion": 80.0, "passive_flexion": 80.0, "effusion": "small"}
    assert verdict(exam(hurt, days=1, mechanism=Mechanism.FALL_ON_KNEE, imaged={image: ()}), rule) is None


def test_normal_films_do_not_clear_a_knee_with_blood_in_it() -> None:
    """Blood within hours of an injury asks for more than films, whatever they showed."""
    bled = exam({"effusion": "large"}, days=1, mechanism=Mechanism.TWIST, imaged={FILM: ()})
    assert verdict(bled, "acute_haemarthrosis") is MET


@pytest.mark.parametrize(
    ("rule", "image", "found"),
    [
        ("acute_haemarthrosis", ImageKind.MRI, {"effusion": "large"}),
        (
            "tender_bone_not_weight_bearing",
            ImageKind.CT,
            {"bony_tenderness": True, "unable_to_weight_bear": True},
        ),
        ("lipohaemarthrosis", ImageKind.MRI, {"haemarthrosis_aspirate": "blood_with_fat"}),
    ],
)
def test_the_last_image_that_a_rule_asks_for_answers_it(
    rule: str, image: ImageKind, found: dict[str, Found]
) -> None:
    """What the scan shows has rules of its own; one that nobody read leaves the question open."""
    for shows, told in ((None, MET), ((), None)):
        hurt = exam(found, days=1, mechanism=Mechanism.FALL_ON_KNEE, imaged={FILM: (), image: shows})
        assert verdict(hurt, rule) is told


def test_a_suspected_joint_infection_is_answered_by_no_image() -> None:
    """A needle decides it."""
    hot: dict[str, Found] = {"warmth": "hot", "effusion": "moderate", "active_flexion": 60}
    ill = exam(hot, said={"fever": True}, days=2, imaged=dict.fromkeys(ImageKind, ()))
    assert verdict(ill, "septic_joint_adult") is MET


def test_tender_bone_that_cannot_be_stood_on_is_held_after_normal_films() -> None:
    """Of 79 fractures of the plateau that films had not shown computed tomography showed 60."""
    found = {"bony_tenderness": True, "unable_to_weight_bear": True}
    asked = exam(found, days=1, mechanism=Mechanism.FALL_ON_KNEE, imaged={FILM: ()})
    assert verdict(asked, "tender_bone_not_weight_bearing") is MET


def test_a_fracture_on_old_films_does_not_ring() -> None:
    """Half a year after the fall a fracture is a matter of the course; without days it rings."""
    seen = {FILM: ("tibial_plateau_fracture",)}
    assert verdict(exam(imaged=seen, days=180), "fracture_shown") is None
    assert verdict(exam(imaged=seen), "fracture_shown") is MET


def test_an_image_that_nobody_read_shows_nothing() -> None:
    """A film that was taken and not read raises no rule, and keeps none open."""
    raised = {rule for rule, _ in verdicts(exam(imaged={FILM: None, ImageKind.MRI: None}))}
    assert not raised & {"fracture_shown", "tumour_shown", "bone_infection_shown"}


@pytest.mark.parametrize(
    ("shows", "after", "shown"), [(None, None, None), ((), MET, None), (("deep_vein_thrombosis",), None, MET)]
)
def test_a_scan_of_the_veins_takes_the_place_of_the_score(
    shows: tuple[str, ...] | None, after: object, shown: object
) -> None:
    """NICE NG158: a likely thrombosis that the scan does not show needs a D-dimer, perhaps a second scan."""
    leg = exam(SORE, imaged={VEINS: shows})
    assert (verdict(leg, "dvt_2003") is MET) is (shows is None)
    assert (verdict(leg, "dvt_after_scan"), verdict(leg, "thrombosis_shown")) == (after, shown)


def test_after_an_empty_scan_a_score_that_may_still_be_likely_stays_open() -> None:
    """One point and the rest unknown: what may make two is asked."""
    assert verdict(exam({"tenderness_calf": True}, imaged={VEINS: ()}), "dvt_after_scan", RIGHT) is OPEN


@pytest.mark.parametrize(
    ("imaged", "ends"),
    [
        ({}, "forbids the needle."),
        ({FILM: None}, "Taken, and to be read now: radiographs."),
        ({FILM: ()}, "Read already: radiographs."),
        ({FILM: (), ImageKind.MRI: None}, "Taken, and to be read now: MRI. Read already: radiographs."),
        ({ImageKind.ULTRASOUND: ()}, "forbids the needle."),
    ],
)
def test_an_action_says_which_of_its_images_are_there(
    imaged: dict[ImageKind, tuple[str, ...] | None], ends: str
) -> None:
    """What was taken is read, and not taken again; an image that the rule does not ask for is left out."""
    bled = exam({"effusion": "large"}, days=1, mechanism=Mechanism.TWIST, imaged=imaged)
    told = next(each for each in cannot_wait(bled, protocol=PROTOCOL) if each.rule == "acute_haemarthrosis")
    assert told.action.endswith(ends)


@pytest.mark.parametrize(
    ("rule", "image", "lesion", "age"),
    [
        ("extensor_rupture", ImageKind.ULTRASOUND, "quadriceps_tendon_rupture", 60),
        ("extensor_rupture", ImageKind.MRI, "patellar_tendon_rupture", 35),
        ("child_hip", ImageKind.HIP_RADIOGRAPH, "hip_disease", 12),
    ],
)
def test_what_an_image_shows_rings_though_no_hand_found_it(
    rule: str, image: ImageKind, lesion: str, age: float
) -> None:
    """A torn tendon, and the hip of a child, wait for no examination; such as nobody read say nothing."""
    assert verdict(exam({}, age=age, days=10, imaged={image: (lesion,)}), rule) is MET
    assert verdict(exam({}, age=age, days=10, imaged={image: None}), rule) is not MET
    assert verdict(exam({}, age=age, days=10, imaged={image: ()}), rule) is not MET


@pytest.mark.parametrize(
    ("shows", "days", "told"),
    [
        (("acl_tear", "pcl_tear", "lcl_tear"), 3, MET),
        (("knee_dislocation",), 3, MET),
        (("acl_tear",), 3, None),
        (("acl_tear", "pcl_tear"), 60, None),
        (("acl_tear", "lcl_tear"), 3, None),
    ],
)
def test_both_cruciates_torn_on_a_scan_are_a_dislocation_until_disproved(
    shows: tuple[str, ...], days: float, told: object
) -> None:
    """Lately injured, it may have gone back before anyone saw it; long ago it is another matter."""
    scanned = exam({}, days=days, mechanism=Mechanism.TWIST, imaged={ImageKind.MRI: shows})
    assert verdict(scanned, "knee_dislocation") is told


BLED: dict[str, Found] = {
    "bony_tenderness": True,
    "unable_to_weight_bear": True,
    "effusion": "large",
    "active_flexion": 80.0,
    "passive_flexion": 80.0,
}
BLOOD = ("tender_bone_not_weight_bearing", "acute_haemarthrosis")


def hurt(
    shows: tuple[str, ...] | None, *more: ImageKind, age: float = 30, limited: bool = False
) -> Examination:
    """A knee that fell yesterday, bled and carries nothing, with films and further images."""
    imaged = {FILM: shows, **dict.fromkeys(more, ())}
    poor = (FILM,) if limited else ()
    fall = Mechanism.FALL_ON_KNEE
    return exam(BLED, days=1, mechanism=fall, age=age, imaged=imaged, limited=poor)


def orders(examination: Examination, rule: str) -> tuple[str, ...]:
    """The images that a rule which is met orders."""
    told = next(each for each in cannot_wait(examination, protocol=PROTOCOL) if each.rule == rule)
    assert told.is_met
    return told.orders


@pytest.mark.parametrize("rule", BLOOD)
def test_a_fracture_that_is_shown_explains_the_blood_and_the_tender_bone(rule: str) -> None:
    """Beside it nobody is sent for films in search of one; a Segond fracture leaves the cruciate to be seen.

    No fracture or a Segond fracture on films, and MRI is next: ACR Acute Trauma to the Knee (Tuite 2015).
    """
    assert verdict(hurt(("tibial_plateau_fracture",)), rule) is None
    assert verdict(hurt(("tibial_plateau_fracture",)), "fracture_shown") is MET
    assert verdict(hurt(("segond_fracture",)), rule) is MET
    assert verdict(hurt(("osteoarthritis",)), rule) is MET


@pytest.mark.parametrize(
    ("shows", "more", "age", "wanted"),
    [
        ("tibial_plateau_fracture", (), 50, ("ct",)),
        ("tibial_plateau_fracture", (), 12, ()),
        ("patellar_fracture", (), 50, ()),
    ],
)
def test_the_plateau_of_an_adult_is_scanned_for_its_shape(
    shows: str, more: tuple[ImageKind, ...], age: float, wanted: tuple[str, ...]
) -> None:
    """Common practice; other fractures are left to whoever treats them."""
    assert orders(hurt((shows,), *more, age=age), "fracture_shown") == wanted


def test_bone_pain_of_a_runner_is_no_longer_unexplained_once_a_scan_was_read() -> None:
    """What it shows has rules of its own; a child's blood is counted all the same."""
    sore: dict[str, Found] = {"tenderness_medial_tibial_plateau": True}

    def pain(age: float, **taken: tuple[str, ...] | None) -> object:
        imaged = {ImageKind(kind): shows for kind, shows in taken.items()}
        return verdict(exam(sore, age=age, days=35, imaged=imaged), "tumour_bone_young")

    assert pain(20, radiograph=()) is MET
    assert pain(20, mri=None) is MET
    assert pain(20, mri=("stress_fracture",)) is None
    assert pain(12, mri=("stress_fracture",)) is MET


def test_fat_in_the_blood_is_explained_by_the_fracture_that_is_shown() -> None:
    """It comes from the marrow of that bone."""
    fat: dict[str, Found] = {"haemarthrosis_aspirate": "blood_with_fat"}
    shown = exam(fat, days=1, mechanism=Mechanism.TWIST, imaged={FILM: ("tibial_plateau_fracture",)})
    assert verdict(shown, "lipohaemarthrosis") is None


@pytest.mark.parametrize(
    ("shows", "age", "more", "wanted"),
    [
        (None, 30, (), ("radiograph",)),
        ((), 30, (), ("radiograph", "ct")),
        ((), 10, (), ("radiograph", "mri")),
    ],
)
def test_after_normal_films_a_leg_that_cannot_carry_is_scanned(
    shows: tuple[str, ...] | None, age: float, more: tuple[ImageKind, ...], wanted: tuple[str, ...]
) -> None:
    """Common practice: CT of a bone that stays tender and cannot carry, MRI in a child."""
    assert orders(hurt(shows, *more, age=age), "tender_bone_not_weight_bearing") == wanted


def test_who_could_not_walk_then_and_was_not_watched_since_is_watched_first() -> None:
    """What happened at the injury asks for films; it is no reason yet for more."""
    then = exam(
        {"bony_tenderness": True},
        said={"unable_to_weight_bear_at_injury": True},
        days=1,
        mechanism=Mechanism.FALL_ON_KNEE,
        imaged={FILM: ()},
    )
    assert orders(then, "tender_bone_not_weight_bearing") == ("radiograph",)


def test_fat_and_normal_films_ask_for_ct_and_after_it_for_mri() -> None:
    """As the rule says; a child has MRI in its place."""
    fat: dict[str, Found] = {"haemarthrosis_aspirate": "blood_with_fat"}
    for taken, wanted in (((FILM,), "ct"), ((FILM, ImageKind.CT), "mri")):
        needled = exam(fat, days=1, mechanism=Mechanism.TWIST, imaged=dict.fromkeys(taken, ()))
        assert orders(needled, "lipohaemarthrosis") == ("radiograph", wanted)


def test_blood_and_a_possible_stress_fracture_ask_for_mri_after_normal_films() -> None:
    """Films first, then MRI; once that was read nothing is left to ask for."""
    sore: dict[str, Found] = {"tenderness_medial_tibial_plateau": True, "hop_pain": True}
    ran = {"training_increase": True}
    for shows, wanted in ((None, ("radiograph",)), ((), ("radiograph", "mri"))):
        runner = exam(sore, said=ran, days=30, mechanism=Mechanism.OVERUSE, imaged={FILM: shows})
        assert orders(runner, "stress_fracture") == wanted
        assert orders(hurt(shows), "acute_haemarthrosis") == wanted
    seen = exam(sore, said=ran, days=30, mechanism=Mechanism.OVERUSE, imaged={ImageKind.MRI: ()})
    assert verdict(seen, "stress_fracture") is None


def test_what_an_image_shows_takes_the_place_of_what_was_suspected() -> None:
    """A stress fracture, and an artery that is widened, have an action of their own."""
    sore: dict[str, Found] = {"tenderness_medial_tibial_plateau": True, "hop_pain": True}
    cracked = exam(sore, days=30, imaged={FILM: ("stress_fracture",)})
    assert (verdict(cracked, "stress_fracture"), verdict(cracked, "stress_fracture_shown")) == (None, MET)
    wide = exam(
        {"popliteal_pulsation": True}, age=70, imaged={ImageKind.ULTRASOUND: ("popliteal_artery_disease",)}
    )
    assert (verdict(wide, "popliteal_aneurysm"), verdict(wide, "artery_disease_shown")) == (None, MET)


def test_a_hip_that_an_image_shows_to_be_ill_rings_in_an_adult_who_fell_or_trains_more() -> None:
    """As the neck of a femur that is cracked; wear of the hip alone, years old, does not."""
    hips = {ImageKind.HIP_RADIOGRAPH: ("hip_disease",)}
    trains = exam({}, said={"training_increase": True}, age=30, days=20, imaged=hips)
    assert verdict(trains, "adult_hip") is MET
    worn = exam({}, said={"training_increase": False}, age=70, days=2000, imaged=hips)
    assert verdict(worn, "adult_hip") is None


def test_films_of_limited_value_answer_nothing_and_what_they_show_rings() -> None:
    """A blurred film clears no knee; a fracture on it is one."""
    assert verdict(hurt((), limited=False), "ottawa_knee") is None
    assert verdict(hurt((), limited=True), "ottawa_knee") is MET
    assert verdict(hurt(("tibial_plateau_fracture",), limited=True), "fracture_shown") is MET
    told = next(
        each for each in cannot_wait(hurt((), limited=True), protocol=PROTOCOL) if each.rule == "ottawa_knee"
    )
    assert told.action.endswith("Read, and of limited value: radiographs.")
    assert told.orders == ("radiograph",)


@pytest.mark.parametrize(
    ("shows", "rule", "told"),
    [
        (("acl_tear", "plc_injury"), "multiligament_injury", MET),
        (("pcl_tear", "lcl_tear"), "multiligament_injury", MET),
        (("acl_tear", "mcl_tear"), "multiligament_injury", None),
        (("acl_tear", "medial_meniscus_tear"), "multiligament_injury", None),
        (("lcl_tear", "plc_injury"), "lateral_side_torn", MET),
        (("lcl_tear",), "lateral_side_torn", None),
    ],
)
def test_ligaments_that_are_repaired_early_ring_when_a_scan_shows_them_torn(
    shows: tuple[str, ...], rule: str, told: object
) -> None:
    """A swollen knee that nobody could test is seen by its surgeon in time all the same."""
    swollen: dict[str, Found] = {"effusion": "moderate"}
    for days, then in ((5, told), (100, None)):
        scanned = exam(swollen, days=days, mechanism=Mechanism.TWIST, imaged={ImageKind.MRI: shows})
        assert verdict(scanned, rule) is then
