from dataclasses import replace

import pytest

from fabella.anatomy import Side
from fabella.infer import ANY_LEVEL
from fabella.report import as_text, build_summary, summary_document
from fabella.report.document import Points
from fabella.report.plain_alarms import plain_alarm
from fabella.workup import Alarm, AlarmVerdict, KneeConclusion, Urgency, run_workup
from tests.flags.build import Found, exam
from tests.report import made_up
from tests.report.made_up import LEFT, RIGHT, WRITTEN_ON


def meant(*knees: KneeConclusion) -> tuple[str, ...]:
    """What the page says that these knees may mean."""
    workup = replace(made_up.twisted_knee(), conclusion=made_up.concluded(*knees), alarms=())
    return build_summary(workup, written_on=WRITTEN_ON).may_mean


def unfit(knee: KneeConclusion) -> KneeConclusion:
    """The same knee with findings that fit nothing well."""
    return replace(knee, fit=replace(knee.fit, p_value=0.01, poor=True))


def test_a_cause_that_both_knees_have_alike_is_told_once() -> None:
    """The same cause with the same chance stands once; where the chance differs, each knee has its line."""
    both = meant(*(made_up.knee(side, made_up.likely("osteoarthritis", 0.7)) for side in Side))
    assert both[1:] == ("Likely in each of your knees: wear of the joint (osteoarthritis) (about 7 in 10).",)
    apart = meant(
        made_up.knee(RIGHT, made_up.likely("osteoarthritis", 0.7)),
        made_up.knee(LEFT, made_up.likely("osteoarthritis", 0.5)),
    )
    assert [each.split(":")[0] for each in apart[1:]] == [
        "Likely in your right knee",
        "As likely as not in your left knee",
    ]


def test_where_nothing_fits_a_cause_has_no_number() -> None:
    """Percentages that deserve little trust are not told to a patient; what is less likely is not named."""
    told = meant(
        unfit(made_up.knee(RIGHT, made_up.likely("septic_arthritis", 0.6), made_up.likely("acl_tear", 0.3))),
        made_up.knee(LEFT, nothing=0.9),
    )
    assert "We think of this in your right knee: infection inside the joint." in told
    assert not any("in 10" in each for each in told)
    assert any("does not fit together" in each for each in told)


def test_a_likely_cause_does_not_hide_what_is_still_open_for_now() -> None:
    """Who is told of crystals in a hot knee is told as well that more is checked before going home."""
    still_open = replace(
        made_up.alarm("septic_joint_adult", RIGHT, Urgency.NOW), verdict=AlarmVerdict.CANNOT_BE_EXCLUDED
    )
    conclusion = made_up.concluded(
        made_up.knee(RIGHT, made_up.likely("crystal_arthritis", 0.9)), made_up.knee(LEFT, nothing=0.9)
    )
    workup = replace(made_up.twisted_knee(), conclusion=conclusion, alarms=(still_open,))
    page = build_summary(workup, written_on=WRITTEN_ON)
    assert page.checked_first == "We want to check a few more things before you go."
    assert workup.advice is not None
    waits = replace(workup, advice=replace(workup.advice, unsettled=True))
    next_told = build_summary(waits, written_on=WRITTEN_ON).comes_next
    assert next_told[0] == "First come the checks at the top."  # and not once more what was said above


def test_who_may_have_to_stay_is_told_so_at_the_head_of_the_page() -> None:
    """What is for now and open stands below what rang, however soon that is, unless that is for now too."""
    still_open = replace(
        made_up.alarm("knee_dislocation", RIGHT, Urgency.NOW), verdict=AlarmVerdict.CANNOT_BE_EXCLUDED
    )

    def headings(*alarms: Alarm) -> list[str]:
        page = build_summary(replace(made_up.twisted_knee(), alarms=alarms), written_on=WRITTEN_ON)
        return [each.heading for each in summary_document(page).sections][:3]

    blood = made_up.alarm("acute_haemarthrosis", RIGHT, Urgency.WITHIN_48_HOURS)
    assert headings(blood, still_open)[:2] == ["Please do not wait", "Please do not go yet"]
    assert headings(still_open)[:2] == ["Please do not go yet", "What we looked for"]
    infected = made_up.alarm("septic_joint_adult", RIGHT, Urgency.NOW)
    assert headings(infected, still_open)[:2] == ["Please do not wait", "What we looked for"]


def test_a_knee_of_which_nothing_was_found_normal_is_not_called_sound() -> None:
    """One bend that nobody can judge is no ground to say that no serious injury was found."""

    def told(findings: dict[str, Found]) -> tuple[str, ...]:
        sound = made_up.concluded(made_up.knee(RIGHT, nothing=0.9), made_up.knee(LEFT, nothing=0.9))
        both = exam(findings, {"effusion": False}, days=100)
        workup = replace(made_up.twisted_knee(), examination=both, graded=(), conclusion=sound, alarms=())
        return build_summary(workup, written_on=WRITTEN_ON).may_mean

    assert told({"passive_flexion": 120.0}) == ("We cannot say yet what this means.",)
    assert any("serious injury" in each for each in told({"effusion": False}))


@pytest.mark.parametrize("unsettled", [False, True])
def test_nobody_is_reassured_and_asked_to_wait_for_more(unsettled: bool) -> None:
    """The page says that nothing serious was found, or that more is checked first, and never both."""
    sound = made_up.concluded(made_up.knee(RIGHT, nothing=0.9), made_up.knee(LEFT, nothing=0.9))
    workup = made_up.twisted_knee()
    assert workup.advice is not None
    quiet = replace(
        workup,
        examination=exam({"effusion": False}, {"effusion": False}, days=100),
        graded=(),
        conclusion=sound,
        alarms=(),
        advice=replace(workup.advice, unsettled=unsettled),
    )
    page = build_summary(quiet, written_on=WRITTEN_ON)
    assert any("serious injury" in each for each in page.may_mean) is not unsettled
    assert ("We cannot say yet what this means." in page.may_mean) is unsettled
    assert any("check a few more things" in each for each in page.comes_next) is unsettled


def test_one_line_does_not_ask_again_for_what_another_asks_for_sooner() -> None:
    """Beside an X-ray today nobody is sent for one in two days, nor for blood tests twice."""
    alone, beside = (
        plain_alarm("acute_haemarthrosis"),
        plain_alarm("acute_haemarthrosis", beside=["ottawa_knee"]),
    )
    assert "X-ray" in alone
    assert "X-ray" not in beside
    assert "two days" in beside
    assert "blood tests" not in plain_alarm("prolonged_stiffness", beside=["illness_young"])
    examination = exam(
        {"effusion": "large", "unable_to_weight_bear": True, "passive_flexion": 60.0},
        said={"unable_to_weight_bear_at_injury": True, "fall_or_blunt_trauma": True},
        age=9,
        days=0,
    )
    urgent = build_summary(run_workup(examination), written_on=WRITTEN_ON).urgent
    assert sum("X-ray" in each for each in urgent) == 1


def test_what_a_pressing_rule_still_asks_comes_before_an_image() -> None:
    """A child's hips are turned first; nobody is told of a scan as if that were all."""
    found: dict[str, Found] = {"patellar_grind": True, "effusion": False}
    summary = build_summary(run_workup(exam(found, age=14)), written_on=WRITTEN_ON)
    assert summary.comes_next[0] == "First we want to check a few more things."


def test_slightly_knocked_knees_alike_are_no_finding_to_the_parents() -> None:
    """What the grading holds for usual is not told as a leg out of line; one leg alone is."""

    def told(**left: Found) -> str:
        examination = exam({"valgus_alignment": "mild", "antalgic_gait": False}, left, age=3)
        found = dict(build_summary(run_workup(examination), written_on=WRITTEN_ON).found)
        return " ".join(found[RIGHT])

    assert "not quite in line" not in told(valgus_alignment="mild")
    assert "nothing wrong" in told(valgus_alignment="mild")
    assert "not quite in line" in told(valgus_alignment=False)


@pytest.mark.parametrize(
    ("urgency", "said"), [(Urgency.NOW, True), (Urgency.SAME_DAY, True), (Urgency.WITHIN_48_HOURS, False)]
)
def test_the_likeliest_cause_does_not_outshine_what_is_looked_for_first(urgency: Urgency, said: bool) -> None:
    """Crystals in nine of ten hot knees are no reason to go home beside a joint that may be infected."""
    conclusion = made_up.concluded(
        made_up.knee(RIGHT, made_up.likely("crystal_arthritis", 0.9)), made_up.knee(LEFT, nothing=0.9)
    )
    met = made_up.alarm("septic_joint_adult", RIGHT, urgency)
    workup = replace(made_up.twisted_knee(), conclusion=conclusion, alarms=(met,))
    told = build_summary(workup, written_on=WRITTEN_ON).may_mean
    assert told[1].startswith("Most likely in your right knee: inflammation from crystals")
    assert (told[-1] == "What stands at the top of this page is checked first, whatever fits best.") is said


def lump(benign: float, aggressive: float, *alarms: Alarm) -> str:
    """What the page says of a growth in the soft parts of the right knee."""
    levels = ((ANY_LEVEL, benign + aggressive), ("benign", benign), ("aggressive", aggressive))
    growth = (made_up.likely("soft_tissue_tumour", p, level) for level, p in levels)
    conclusion = made_up.concluded(made_up.knee(RIGHT, *growth), made_up.knee(LEFT, nothing=0.9))
    workup = replace(made_up.twisted_knee(), conclusion=conclusion, alarms=alarms)
    return build_summary(workup, written_on=WRITTEN_ON).may_mean[1]


def test_a_lump_that_no_rule_fears_is_called_a_lump() -> None:
    """Small, soft and unchanged for years: a word that frightens is kept for what is feared (judgement)."""
    assert lump(0.65, 0.08).startswith(
        "About the lump in or near your right knee: most lumps like this are harmless."
    )
    assert lump(0.40, 0.35).startswith("There may be a growth in the soft tissues")
    for met in (True, False):
        rule = made_up.alarm("tumour_mass", RIGHT, Urgency.WITHIN_2_WEEKS, met=met)
        assert lump(0.65, 0.08, rule).startswith("There may be a growth in the soft tissues")
    other = made_up.alarm("tumour_mass", LEFT, Urgency.WITHIN_2_WEEKS)
    assert lump(0.65, 0.08, other).startswith("About the lump")


@pytest.mark.parametrize(("sides", "told"), [((RIGHT,), "of the knee"), ((RIGHT, LEFT), "of both knees")])
def test_an_image_of_both_knees_is_told_of_both(sides: tuple[Side, ...], told: str) -> None:
    """Films of two worn knees are not told as of one."""
    workup = made_up.twisted_knee()
    assert workup.advice is not None
    film = next(each for each in workup.advice.images if each.kind == "image")
    film = replace(film, id="radiograph")
    advice = replace(
        workup.advice, images=tuple(replace(film, side=side) for side in sides), first=(), unsettled=False
    )
    page = build_summary(replace(workup, alarms=(), advice=advice), written_on=WRITTEN_ON)
    assert page.comes_next[0] == f"An X-ray {told} may tell us more."


def test_lines_that_ask_for_the_same_ask_once() -> None:
    """Nobody is told twice to be seen in hospital now; what differs stays, in its order."""
    alarms = (
        made_up.alarm("vascular_injury", RIGHT, Urgency.NOW),
        made_up.alarm("nerve_injury", RIGHT, Urgency.SAME_DAY),
        made_up.alarm("knee_dislocation", RIGHT, Urgency.NOW),
    )
    page = build_summary(replace(made_up.twisted_knee(), alarms=alarms), written_on=WRITTEN_ON)
    assert page.urgent == (
        "An artery may be hurt. The knee may have been out of place. You need to be seen in hospital now.",
        plain_alarm("nerve_injury"),
    )


def test_a_hot_knee_that_may_be_infected_is_not_told_to_wait_two_days() -> None:
    """What must be seen in hospital now is not asked for within two days in the next line."""
    for rule in ("septic_joint_adult", "septic_joint_child", "prosthetic_joint_infection"):
        assert "two days" not in plain_alarm("hot_knee_that_lasts", beside=[rule])
    assert "two days" in plain_alarm("hot_knee_that_lasts")


def test_how_many_in_ten_stands_in_one_line() -> None:
    """No line of the page begins with "10)", and the text that is read aloud has plain spaces."""
    page = summary_document(build_summary(made_up.twisted_knee(), written_on=WRITTEN_ON), drawn=False)
    (meant,) = (
        block
        for section in page.sections
        for block in section.blocks
        if isinstance(block, Points) and block.id == "may-mean"
    )
    assert any("in\N{NO-BREAK SPACE}10)" in each for each in meant.texts)
    assert not any("in 10" in each for each in meant.texts)
    assert " in 10)" in " ".join(as_text(page).split())
