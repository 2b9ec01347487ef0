import re
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.anatomy import Side, load_lesions, other
from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Examination, Finding, Origin, Patient, State
from fabella.report import (
    LetterContext,
    Outcome,
    SummaryContext,
    as_text,
    build_letter,
    build_summary,
    letter_document,
    summary_document,
)
from fabella.report.findings import LeftOut, knee_findings, normal_on_both
from fabella.report.gather import gather
from fabella.report.likelihood_words import word_for
from fabella.report.measurements import measurement_rows
from fabella.report.phrases import load_phrases
from fabella.report.plan_words import grouped_by_reason
from fabella.report.reason_words import leading
from fabella.stats.written import percentage
from fabella.workup import Alarm, Confirms, OrderedBy, Reason, Urgency, Withheld, Workup, run_workup
from tests.report import made_up
from tests.report.made_up import EVERYBODY, LEFT, RIGHT, WRITTEN_ON

GOLDEN = Path(__file__).parent / "golden"
GUIDE = Path(__file__).parents[2] / "docs" / "letters.md"
PROTOCOL = load_protocol()
OF_A_KNEE = [sign for sign in PROTOCOL.signs if not sign.is_person and not sign.is_history]


def written(workup: Workup) -> str:
    """The letter as plain text."""
    letter = build_letter(workup, written_on=WRITTEN_ON, addressee="Dr Example")
    return as_text(letter_document(letter, drawn=False))


def joined(workup: Workup) -> str:
    """The letter on one line, so that a phrase is found wherever the lines break."""
    return " ".join(written(workup).split())


def explained(workup: Workup) -> str:
    """The patient's page on one line."""
    return " ".join(as_text(summary_document(build_summary(workup, written_on=WRITTEN_ON))).split())


@pytest.mark.parametrize("name", EVERYBODY)
def test_the_letter_reads_as_the_one_we_looked_at(name: str) -> None:
    """Regression: the letters about three invented patients stand as they were read and approved by eye."""
    assert (GOLDEN / f"{name}.txt").read_text() == written(EVERYBODY[name]())


@pytest.mark.parametrize("name", EVERYBODY)
def test_the_page_reads_as_the_one_we_looked_at(name: str) -> None:
    """Regression: the patients' pages about three invented patients stand as they were read by eye."""
    page = as_text(summary_document(build_summary(EVERYBODY[name](), written_on=WRITTEN_ON)))
    assert (GOLDEN / f"{name}_page.txt").read_text() == page


@pytest.mark.parametrize("context", [LetterContext, SummaryContext])
def test_a_context_holds_exactly_the_documented_fields(context: type) -> None:
    """The guide lists each field of a context with its sentence, in order, and no other field."""
    stated = [f"| `{each.name}` | {each.metadata['help']} |" for each in fields(context)]
    part = GUIDE.read_text().split(f"`{context.__name__}`", 1)[1].split("\n## ", 1)[0]
    assert stated == [line for line in part.splitlines() if line.startswith("| `")]


@pytest.mark.parametrize("make", EVERYBODY.values())
def test_the_caution_stands_once(make: Any) -> None:
    """Letter and page say their caution exactly once, and defer to local protocols and licensed practice."""
    letter = build_letter(make(), written_on=WRITTEN_ON)
    assert 1 == joined(make()).count(letter.caution)
    assert "local protocols" in letter.caution
    assert "licensed practice" in letter.caution
    assert 1 == explained(make()).count(build_summary(make(), written_on=WRITTEN_ON).caution)


def test_what_cannot_wait_comes_first() -> None:
    """Before history and findings, with how soon, what to do, why and the source."""
    letter = joined(made_up.hot_knee())
    assert letter.index("CANNOT WAIT") < letter.index("HISTORY") < letter.index("FINDINGS")
    assert "Left knee, now: Rule septic joint adult. Do what it takes." in letter
    assert "Because: the one criterion. Source: common practice." in letter


@pytest.mark.parametrize("make", EVERYBODY.values())
def test_right_is_named_before_left_and_neither_is_left_out(make: Any) -> None:
    """Both knees stand in the findings of every letter and page, the right one first."""
    findings = written(make()).split("FINDINGS", 1)[1]
    assert 0 <= findings.index("Right knee: ") < findings.index("Left knee: ")
    page = explained(make())
    assert 0 <= page.index("Your right knee: ") < page.index("Your left knee: ")


def test_a_knee_not_examined_is_called_so() -> None:
    """The knee that was left out is said to be, and nothing about it is called normal."""
    letter = build_letter(made_up.hot_knee(), written_on=WRITTEN_ON)
    assert "Right knee: Not examined." in joined(made_up.hot_knee())
    assert ("", (), False) == (letter.knees[0].normal, letter.knees[0].abnormal, letter.knees[0].examined)
    assert "We did not examine this knee." in explained(made_up.hot_knee())


def test_a_measurement_carries_unit_other_side_and_error() -> None:
    """A measured value stands with its unit beside the other side, the difference and what that is worth."""
    letter = joined(made_up.twisted_knee())
    assert "Thigh girth 41.5 cm 43.5 cm 2 cm, within error" in letter
    assert "Passive flexion 120° 140° 20°, beyond error" in letter
    assert "Tibiofemoral angle 4° varus 9° varus 5°" in joined(made_up.worn_knees())


def test_normal_cruciates_are_dictated_in_one_clause() -> None:
    """With all four cruciate tests normal on both sides, one clause says so; with one left out, not."""
    core = ("lachman", "anterior_drawer", "posterior_drawer", "pivot_shift")
    clause = "Lachman and drawers were normal, and there was no pivot shift."
    whole = made_up.readings(*((sign, side, Outcome.NORMAL) for sign in core for side in Side))
    short = made_up.readings(*((sign, side, Outcome.NORMAL) for sign in core[:3] for side in Side))
    assert clause == normal_on_both(whole)
    assert "pivot shift" not in normal_on_both(short)


@given(
    st.lists(
        st.tuples(st.sampled_from(OF_A_KNEE), st.sampled_from(Side), st.sampled_from(State)),
        max_size=60,
        unique_by=lambda each: (each[0].id, each[1]),
    )
)
@settings(max_examples=150)
def test_what_was_not_found_normal_is_never_worded_as_normal(found: list[Any]) -> None:
    """Words about normal signs of a knee speak of signs found normal there, never of others.

    A group is called normal as a whole only when its core was normal and nothing in it was otherwise.
    """
    outcomes = {State.NOT_EXAMINED: Outcome.NOT_EXAMINED, State.NORMAL: Outcome.NORMAL,
                State.ABNORMAL: Outcome.ABNORMAL, State.UNTESTABLE: Outcome.COULD_NOT_BE_TESTED}  # fmt: skip
    readings = made_up.readings(*((sign.id, side, outcomes[state]) for sign, side, state in found))
    for side in Side:
        normal = {sign.id for sign, where, state in found if where is side and state is State.NORMAL}
        told = f"{knee_findings(readings, side, PROTOCOL).normal} {normal_on_both(readings)}".casefold()
        for group in load_phrases().groups:
            whole = {group.whole.casefold(), group.whole_both.casefold()} - {""}
            if any(each in told for each in whole):
                assert set(group.core) <= normal
                told = told.replace(max(whole, key=len), "").replace(min(whole, key=len), "")
        words = {
            sign: noun for group in load_phrases().groups for sign, noun in {**group.no, **group.well}.items()
        }
        for sign in sorted(normal, key=lambda each: -len(words[each])):
            told = told.replace(words[sign].casefold(), "")
        other_nouns = {words[sign].casefold() for sign in set(words) - normal}
        assert {noun for noun in other_nouns if re.search(rf"\b{re.escape(noun)}\b", told)} == set()


@given(st.sets(st.sampled_from([sign.id for sign in OF_A_KNEE]), max_size=20))
def test_saying_not_examined_is_as_good_as_saying_nothing(signs: set[str]) -> None:
    """A sign stated as not examined and a sign not mentioned give the same words."""
    stated = made_up.twisted_knee()
    silent = tuple(each for each in stated.examination.findings if each.sign not in signs)
    loud = (
        *silent,
        *(Finding(sign=each, side=side, state=State.NOT_EXAMINED) for each in signs for side in Side),
    )
    with_silent = replace(stated, examination=replace(stated.examination, findings=silent))
    with_loud = replace(stated, examination=replace(stated.examination, findings=loud))
    assert written(with_silent) == written(with_loud)


CERTAIN = re.compile(r"\b(is|are|has|have|had|confirm\w*|diagnos\w*|definite\w*|proven|certain|100%)\b")


@given(
    st.lists(
        st.tuples(
            st.sampled_from(sorted(load_lesions())),
            st.one_of(st.floats(0, 1), st.sampled_from([0.95, 0.99, 0.999, 0.9999, 1.0])),
        ),
        min_size=1,
        max_size=6,
        unique_by=lambda each: each[0],
    )
)
@settings(max_examples=150)
def test_a_lesion_is_never_written_as_certain(guesses: list[tuple[str, float]]) -> None:
    """No sentence says that a lesion is there; each gives a word, and a number that is not 100%."""
    guesses.sort(key=lambda each: -each[1])
    entries = [made_up.likely(lesion, probability, pro=("lachman",)) for lesion, probability in guesses]
    levels = [
        made_up.likely(lesion, probability * 0.6, level.id)
        for lesion, probability in guesses
        for level in load_lesions()[lesion].levels
    ]
    conclusion = made_up.concluded(made_up.knee(RIGHT, *entries, *levels), made_up.knee(LEFT, *entries))
    workup = replace(made_up.twisted_knee(), conclusion=conclusion, advice=None)
    told = joined(workup).split("CONCLUSION", 1)[1].split("This letter supports", 1)[0]
    assert CERTAIN.findall(told) == []
    for lesion, probability in guesses[:4]:
        name = load_lesions()[lesion].name
        guess, likely = (
            f"{name} {percentage(probability)}",
            f"{word_for(probability)} {name}, {percentage(probability)}",
        )
        assert not 0.05 <= probability < 0.2 or guess.casefold() in told.casefold()
        assert probability < 0.2 or likely.casefold() in told.casefold()
    page = explained(workup).split("WHAT IT MAY MEAN", 1)[1].split("WHAT HAPPENS NEXT", 1)[0]
    assert not re.search(r"\b(you have|it is|there is|10 in 10|certain(ly)?)\b", page.casefold())


def test_an_answer_that_is_a_number_is_a_reason_with_its_number() -> None:
    """Swelling within an hour speaks for a torn cruciate as dictated, one hour in the singular."""
    patient = made_up.twisted_knee()
    told = replace(patient.examination, history={"swelling_onset_hours": 1.0})
    entry = made_up.likely("acl_tear", 0.9, pro=("swelling_onset_hours",))
    conclusion = made_up.concluded(made_up.knee(RIGHT, entry), made_up.knee(LEFT))
    letter = joined(replace(patient, examination=told, conclusion=conclusion))
    assert "For: swelling within 1 hour." in letter
    assert "Swelling within 1 hour." in letter


def test_what_was_there_is_named_before_what_was_missing() -> None:
    """Of reasons for a lesion the abnormal come first; an absence that weighs little gets no word."""
    weighed = (("no_limp", False, 1.0), ("lachman", True, 0.6), ("no_scar", False, 0.3), ("pop", True, 0.3))
    reasons = [
        Reason(sign=sign, abnormal=abnormal, weight_bits=bits, sources=(), grounding=made_up.GROUNDS)
        for sign, abnormal, bits in weighed
    ]
    assert [each.sign for each in leading(reasons, 4)] == ["lachman", "pop", "no_limp"]
    assert [each.sign for each in leading(reasons, 1)] == ["lachman"]


def test_what_a_lesion_brings_is_named_though_others_leave_it_little_to_say() -> None:
    """Beside a hanging foot and a bruise the wide-open lateral side is still why its ligament is torn."""
    weighed = (("ecchymosis", 0.35, False), ("varus_stress_30", 0.17, True), ("limp", 0.17, False))
    reasons = [
        Reason(
            sign=sign, abnormal=True, weight_bits=bits, sources=(), grounding=made_up.GROUNDS, brought=brought
        )
        for sign, bits, brought in weighed
    ]
    assert [each.sign for each in leading(reasons, 4)] == ["ecchymosis", "varus_stress_30"]
    assert not any(each.explained_otherwise for each in reasons)


def test_a_denial_lists_one_thing_after_the_other() -> None:
    """Two things of one answer are denied one by one, and no minutes of stiffness are no stiffness."""
    denied: dict[str, bool | float] = {
        "tingling_or_numbness": False,
        "rigors_or_unwell": False,
        "morning_stiffness_min": 0.0,
    }
    patient = made_up.twisted_knee()
    letter = joined(replace(patient, examination=replace(patient.examination, history=denied)))
    assert "No morning stiffness, tingling, numbness, rigors, sweats or feeling of illness." in letter
    told = replace(patient.examination, history={"tingling_or_numbness": True})
    assert "Tingling or numbness." in joined(replace(patient, examination=told))


def test_what_the_person_does_not_have_is_written_and_said_as_missing() -> None:
    """No "normal other joints swollen": what is not there is told as missing, in findings and reasons."""
    patient = made_up.twisted_knee()
    alone = Finding(sign="other_joints_swollen", state=State.NORMAL)
    told = replace(patient.examination, findings=(*patient.examination.findings, alone))
    entry = made_up.likely("acl_tear", 0.9, contra=("other_joints_swollen",))
    conclusion = made_up.concluded(made_up.knee(RIGHT, entry), made_up.knee(LEFT))
    letter = joined(replace(patient, examination=told, conclusion=conclusion))
    assert "There was no swelling of other joints." in letter
    assert "Against: no swelling of other joints" in letter
    assert "normal other joints" not in letter


def test_what_cannot_wait_on_both_knees_is_written_once() -> None:
    """A rule met on both knees for the same reasons is one matter; on one knee it names the knee."""
    alarms = tuple(made_up.alarm("tumour_bone_pain", side, Urgency.WITHIN_2_WEEKS) for side in Side)
    assert joined(replace(made_up.twisted_knee(), alarms=alarms)).count("Both knees, within 2 weeks") == 1
    assert "Right knee, within 2 weeks" in joined(replace(made_up.twisted_knee(), alarms=alarms[:1]))


def test_an_image_that_a_rule_orders_or_treatment_rests_on_says_why() -> None:
    """What a rule orders comes first in the plan; what treatment rests on says so instead of odds."""
    patient = made_up.twisted_knee()
    assert patient.advice is not None
    image = patient.advice.images[0]
    ordered = replace(image, id="radiograph", name="Plain radiographs", purpose=OrderedBy("Rule of ankles"))
    resting = replace(image, purpose=Confirms(("acl_tear", "pcl_tear"), how="standing"))
    advice = replace(patient.advice, first=(ordered,), images=(resting,))
    plan = joined(replace(patient, advice=advice)).partition(" PLAN ")[2]
    assert plan.startswith("Next step: Plain radiographs: asked for above (Rule of ankles). Do the pivot")
    assert (
        "Images and tests: MRI, standing: to confirm or grade anterior cruciate ligament tear and posterior"
        " cruciate ligament tear before treatment rests on it." in plan
    )


def test_an_image_that_either_knee_needs_for_the_same_is_said_once() -> None:
    """The same image for the same rule on either side is told of both knees; for another rule, of its own."""
    patient = made_up.twisted_knee()
    assert patient.advice is not None
    image = replace(patient.advice.images[0], id="radiograph", name="Plain radiographs")
    either = tuple(replace(image, side=side, purpose=OrderedBy("Rule of ankles")) for side in Side)
    told = replace(either[0], purpose=None)  # the same for what it would tell, as long as that is the same
    for first, images in ((either, ()), ((), either), ((), (told, replace(told, side=LEFT)))):
        advice = replace(patient.advice, first=first, images=images)
        plan = joined(replace(patient, advice=advice)).partition(" PLAN ")[2]
        assert plan.count("Plain radiographs, both knees: ") == 1
        assert "Plain radiographs, right knee" not in plan
    other = (either[0], replace(either[1], purpose=OrderedBy("Rule of hips")))
    plan = joined(replace(patient, advice=replace(patient.advice, first=other))).partition(" PLAN ")[2]
    assert "Plain radiographs, right knee: asked for above (Rule of ankles)." in plan
    assert "Plain radiographs, left knee: asked for above (Rule of hips)." in plan


def test_an_image_that_is_withheld_stands_under_not_now() -> None:
    """A deed that a rule withholds is named with its reason, before the signs."""
    patient = made_up.twisted_knee()
    assert patient.advice is not None
    needle = Withheld(id="aspiration", name="Aspiration", side=RIGHT, reasons=("no needle",), kind="image")
    advice = replace(patient.advice, withheld=(needle,))
    assert "Not now: Right knee, no needle: aspiration." in joined(replace(patient, advice=advice))


def test_what_must_not_be_done_is_grouped_by_the_reason_that_forbids_most() -> None:
    """A deed with two reasons stands under the one of most deeds; few are named, with how many more."""
    both = ("fracture suspected", "unable to stand safely")
    forced = tuple(withheld(f"forcing {n}", *both[:1]) for n in range(6))
    standing = (withheld("hopping", *both), withheld("walking", *both[1:]))
    grouped = grouped_by_reason((*forced, *standing))
    assert [each.words for each in grouped] == [
        "right knee, fracture suspected: forcing 0; forcing 1; forcing 2; forcing 3; and 3 more",
        "right knee, unable to stand safely: walking",
    ]
    assert grouped[0].in_full.endswith("forcing 4; forcing 5; hopping")


def test_what_must_not_be_done_to_both_knees_is_said_once() -> None:
    """The same deeds for the same reason on either side are one group; one deed fewer keeps them apart."""
    both = tuple(withheld(name, "locked", side=side) for side in Side for name in ("twisting", "hopping"))
    assert [each.words for each in grouped_by_reason(both)] == ["both knees, locked: twisting; hopping"]
    assert len(grouped_by_reason(both[1:])) == 2


@pytest.mark.parametrize("count", range(1, 12))
def test_no_deed_is_lost_where_few_are_named(count: int) -> None:
    """The names and the number of the others make up all, and never only one is left unnamed."""
    (group,) = grouped_by_reason(tuple(withheld(f"deed {n}", "reason") for n in range(count)))
    more = int((re.findall(r"and (\d+) more", group.words) or ["0"])[0])
    assert group.words.count("deed") + more == group.in_full.count("deed") == count
    assert more != 1


def withheld(name: str, *reasons: str, side: Side = RIGHT) -> Withheld:
    """A sign that must not be examined now."""
    return Withheld(id=name.replace(" ", "_"), name=name, side=side, reasons=reasons)


def test_findings_that_disagree_are_to_be_looked_at_again() -> None:
    """An effusion beside a dry sweep is remarked, with both in words; where nothing disagrees, nothing is."""
    patient = made_up.twisted_knee()
    swept = made_up.found("effusion_sweep", RIGHT, State.NORMAL)
    wet = made_up.found("effusion", RIGHT, "moderate")
    kept = tuple(
        each
        for each in patient.examination.findings
        if (each.sign, each.side) not in {("effusion", RIGHT), ("effusion_sweep", RIGHT)}
    )
    odd = replace(patient, examination=replace(patient.examination, findings=(*kept, wet, swept)))
    letter = joined(odd)
    assert letter.count("Look again:") == 1
    assert "Look again: Effusion, moderate, yet no fluid on the sweep test: the sweep shows" in letter
    assert "Look again" not in joined(patient)


def test_a_poor_fit_is_said_plainly() -> None:
    """When the findings fit nothing well, letter and page say so."""
    assert "These findings fit none of this well; least of all patellar apprehension." in joined(
        made_up.worn_knees()
    )
    assert "does not fit together well" in explained(made_up.worn_knees())
    assert "fit none of this well" not in joined(made_up.twisted_knee())


def test_a_failure_is_said_and_hides_no_alarm() -> None:
    """What could not be computed is named, and what cannot wait still stands above it."""
    letter = joined(made_up.hot_knee())
    assert letter.index("Rule septic joint adult") < letter.index(
        "Not worked out: The conclusion could not be"
    )


def test_only_pressing_open_rules_are_spelt_out_and_the_rest_counted() -> None:
    """An open rule that presses is named with its question; the others are counted, not dropped."""
    letter = joined(made_up.hot_knee())
    assert (
        "Not excluded: Rule dvt 2003 (left knee: ask about the one criterion); and 1 further matter."
        in letter
    )


def still_open(rule: str, urgency: Urgency, *, questions: int = 1, side: Side | None = RIGHT) -> Alarm:
    """An alarm that could not be excluded, with so many questions."""
    alarm = made_up.alarm(rule, side, urgency, met=False)
    (one,) = alarm.unknown
    return replace(alarm, unknown=tuple(replace(one, ask=f"ask for answer {n}") for n in range(questions)))


def test_what_is_for_now_and_open_stands_below_what_rang_and_above_all_else() -> None:
    """A knee that may have been out of joint is asked about at the head; what can be asked later ends it."""
    rang = made_up.alarm("acute_haemarthrosis", RIGHT, Urgency.WITHIN_48_HOURS)
    alarms = (
        rang,
        still_open("knee_dislocation", Urgency.NOW, questions=5),
        still_open("extensor_rupture", Urgency.SAME_DAY),
    )
    letter = joined(replace(made_up.twisted_knee(), alarms=alarms))
    rung, asked = letter.index("Rule acute haemarthrosis"), letter.index("NOT EXCLUDED Right knee, now:")
    assert rung < asked < letter.index("HISTORY") < letter.index("PLAN")
    assert "Rule knee dislocation. Ask for answer 0; ask for answer 1; and 3 more." in letter
    assert letter.count("Rule knee dislocation") == 1
    assert "First what cannot wait and what is not excluded, above." in letter
    assert letter.index("PLAN") < letter.index("Also not excluded: Rule extensor rupture")
    alone = joined(replace(made_up.twisted_knee(), alarms=alarms[1:2]))
    assert alone.index("NOT EXCLUDED Right knee, now:") < alone.index("HISTORY")
    assert "First what is not excluded, above." in alone
    assert "Also not excluded" not in alone


def test_what_is_for_now_and_open_is_never_left_out_and_told_once_of_both_knees() -> None:
    """However many matters are open, each for now is told; the same of both knees counts as one."""
    many = [
        still_open(rule, Urgency.NOW)
        for rule in ("vascular_injury", "open_joint", "sepsis", "knee_dislocation")
    ]
    both = [still_open("extensor_rupture", Urgency.SAME_DAY, side=side) for side in Side]
    letter = joined(replace(made_up.twisted_knee(), alarms=(*many, *both)))
    assert all(each.name in letter for each in many)
    assert "Also not excluded: 1 further matter." in letter
    few = joined(replace(made_up.twisted_knee(), alarms=(*both, still_open("dvt_2003", Urgency.SAME_DAY))))
    assert "Rule extensor rupture (both knees: ask for answer 0); Rule dvt 2003 (right knee" in few
    assert "further" not in few


def test_two_images_of_one_rule_name_it_once() -> None:
    """Film and needle asked for by one rule stand together."""
    workup = made_up.twisted_knee()
    assert workup.advice is not None
    (step, *_) = workup.advice.images
    first = tuple(
        replace(step, id=name, name=name.capitalize(), purpose=OrderedBy("A hot knee"))
        for name in ("radiograph", "aspiration")
    )
    letter = joined(replace(workup, advice=replace(workup.advice, first=first)))
    assert "Radiograph; aspiration: asked for above (A hot knee)." in letter


def test_the_order_of_alarms_is_kept() -> None:
    """The letter lists alarms in the order in which they were decided: the most urgent first."""
    alarms = (
        made_up.alarm("vascular_injury", RIGHT, Urgency.NOW),
        made_up.alarm("ottawa_knee", RIGHT, Urgency.SAME_DAY),
    )
    letter = build_letter(replace(made_up.twisted_knee(), alarms=alarms), written_on=WRITTEN_ON)
    assert ["vascular_injury", "ottawa_knee"] == [each.rule for each in letter.urgent]
    assert ["now", "today"] == [each.when for each in letter.urgent]


def from_origin(origin: Origin) -> Workup:
    """A workup of an empty examination."""
    return made_up.workup(Examination(id="x", origin=origin))


@pytest.mark.parametrize("build", [build_letter, build_summary])
def test_a_simulated_patient_gets_no_clinical_letter(build: Any) -> None:
    """A simulated patient is refused unless the letter is marked as practice, and then it says what it is."""
    with pytest.raises(InputError, match="practice"):
        build(from_origin(Origin.SIMULATED), written_on=WRITTEN_ON)
    marked = build(from_origin(Origin.SIMULATED), written_on=WRITTEN_ON, practice=True)
    assert "Practice letter: not about a real patient, not for clinical use." == marked.standing


def test_only_a_real_patient_gets_an_unmarked_letter() -> None:
    """Invented and published cases say what they are; a patient's letter carries no mark."""
    marks = {
        origin: build_letter(from_origin(origin), written_on=WRITTEN_ON).standing
        for origin in (Origin.PATIENT, Origin.INVENTED, Origin.PUBLISHED)
    }
    assert "" == marks[Origin.PATIENT]
    assert all("not for clinical use" in marks[origin] for origin in (Origin.INVENTED, Origin.PUBLISHED))


def test_the_foot_names_edition_version_and_examination() -> None:
    """Whoever finds the letter can make it again."""
    foot = build_letter(made_up.twisted_knee(), written_on=WRITTEN_ON).foot
    assert "Evidence edition 2026.1; Fabella 0.1.0; examination made-up-1." == foot


@pytest.mark.parametrize("side", Side)
def test_the_other_side_is_named_by_its_name(side: Side) -> None:
    """The side of a knee that could not be tested is not swapped with the other."""
    workup = made_up.workup(
        Examination(
            id="x", origin=Origin.PATIENT, findings=(made_up.found("lachman", side, State.UNTESTABLE),)
        )
    )
    letter = build_letter(workup, written_on=WRITTEN_ON)
    by_side = {knee.side: knee for knee in letter.knees}
    assert ("Lachman test (guarding)",) == by_side[side].untested
    assert () == by_side[other(side)].untested


def test_no_image_is_named_before_a_knee_was_examined() -> None:
    """With a history alone neither letter nor page sends anybody into a scanner."""
    patient = made_up.twisted_knee()
    untouched = replace(patient, examination=replace(patient.examination, findings=()))
    assert "Images and tests" in written(patient)
    assert "Images and tests" not in written(untouched)
    assert "We will talk with you about the next step." in explained(untouched)


def test_without_a_leading_conclusion_nothing_is_said_to_be_behind_it() -> None:
    """Where no lesion stands out the letter does not say what the leading conclusion rests on."""
    nothing = made_up.concluded(
        made_up.knee(RIGHT, made_up.likely("acl_tear", 0.02), nothing=0.9), made_up.knee(LEFT, nothing=0.9)
    )
    assert "Evidence behind it" in written(made_up.twisted_knee())
    assert "Evidence behind it" not in written(replace(made_up.twisted_knee(), conclusion=nothing))


def test_what_was_left_out_alike_on_both_knees_is_said_once() -> None:
    """Only what differs between the knees is told of each."""
    right = LeftOut(wholly=("gait", "crepitus"), partly=("patella",))
    left = LeftOut(wholly=("gait", "menisci"), partly=("patella", "crepitus"))
    letter = build_letter(made_up.twisted_knee(), written_on=WRITTEN_ON)
    knees = tuple(
        replace(knee, examined=True, left_out=left if knee.side is LEFT else right) for knee in letter.knees
    )
    text = " ".join(as_text(letter_document(replace(letter, knees=knees))).split())
    assert (
        "Not examined: On either side: gait; only in part: patella. Right knee: crepitus. "
        "Left knee: menisci; only in part: crepitus. "
    ) in text


def test_what_has_to_be_done_now_stands_alone_in_the_plan() -> None:
    """Beside an alarm for now no question and no image is planned; a routine one leaves the plan as it is."""

    def plan(urgency: Urgency) -> tuple[str, str]:
        alarms = (made_up.alarm("vascular_injury", RIGHT, urgency),)
        workup = replace(made_up.twisted_knee(), alarms=alarms)
        return joined(workup).partition(" PLAN ")[2], explained(workup).partition("WHAT HAPPENS NEXT")[2]

    letter, page = plan(Urgency.NOW)
    assert letter.startswith("Next step: First what cannot wait, above. This letter supports")
    assert page.startswith(" First comes what must not wait")
    letter, page = plan(Urgency.SAME_DAY)
    assert letter.startswith("Next step: First what cannot wait, above. Do the pivot shift: if clunk")
    letter, page = plan(Urgency.WITHIN_2_WEEKS)  # a referral that no image stands for
    assert letter.startswith("Next step: First what cannot wait, above. Do the pivot shift: if clunk")
    letter, page = plan(Urgency.ROUTINE_BUT_DO_NOT_MISS)
    assert "First" not in letter + page


def test_what_is_not_urgent_is_not_told_as_what_cannot_wait() -> None:
    """A routine rule has its own heading, below what cannot wait when there is any."""
    routine = made_up.alarm("acute_knee_radiograph", RIGHT, Urgency.ROUTINE_BUT_DO_NOT_MISS)
    alone = written(replace(made_up.twisted_knee(), alarms=(routine,)))
    assert "CANNOT WAIT" not in alone
    now = made_up.alarm("septic_joint_adult", LEFT, Urgency.NOW)
    both = written(replace(made_up.twisted_knee(), alarms=(now, routine)))
    assert both.index("CANNOT WAIT") < both.index("Left knee, now") < both.index("NOT URGENT, NOT TO BE")
    assert both.index("NOT URGENT, NOT TO BE") < both.index("Right knee, routinely")


@pytest.mark.parametrize("sign", ["leg_length_difference", "heel_height_difference"])
def test_a_difference_told_on_both_sides_is_not_doubled(sign: str) -> None:
    """A right leg that is 1.5 cm longer than the left, which is 1.5 cm shorter: they differ by 1.5 cm."""
    findings = made_up.both(sign, 1.5, -1.5)
    rows = build_letter(
        run_workup(Examination(id="legs", origin=Origin.INVENTED, findings=findings)), written_on=WRITTEN_ON
    ).measurements
    assert [row.difference.split(",")[0] for row in rows] == ["1.5\u00a0cm"]


@pytest.mark.parametrize(
    ("age_years", "words"),
    [(0, "less than a month"), (0.25, "3 months"), (1 / 12, "1 month"), (1, "12 months"), (2, "2 years")],
)
def test_an_age_is_told_as_people_say_it(age_years: float, words: str) -> None:
    """A child of one is not '1 years' old, nor a baby '0.25 years'."""
    child = Examination(id="child", origin=Origin.INVENTED, patient=Patient(age_years=age_years))
    letter = build_letter(made_up.workup(child), written_on=WRITTEN_ON)
    assert letter.patient.replace("\u00a0", " ") == f"Patient, {words}"


def test_a_sound_knee_beside_a_measured_one_is_told() -> None:
    """A Lachman test of 8 mm beside one that was normal, not measured: the letter says that it was normal."""
    findings = (
        made_up.found("lachman", RIGHT, 8.0),
        made_up.found("lachman", LEFT, State.NORMAL),
        made_up.found("effusion", LEFT, State.ABNORMAL),
    )
    workup = run_workup(Examination(id="x", origin=Origin.INVENTED, findings=findings))
    right, left = build_letter(workup, written_on=WRITTEN_ON).knees
    assert (right.normal, left.normal) == ("", "Lachman was normal.")


def test_what_is_normal_on_both_is_told_though_one_side_was_measured() -> None:
    """Zero millimetres on one side and plainly normal on the other are told together."""
    findings = (made_up.found("lachman", RIGHT, 0.0), made_up.found("lachman", LEFT, State.NORMAL))
    workup = run_workup(Examination(id="x", origin=Origin.INVENTED, findings=findings))
    assert build_letter(workup, written_on=WRITTEN_ON).both_normal == "Lachman was normal."


def test_a_girth_is_told_with_where_it_was_measured() -> None:
    """Without its distance from the patella nobody can measure the thigh again; told once it is of both."""

    def named(right: str | None, left: str | None) -> str:
        girths = tuple(
            Finding(sign="thigh_girth", side=side, value=value, unit="cm", method=method)
            for side, value, method in ((RIGHT, 52.0, right), (LEFT, 55.0, left))
        )
        examination = Examination(id="x", origin=Origin.PATIENT, findings=girths)
        (row,) = measurement_rows(gather(examination, (), PROTOCOL))
        return row.name

    assert named(None, None) == "Thigh girth"
    assert named("15 cm above the patella", None) == "Thigh girth, 15 cm above the patella"
    assert named("15 cm above the patella", "15 cm above the patella") == named(
        "15 cm above the patella", None
    )
    assert named("15 cm up", "10 cm up") == "Thigh girth, right 15 cm up, left 10 cm up"
