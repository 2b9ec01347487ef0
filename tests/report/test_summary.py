import re
from dataclasses import replace
from datetime import date, timedelta

import pytest

from fabella.anatomy import Side, load_lesions
from fabella.flags import load_rules
from fabella.record import (
    Examination,
    Finding,
    ImageKind,
    Imaging,
    Mechanism,
    Origin,
    Procedure,
    ProcedureName,
    State,
)
from fabella.report import Outcome, as_text, build_summary, summary_document
from fabella.report.document import Paragraph, Points
from fabella.report.phrases import load_phrases
from fabella.report.plain_alarms import plain_alarm
from fabella.report.safety_net import SAFETY_NET
from fabella.workup import Alarm, AlarmVerdict, Urgency, Workup, run_workup
from tests.flags.build import exam
from tests.report import made_up
from tests.report.made_up import EVERYBODY, LEFT, RIGHT, WRITTEN_ON

HIGHEST_GRADE, HIGHEST_OF_A_PAGE = 7.0, 4.0
"""US school grade for a reading age of about 12, for one sentence by itself; a page must stay well below."""


def syllables(word: str) -> int:
    """Count groups of vowels; a silent final e and a silent -ed do not count, a final -le does."""
    letters = re.sub(r"[^a-z]", "", word.casefold())
    if not letters:
        return 1  # a figure is read as one beat or more; we use few
    groups = len(re.findall(r"[aeiouy]+", letters))
    if re.search(r"[^aeiouy]e$", letters) and not re.search(r"[^aeiouy]le$", letters):
        groups -= 1
    if re.search(r"[^aeioutd]ed$", letters):
        groups -= 1
    return max(groups, 1)


def grade(text: str) -> float:
    """The Flesch-Kincaid grade: 0.39 words a sentence + 11.8 syllables a word - 15.59.

    Source: Kincaid JP et al. 1975, Research Branch Report 8-75 (from memory).
    """
    sentences = [each for each in re.split(r"[.!?]+(?:\s|$)", text) if each.strip()]
    words = re.findall(r"[A-Za-z0-9'-]+", text)
    return 0.39 * len(words) / len(sentences) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


def prose(workup: Workup) -> str:
    """Everything a patient reads on the page, without headings and small print."""
    document = summary_document(build_summary(workup, written_on=WRITTEN_ON))
    texts: list[str] = [document.close]
    for section in document.sections:
        for block in section.blocks:
            if isinstance(block, Paragraph):
                texts.append(block.text)
            elif isinstance(block, Points):
                texts.extend(block.texts)
    return " ".join(texts)


@pytest.mark.parametrize(
    ("word", "count"),
    [("knee", 1), ("injury", 3), ("ligament", 3), ("cartilage", 3), ("tested", 2), ("pressed", 1),
     ("middle", 2), ("inflammation", 4), ("scale", 1), ("infected", 3), ("kneecap", 2), ("moved", 1)],
)  # fmt: skip
def test_syllables_are_counted_as_a_dictionary_does(word: str, count: int) -> None:
    """The counter agrees with the dictionary (checked by hand) on words of the page."""
    assert count == syllables(word)


def test_the_formula_gives_the_known_value_of_a_known_sentence() -> None:
    """'The cat sat on the mat.' has grade -1.45: 6 words, 1 sentence, 6 syllables (worked by hand)."""
    assert -1.45 == pytest.approx(grade("The cat sat on the mat."), abs=0.005)
    assert grade("Notwithstanding considerable deterioration, rehabilitation is anticipated.") > 12


@pytest.mark.parametrize("make", EVERYBODY.values())
def test_a_page_can_be_read_at_twelve(make: type) -> None:
    """The pages of three invented patients stay at or below a Flesch-Kincaid grade of 4."""
    assert grade(prose(make())) <= HIGHEST_OF_A_PAGE


@pytest.mark.parametrize("rule", load_rules())
def test_a_page_with_any_alarm_can_be_read_at_twelve(rule: str) -> None:
    """Whatever rule is met, its plain words stay readable, and stand first on the page."""
    workup = replace(made_up.twisted_knee(), alarms=(made_up.alarm(rule, RIGHT, Urgency.NOW),))
    assert grade(prose(workup)) <= HIGHEST_OF_A_PAGE
    assert grade(plain_alarm(rule)) <= HIGHEST_GRADE
    page = as_text(summary_document(build_summary(workup, written_on=WRITTEN_ON)))
    assert page.index("PLEASE DO NOT WAIT") < page.index("WHAT WE LOOKED FOR")


@pytest.mark.parametrize("lesion", load_lesions())
def test_a_page_about_any_lesion_can_be_read_at_twelve(lesion: str) -> None:
    """Whatever lesion is likeliest, the page stays readable and does not use the doctors' name for it."""
    conclusion = made_up.concluded(
        made_up.knee(RIGHT, made_up.likely(lesion, 0.7)), made_up.knee(LEFT, nothing=0.9)
    )
    workup = replace(made_up.twisted_knee(), conclusion=conclusion)
    assert load_lesions()[lesion].plain in prose(workup)
    assert grade(prose(workup)) <= HIGHEST_OF_A_PAGE


def test_each_plain_sentence_about_findings_can_be_read_at_twelve() -> None:
    """Sentence by sentence, what a finding means stays at or below grade 7."""
    told = [
        words for group in load_phrases().groups for words in (group.patient, group.patient_well) if words
    ]
    told += load_phrases().plain.values()
    told += [words for each in SAFETY_NET for words in (each.words, each.instead) if words]
    assert [words for words in told if grade(words) > HIGHEST_GRADE] == []


def test_the_page_fits_one_sheet_in_words() -> None:
    """A page with everything abnormal on both knees stays below 450 words (one sheet in large type)."""
    groups = load_phrases().groups
    signs = [next(iter((*group.no, *group.well))) for group in groups]
    findings = tuple(made_up.found(sign, side, State.ABNORMAL) for sign in signs for side in Side)
    workup = replace(
        made_up.twisted_knee(),
        examination=Examination(id="x", origin=Origin.PATIENT, findings=findings),
        graded=(),
    )
    assert len(prose(workup).split()) < 450


def test_a_page_without_any_examination_says_so() -> None:
    """When nobody laid a hand on the knees, the page does not pretend."""
    page = build_summary(made_up.workup(Examination(id="x", origin=Origin.PATIENT)), written_on=WRITTEN_ON)
    assert ("We talked about your knees. We did not examine them.",) == page.looked_for
    assert [("We did not examine this knee.",)] * 2 == [told for _, told in page.found]


def test_plain_words_about_what_is_well_need_the_whole_core() -> None:
    """A group is called well to the patient only when its core was examined and normal."""
    core = ("straight_leg_raise", "quadriceps_contraction")
    told = {
        count: made_up_page(*((sign, RIGHT, Outcome.NORMAL) for sign in core[:count])) for count in (1, 2)
    }
    assert "You can lift the leg by yourself." not in told[1]
    assert "You can lift the leg by yourself." in told[2]


def made_up_page(*findings: tuple[str, Side, Outcome]) -> str:
    """The page about signs that were normal."""
    stated = tuple(made_up.found(sign, side, State.NORMAL) for sign, side, _ in findings)
    return prose(made_up.workup(Examination(id="x", origin=Origin.PATIENT, findings=stated)))


def test_the_safety_net_is_on_every_page() -> None:
    """When to come at once is said whatever was found, as it is or as something that gets worse."""
    for make in EVERYBODY.values():
        page = prose(make())
        assert all(
            any(words and words in page for words in (each.words, each.instead, each.feverish))
            for each in SAFETY_NET
        )


def test_nobody_is_asked_to_come_back_for_what_is_so_already() -> None:
    """Whoever has a hot knee, a numb foot, a swollen calf or cannot stand, comes when that gets worse."""
    page = page_of(
        *(
            made_up.found(sign, RIGHT, State.ABNORMAL)
            for sign in ("warmth", "peroneal_sensation", "tenderness_calf", "unable_to_weight_bear")
        )
    )
    assert [each.words for each in SAFETY_NET if each.signs and each.words in page] == []
    assert "Your knee gets hotter, redder or more sore" in page
    assert "call an ambulance" in page
    assert grade(page) <= HIGHEST_OF_A_PAGE


@pytest.mark.parametrize("warmth", [State.NORMAL, State.ABNORMAL])
def test_who_has_a_fever_is_not_told_to_come_with_one(warmth: State) -> None:
    """A fever told of, or measured, is so already: the patient comes when feeling more ill."""
    told = Examination(
        id="x",
        origin=Origin.PATIENT,
        history={"fever": True},
        findings=(made_up.found("warmth", RIGHT, warmth),),
    )
    measured = Finding(sign="body_temperature", side=None, value=39.0, unit="C")
    for page in (prose(run_workup(told)), page_of(made_up.found("warmth", RIGHT, warmth), measured)):
        assert "you have a fever" not in page
        assert "or you feel more ill" in page
        assert grade(page) <= HIGHEST_OF_A_PAGE


def test_a_knee_that_is_stuck_now_is_not_told_to_come_when_it_gets_stuck() -> None:
    """Whoever is told that the knee is stuck comes when it bends less; whoever is not, when it gets stuck."""

    def page(block: str) -> str:
        examination = exam({"block_to_extension": block}, days=10, mechanism=Mechanism.TWIST)
        return prose(run_workup(examination))

    assert "The knee is stuck." in page("springy")
    assert "Your knee gets stuck." not in page("springy")
    assert "Your knee bends less than it does now." in page("springy")
    assert "Your knee gets stuck." in page("none")


def test_a_tumour_is_named_on_paper_without_a_number() -> None:
    """How likely a growth is, is told by a person; the page says that there may be one."""
    conclusion = made_up.concluded(
        made_up.knee(RIGHT, made_up.likely("bone_tumour", 0.9)), made_up.knee(LEFT, nothing=0.9)
    )
    meant = build_summary(
        replace(made_up.twisted_knee(), conclusion=conclusion), written_on=WRITTEN_ON
    ).may_mean
    assert any("There may be a growth in the bone" in each for each in meant)
    assert not any("in 10" in each for each in meant)


def test_what_one_line_asks_for_is_not_asked_again_later() -> None:
    """An X-ray within two days leaves out the line about one in two weeks, which else stands alone."""
    later = made_up.alarm("tumour_bone_pain", RIGHT, Urgency.WITHIN_2_WEEKS)
    sooner = made_up.alarm("tumour_bone_young", RIGHT, Urgency.WITHIN_48_HOURS)

    def urgent(*alarms: Alarm) -> tuple[str, ...]:
        workup = replace(made_up.twisted_knee(), alarms=alarms)
        return build_summary(workup, written_on=WRITTEN_ON).urgent

    assert urgent(sooner, later) == (plain_alarm("tumour_bone_young"),)
    assert urgent(later) == (plain_alarm("tumour_bone_pain"),)


@pytest.mark.parametrize(
    "rule", [each.id for each in load_rules().values() if each.urgency is Urgency.ROUTINE_BUT_DO_NOT_MISS]
)
def test_what_is_not_urgent_is_told_without_urgency(rule: str) -> None:
    """What can wait never stands under "Please do not wait"; it comes next, with or without an alarm."""
    routine = made_up.alarm(rule, RIGHT, Urgency.ROUTINE_BUT_DO_NOT_MISS)
    for others in ((), (made_up.alarm("septic_joint_adult", LEFT, Urgency.NOW),)):
        workup = replace(made_up.twisted_knee(), alarms=(*others, routine))
        summary = build_summary(workup, written_on=WRITTEN_ON)
        assert summary.urgent == tuple(plain_alarm(each.rule) for each in others)
        assert plain_alarm(rule) in summary.comes_next
        assert ("PLEASE DO NOT WAIT" in as_text(summary_document(summary))) is bool(others)
        assert grade(prose(workup)) <= HIGHEST_OF_A_PAGE


REASSURING = ("nothing wrong", "did not find signs", "tested how firm")


def page_of(*findings: Finding) -> str:
    """The page about an examination, worked up as a patient's is."""
    workup = run_workup(Examination(id="x", origin=Origin.PATIENT, findings=findings))
    return prose(workup)


def test_a_page_about_what_could_not_be_tested_does_not_reassure() -> None:
    """Every test declined on one knee, nothing examined on the other: no word of nothing wrong."""
    page = page_of(*(made_up.found(sign, RIGHT, State.UNTESTABLE) for sign in ("lachman", "effusion")))
    assert [words for words in REASSURING if words in page] == []
    assert "We could not test your right knee today. We did not examine your left knee." in page
    assert grade(page) <= HIGHEST_OF_A_PAGE


def test_a_page_without_any_examination_does_not_reassure() -> None:
    """Where nothing was tested, no sign of a serious injury can have been missed or found."""
    assert [words for words in REASSURING if words in page_of()] == []


def test_a_page_tells_each_finding_for_what_it_is() -> None:
    """Who cannot walk is not told of a limp; a scar is no strange shape, warmth no fluid, pain no laxity."""
    told = {
        "unable_to_weight_bear": "You cannot take four steps on this leg.",
        "erythema": "The skin of the knee is red.",
        "scar": "There is a scar at the knee.",
        "warmth": "The knee is warm.",
        "effusion": "There is extra fluid in the knee joint.",
        "resisted_extension_pain": "It hurts when you push the leg straight.",
        "valgus_stress_pain": "It hurts when we press the knee to one side.",
        "hip_rotation_reduced": "The hip on this side does not move as it should.",
        "nerve_tension": "The nerve from your back to this leg may play a part.",
    }
    for sign, words in told.items():
        examination = Examination(
            id="x", origin=Origin.PATIENT, findings=(made_up.found(sign, RIGHT, State.ABNORMAL),)
        )
        found = dict(build_summary(made_up.workup(examination), written_on=WRITTEN_ON).found)
        assert found[RIGHT] == (words,)


def test_two_signs_of_one_thing_are_told_once() -> None:
    """A patellar tap and a full sweep test are both fluid in the joint."""
    page = page_of(
        *(made_up.found(sign, RIGHT, State.ABNORMAL) for sign in ("effusion_sweep", "patellar_tap"))
    )
    assert page.count("extra fluid in the knee joint") == 1


def test_nobody_is_told_of_a_test_of_the_ligaments_that_was_not_done() -> None:
    """How firm a knee is was tested only where a test of a ligament told something."""

    def looked_for(*findings: Finding) -> str:
        examination = Examination(id="x", origin=Origin.PATIENT, findings=findings)
        return " ".join(build_summary(made_up.workup(examination), written_on=WRITTEN_ON).looked_for)

    fluid = tuple(made_up.found("effusion", side, State.NORMAL) for side in Side)
    firm = tuple(made_up.found("lachman", side, State.NORMAL) for side in Side)
    painful = made_up.found("lachman", RIGHT, State.UNTESTABLE)
    assert "firm" not in looked_for(*fluid)
    assert "tested how firm they are" in looked_for(*fluid, *firm)
    assert looked_for(*fluid, painful, firm[1]).endswith("We tested how firm your left knee is.")
    assert looked_for(fluid[0], painful).startswith("We looked at your right knee. We felt it and moved it.")


def test_a_reading_that_nobody_can_judge_is_not_told_as_nothing_wrong() -> None:
    """A bend of one knee with the other not measured is neither right nor wrong."""
    page = page_of(made_up.found("passive_extension", RIGHT, -1.0))
    assert "nothing wrong" not in page
    assert "We cannot say yet what that means." in page
    assert grade(page) <= HIGHEST_OF_A_PAGE


def test_no_page_says_at_once_to_hurry_and_that_nothing_is_serious() -> None:
    """With an alarm on top and no lesion likely enough to be named, the page does not call it harmless."""
    sound = made_up.concluded(made_up.knee(RIGHT, nothing=0.9), made_up.knee(LEFT, nothing=0.9))
    workup = replace(
        made_up.twisted_knee(),
        conclusion=sound,
        alarms=(made_up.alarm("septic_joint_adult", LEFT, Urgency.NOW),),
    )
    assert "serious injury" not in prose(workup)
    assert "serious injury" in prose(replace(workup, alarms=()))


def operated(days_ago: int, onset_days: int, *, nothing: float, alarms: tuple[Alarm, ...] = ()) -> str:
    """The page of a right knee after an operation, with the chance that nothing listed is there."""
    workup = made_up.twisted_knee()
    examination = workup.examination
    assert examination.examined_on is not None
    done = Procedure(
        name=ProcedureName.ACL_RECONSTRUCTION,
        sides=(RIGHT,),
        on=examination.examined_on - timedelta(days=days_ago),
    )
    context = replace(examination.context, complaint=(RIGHT,), onset_days=onset_days, procedure=done)
    knees = made_up.knee(RIGHT, nothing=nothing), made_up.knee(LEFT, nothing=0.9)
    return prose(
        replace(
            workup,
            examination=replace(examination, context=context),
            conclusion=made_up.concluded(*knees),
            alarms=alarms,
        )
    )


def test_a_knee_that_heals_is_told_so_by_its_weeks() -> None:
    """Who was operated on is told that the knee is as expected, not that no serious injury was found."""
    page = operated(42, 130, nothing=0.8)
    assert "Your right knee is as we expect it to be 6 weeks after an operation. Come back if" in page
    assert "serious injury" not in page
    assert grade(page) <= HIGHEST_OF_A_PAGE


def test_a_knee_is_called_as_expected_only_when_nothing_else_is_likelier() -> None:
    """Where something is more likely there than not, or began after the operation, nobody says so."""
    assert "as we expect" not in operated(42, 130, nothing=0.4)
    assert "serious injury" in operated(400, 3, nothing=0.8)


def test_nobody_is_reassured_while_something_for_now_is_open() -> None:
    """A rule for now that is open is checked before the patient goes, and no page says that all is well."""
    still_open = replace(
        made_up.alarm("septic_joint_adult", RIGHT, Urgency.NOW), verdict=AlarmVerdict.CANNOT_BE_EXCLUDED
    )
    page = operated(42, 130, nothing=0.9, alarms=(still_open,))
    assert "We want to check a few more things before you go." in page
    assert [words for words in ("as we expect", "serious injury", "infected") if words in page] == []
    assert grade(page) <= HIGHEST_OF_A_PAGE


def test_nothing_is_drawn_when_no_knee_was_examined() -> None:
    """A page after a talk alone has no drawing, since the drawing shows what was found."""
    workup = made_up.twisted_knee()
    talked = replace(workup, examination=replace(workup.examination, findings=()), graded=())
    page = build_summary(talked, written_on=WRITTEN_ON)
    assert page.looked_for == ("We talked about your knees. We did not examine them.",)
    assert summary_document(page).figure is None
    assert summary_document(build_summary(workup, written_on=WRITTEN_ON)).figure is not None
    assert summary_document(build_summary(workup, written_on=WRITTEN_ON), drawn=False).figure is None


@pytest.mark.parametrize(("days", "named"), [(0, True), (84, True), (85, False)])
def test_a_knee_operated_on_lately_is_told_of_its_wound(days: int, named: bool) -> None:
    """For twelve weeks a wound that leaks is a reason to come at once; nobody else is told of one."""
    workup = made_up.twisted_knee()
    seen = date(2025, 6, 2)
    done = Procedure(name=ProcedureName.ACL_RECONSTRUCTION, sides=(RIGHT,), on=seen - timedelta(days=days))
    context = replace(workup.examination.context, procedure=done)
    examination = replace(workup.examination, examined_on=seen, context=context)
    page = prose(replace(workup, examination=examination))
    assert ("Your wound opens" in page) is named
    assert "Your wound opens" not in prose(workup)
    assert grade(page) <= HIGHEST_OF_A_PAGE


def test_a_film_that_is_asked_for_today_is_not_asked_for_again_in_two_weeks() -> None:
    """Why a bone hurts that may be cracked or broken is a second question, and no second film."""
    for rule in ("fracture_without_force", "stress_fracture", "ottawa_knee"):
        assert "X-ray" in plain_alarm(rule)
        assert "X-ray" not in plain_alarm("tumour_bone_pain", beside=[rule])
    assert "X-ray" in plain_alarm("tumour_bone_pain", beside=["locked_knee"])


@pytest.mark.parametrize(
    ("sign", "level", "words"),
    [
        ("palpable_mass", "yes", "We felt a lump in or near the knee."),
        ("loose_body_felt", "yes", "We felt a loose piece in the knee."),
        ("popliteal_pulsation", "yes", "We felt a wide pulse behind the knee."),
        ("compartment_tense", "yes", "The lower leg is tight and hard."),
        ("superficial_veins", "yes", "Some veins under the skin of this leg are wide."),
        ("knee_jerk", "reduced", "The leg moves too little when we tap it."),
    ],
)
def test_what_was_found_in_the_leg_is_told_as_what_it_is(sign: str, level: str, words: str) -> None:
    """Not as one of a lump, a gap or a loose piece, nor as something about feeling, strength or blood."""
    page = build_summary(run_workup(exam({sign: level})), written_on=WRITTEN_ON)
    assert dict(page.found)[RIGHT] == (words,)


@pytest.mark.parametrize("rule", [each for each in load_rules() if "need an X-ray" in plain_alarm(each)])
@pytest.mark.parametrize("filmed", ["read", "unread"])
def test_an_x_ray_that_was_taken_is_not_asked_for(rule: str, filmed: str) -> None:
    """Whoever had it is told that it is still to be looked at, or that it is not the whole answer."""
    told = plain_alarm(rule, filmed=filmed)
    assert "need an X-ray" not in told
    assert ("Your X-ray needs to be looked at" in told) is (filmed == "unread")
    assert grade(told) <= HIGHEST_GRADE


@pytest.mark.parametrize(("shows", "told"), [(None, "looked at today"), ((), "closer look today")])
def test_the_page_knows_of_the_films_of_the_knee_concerned(shows: tuple[str, ...] | None, told: str) -> None:
    """Films of the other knee change nothing."""
    alarm = made_up.alarm("tender_bone_not_weight_bearing", RIGHT, Urgency.SAME_DAY)
    knee = made_up.twisted_knee()

    def urgent(side: Side) -> str:
        film = Imaging(image=ImageKind.RADIOGRAPH, side=side, shows=shows)
        workup = replace(knee, alarms=(alarm,), examination=replace(knee.examination, imaging=(film,)))
        return build_summary(workup, written_on=WRITTEN_ON).urgent[0]

    assert told in urgent(RIGHT)
    assert "You need an X-ray today" in urgent(LEFT)


@pytest.mark.parametrize(
    ("image", "shows", "told"),
    [
        (ImageKind.HIP_RADIOGRAPH, None, "until the X-ray of the hip has been looked at today"),
        (ImageKind.HIP_RADIOGRAPH, (), "You need a scan of the hip today."),
        (ImageKind.RADIOGRAPH, (), "until the hip has had an X-ray today"),
    ],
)
def test_a_hip_that_was_filmed_is_not_filmed_again(
    image: ImageKind, shows: tuple[str, ...] | None, told: str
) -> None:
    """A broken neck of the femur may not show on films; those of the knee say nothing of the hip."""
    alarm = made_up.alarm("adult_hip", RIGHT, Urgency.SAME_DAY)
    knee = made_up.twisted_knee()
    film = Imaging(image=image, side=RIGHT, shows=shows)
    workup = replace(knee, alarms=(alarm,), examination=replace(knee.examination, imaging=(film,)))
    (urgent,) = build_summary(workup, written_on=WRITTEN_ON).urgent
    assert told in urgent
    assert grade(urgent) <= HIGHEST_GRADE


BESIDE = {
    "fracture_shown": ("acute_haemarthrosis", "fracture_without_force"),
    "stress_fracture_shown": ("tumour_bone_young", "tumour_bone_pain", "fracture_without_force"),
}


@pytest.mark.parametrize(("shown", "rule"), [(shown, each) for shown, of in BESIDE.items() for each in of])
def test_beside_what_a_picture_shows_no_x_ray_is_asked_for(shown: str, rule: str) -> None:
    """The line stands beside the one of the picture, and adds to it instead of sending for another."""
    alarms = (
        made_up.alarm(shown, RIGHT, Urgency.SAME_DAY),
        made_up.alarm(rule, RIGHT, Urgency.WITHIN_48_HOURS),
    )
    page = build_summary(replace(made_up.twisted_knee(), alarms=alarms), written_on=WRITTEN_ON)
    assert page.urgent == (plain_alarm(shown), plain_alarm(rule, beside=[shown]))
    assert plain_alarm(rule, beside=[shown]) != plain_alarm(rule)
    assert "X-ray" not in page.urgent[1]
    assert grade(" ".join(page.urgent)) <= HIGHEST_GRADE


@pytest.mark.parametrize(("sign", "marked"), [("hip_rotation_pain", False), ("patellar_grind", True)])
def test_a_drawing_without_marks_speaks_of_none(sign: str, *, marked: bool) -> None:
    """A hip that hurts has no place on a drawing of the knees."""
    page = build_summary(run_workup(exam({sign: True}, age=60)), written_on=WRITTEN_ON)
    figure = summary_document(page).figure
    assert figure is not None
    assert ("The marks show" in figure.caption) is marked
    assert figure.caption.startswith("Your knees, as we see them when we face you.")


@pytest.mark.parametrize(
    ("rule", "alone"),
    [
        ("lateral_side_torn", "You need to see a knee surgeon within days."),
        ("multiligament_injury", "You need to see a knee surgeon soon."),
        ("block_that_stayed", "You need to see a knee surgeon soon."),
        ("meniscus_after_injury", "You need a visit within two weeks."),
    ],
)
def test_a_scan_that_was_read_is_not_asked_for_again(rule: str, alone: str) -> None:
    """Who is asked for is left; one that nobody read yet is told of, and films change nothing."""
    alarm = made_up.alarm(rule, RIGHT, Urgency.WITHIN_48_HOURS)
    knee = made_up.twisted_knee()

    def urgent(image: ImageKind, shows: tuple[str, ...] | None) -> str:
        taken = Imaging(image=image, side=RIGHT, shows=shows)
        workup = replace(knee, alarms=(alarm,), examination=replace(knee.examination, imaging=(taken,)))
        return build_summary(workup, written_on=WRITTEN_ON).urgent[0]

    read = urgent(ImageKind.MRI, ("acl_tear",))
    assert read.endswith(alone)
    assert "scan" not in read
    assert "Your scan needs to be looked at" in urgent(ImageKind.MRI, None)
    assert "You need a scan" in urgent(ImageKind.RADIOGRAPH, ())


def test_what_a_picture_shows_of_a_tumour_is_told_once() -> None:
    """Nobody is sent for a film of the bone that the picture was taken of."""
    alarms = tuple(
        made_up.alarm(each, RIGHT, Urgency.WITHIN_48_HOURS)
        for each in ("tumour_shown", "tumour_bone_young", "tumour_mass", "tumour_lump_young")
    )
    page = build_summary(replace(made_up.twisted_knee(), alarms=alarms), written_on=WRITTEN_ON)
    assert page.urgent == (plain_alarm("tumour_shown"),)


@pytest.mark.parametrize(("met", "told"), [(False, "closer look today"), (True, "You need an X-ray today")])
def test_the_films_of_a_knee_count_for_the_knee_that_is_asked_about(*, met: bool, told: str) -> None:
    """A rule that is only open on the other knee asks for nothing there; one that is met does."""
    alarms = (
        made_up.alarm("tender_bone_not_weight_bearing", RIGHT, Urgency.SAME_DAY),
        made_up.alarm("tender_bone_not_weight_bearing", LEFT, Urgency.SAME_DAY, met=met),
    )
    knee = made_up.twisted_knee()
    film = Imaging(image=ImageKind.RADIOGRAPH, side=RIGHT, shows=())
    workup = replace(knee, alarms=alarms, examination=replace(knee.examination, imaging=(film,)))
    assert told in build_summary(workup, written_on=WRITTEN_ON).urgent[0]
