"""What the letter of a later visit says of what has changed, held against the course of the same visits."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from fabella.anatomy import Side, load_lesions
from fabella.errors import InputError
from fabella.follow import ChangeVerdict, Since, follow
from fabella.protocol import load_protocol
from fabella.record import SCORES, Examination, ProcedureName, State, Total, read_examination
from fabella.report import as_text, build_letter, build_summary, letter_document, summary_document
from fabella.report.course_words import CourseWords, course_words
from fabella.report.plain_changes import load_plain_changes
from fabella.report.since_words import MOST_CHANGES, SinceWords
from fabella.workup import run_workup
from tests.follow.notation import (
    EDITION,
    LEFT,
    PROTOCOL,
    RIGHT,
    graded,
    operation,
    read,
    visit,
)
from tests.report.test_summary import HIGHEST_GRADE, HIGHEST_OF_A_PAGE, grade
from tests.test_cli import leave

FOLDER = Path(__file__).parents[2] / "examples" / "follow"
WRITTEN_ON = date(2025, 6, 30)


def of_example(texts: Sequence[str]) -> list[Examination]:
    """The visits of an example."""
    return [read_examination(each, protocol=load_protocol(), today=WRITTEN_ON) for each in texts]


TORN = of_example((FOLDER / "torn_ligament.jsonl").read_text("utf-8").splitlines())
NEW = of_example([each.read_text("utf-8") for each in sorted(FOLDER.glob("new_knee_*.json"))])


def said(now: Examination, *earlier: Examination) -> tuple[SinceWords, ...]:
    """What a letter says of what has changed."""
    return build_letter(run_workup(now), written_on=WRITTEN_ON, earlier=earlier).since


def text_of(now: Examination, *earlier: Examination) -> str:
    """The whole letter on one line."""
    letter = build_letter(run_workup(now), written_on=WRITTEN_ON, earlier=earlier)
    return " ".join(as_text(letter_document(letter, drawn=False)).split())


def page_of(now: Examination, *earlier: Examination) -> str:
    """The patient's page on one line."""
    page = build_summary(run_workup(now), written_on=WRITTEN_ON, earlier=earlier)
    return " ".join(as_text(summary_document(page, drawn=False)).split())


def course_of(*visits: Examination) -> CourseWords:
    """The course of the same visits in words."""
    course = follow(visits, edition=EDITION, protocol=PROTOCOL)
    return course_words(course, protocol=PROTOCOL, lesions=load_lesions(), visits=visits)


def heads(sentences: Sequence[str]) -> set[str]:
    """Whose change each sentence tells, from which value to which."""
    return {each.partition(": ")[0] for each in sentences}


def about(made: Examination, *complaint: Side) -> Examination:
    """The same, as a visit for a complaint of a knee."""
    return replace(made, context=replace(made.context, complaint=complaint))


def test_a_visit_for_the_other_knee_hides_no_change_of_this_one() -> None:
    """Everything is held against the last visit for the same knee, then what is new against the other."""
    total = Total(score="lysholm", value=72, side=RIGHT)
    firm = read("passive_flexion", 130, side=LEFT)
    last = replace(
        about(visit(4, read("thigh_girth", 46, unit="cm", method="tape"), firm), RIGHT), totals=(total,)
    )
    other = about(
        visit(6, read("passive_flexion", 110, side=LEFT), graded("mcmurray", State.ABNORMAL, side=LEFT)), LEFT
    )
    now = about(visit(12, read("thigh_girth", 48.5, unit="cm", method="tape"), firm), RIGHT)
    now = replace(now, totals=(replace(total, value=85),))
    since, meanwhile = said(now, last, other)
    assert (since.since, meanwhile.since) == (Since.LAST, Since.MEANWHILE)
    girth, score = since.better
    assert girth.startswith("Thigh girth on the right 46 → 48.5 cm: a true gain")
    assert score.startswith("Lysholm score, right knee, 72 → 85 points: a true gain")
    (bends,) = meanwhile.better
    assert bends.startswith("Passive flexion of the left knee 110 → 130 degrees: a true gain")
    assert meanwhile.not_again == "McMurray test of the left knee."
    assert meanwhile.unchanged == meanwhile.regraded == meanwhile.unjudged == ""
    text = text_of(now, last, other)
    assert text.index("SINCE 3 FEBRUARY 2025") < text.index("SINCE 17 FEBRUARY 2025") < text.index("FINDINGS")
    assert text.count("Each is judged by itself") == 1


@pytest.mark.parametrize("visits", [TORN, NEW])
@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_letter_calls_a_change_what_the_course_calls_so_and_nothing_else(
    visits: list[Examination], number: int
) -> None:
    """Every true change of the course of both visits, by the same values, and no other, is told as one."""
    now, earlier = visits[number], visits[:number]
    for each in said(now, *earlier):
        then = next(one for one in earlier if one.examined_on == each.day)
        course = course_of(then, now)
        totals = [words for words in course.totals if "a true gain" in words]
        better, told = heads([*course.better, *totals]), heads(each.better)
        left = int(re.match(r"\d+|", each.more).group() or 0)  # type: ignore[union-attr]
        assert told <= better
        assert len(told) + left == len(better)
        assert heads(each.worse) == heads(course.worse)
        letter = text_of(now, *earlier)
        assert all(words in letter for words in (*each.better, *each.worse))


def test_a_letter_of_a_first_visit_is_what_it_was() -> None:
    """Without earlier visits nothing is said of them, and nothing is empty."""
    for writer in (text_of, page_of):
        assert "SINCE" not in writer(NEW[3])
    assert said(NEW[3]) == ()


def test_the_figures_of_a_year_after_a_new_knee() -> None:
    """The letter tells two months and a year: what was gained since the visit before, and the operation."""
    # The values stand in the example; 10 degrees Hancock 2018, 5.4 degrees J Knee Surg 2024: docs/follow.md.
    letter = text_of(NEW[3], *NEW[:3])
    assert "SINCE 1 APRIL 2024 Better: " in letter
    assert (
        "Passive flexion of the right knee 96 → 118 degrees: a true gain (beyond 10 degrees); difference to "
        "the left −36 → −12 degrees."
    ) in letter
    assert "effusion of the right knee small → none: within what examiners differ by." in letter
    before = letter[
        letter.index("SINCE 15 JANUARY 2024 That was before the operation.") : letter.index("FINDINGS")
    ]
    assert "Passive extension of the right knee 10 → 1 degrees short of straight: a true gain" in before
    assert "Passive flexion" not in before
    assert 1 == letter.count("of twenty readings of a knee that has not changed")


def test_what_is_worse_comes_first() -> None:
    """Six weeks after the operation the thigh has wasted, and the letter begins with that."""
    letter = text_of(TORN[2], *TORN[:2])
    assert letter.index("Worse: Thigh girth on the right 47.5 → 45.5 cm") < letter.index("Better: Lachman")


def test_a_grade_within_what_examiners_differ_by_is_no_change() -> None:
    """McMurray positive and then negative is told, and not as better."""
    # kappa 0.16, docs/follow.md
    (since,) = said(
        visit(6, graded("mcmurray", State.NORMAL), graded("lachman", "2+")),
        visit(0, graded("mcmurray", State.ABNORMAL), graded("lachman", "2+")),
    )
    assert (since.better, since.worse, since.changed) == ((), (), ())
    assert since.regraded == (
        "McMurray test of the right knee positive → negative: within what examiners differ by."
    )
    assert since.unchanged == "As before: Lachman test of the right knee 2+."
    assert since.more == "No true change in what was looked at both times."


def test_three_grades_are_a_change_and_no_brackets_of_sources() -> None:
    """Effusion large and then none: the letter says by how many grades, and how often chance does that."""
    (since,) = said(visit(6, graded("effusion", "none")), visit(0, graded("effusion", "large")))
    (told,) = since.better
    assert told.startswith("Effusion of the right knee large → none: a true improvement by three grades (")
    assert "published" not in told


def test_the_unchanged_are_named_together_and_normal_signs_counted() -> None:
    """Both knees of a measurement are one thing; what was normal both times is a number."""
    findings = [read("passive_flexion", 130, side=side) for side in (RIGHT, LEFT)]
    normal = [graded(sign, State.NORMAL) for sign in ("lachman", "pivot_shift")]
    now = [read("passive_flexion", 132, side=side) for side in (RIGHT, LEFT)]
    (since,) = said(visit(6, *now, *normal), visit(0, *findings, *normal))
    assert since.unchanged == (
        "Passive flexion of both knees: within measurement error. 2 signs were normal both times."
    )
    (once,) = said(visit(6, normal[0]), visit(0, normal[0]))
    assert once.unchanged == "1 sign was normal both times."


def test_what_cannot_be_judged_says_why_and_a_calf_does_not_say_which_way() -> None:
    """Two tools and a sign not testable have their reasons; a calf has changed, for better or worse."""
    (since,) = said(
        visit(
            6,
            read("lachman", 3, unit="mm", method="arthrometer"),
            graded("pivot_shift", "none"),
            read("calf_girth", 40, unit="cm"),
        ),
        visit(
            0,
            read("lachman", 12, unit="mm", method="by hand"),
            graded("pivot_shift", State.UNTESTABLE),
            read("calf_girth", 36, unit="cm"),
        ),
    )
    assert "no source has compared the two methods" in since.unjudged
    assert (
        "Pivot shift of the right knee not testable → none: it could not be tested at one" in since.unjudged
    )
    (calf,) = since.changed
    assert calf.startswith("Calf girth on the right 36 → 40 cm: truly changed (beyond ")
    assert (since.better, since.worse) == ((), ())


def test_what_was_abnormal_and_was_not_looked_at_again_is_named() -> None:
    """What was normal, or was measured since instead of graded, is not."""
    then = [graded("effusion", "large"), graded("pivot_shift", "none"), graded("lachman", "2+")]
    (since,) = said(visit(6, read("lachman", 5, unit="mm"), graded("warmth", "none")), visit(0, *then))
    assert since.not_again == "Effusion of the right knee large."
    assert since.more == "Nothing was looked at both times."


def test_no_more_is_told_than_a_letter_can_bear() -> None:
    """Of many true changes the first few, what is worse before all, and how many there are more."""
    signs = (
        "effusion",
        "lachman",
        "valgus_stress_30",
        "posterior_drawer",
        "anterior_drawer",
        "varus_stress_30",
    )
    last = {sign: PROTOCOL.sign(sign).scale.levels[-1].id for sign in signs}
    first = {sign: PROTOCOL.sign(sign).scale.levels[0].id for sign in signs}
    now = [*(graded(sign, level) for sign, level in first.items()), graded("valgus_stress_0", "3+")]
    then = [*(graded(sign, level) for sign, level in last.items()), graded("valgus_stress_0", "0")]
    (since,) = said(visit(6, *now), visit(0, *then))
    assert len(since.worse) + len(since.better) == MOST_CHANGES
    assert 1 == len(since.worse)
    assert since.more == "2 more true changes are in the course."


@pytest.mark.parametrize(
    ("earlier", "status", "why"),
    [
        ("torn_ligament.jsonl", 1, "not one patient"),
        ("new_knee_4_one_year.json", 1, "is not earlier than"),
        ("none.json", 2, "there is no such file"),
    ],
)
def test_the_command_refuses_what_is_no_earlier_visit(
    earlier: str, status: int, why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is written, and what is wrong is said."""
    code, out, err = leave(
        capsys, "letter", str(FOLDER / "new_knee_3_eight_weeks.json"), "--earlier", str(FOLDER / earlier)
    )
    assert (code, out) == (status, "")
    assert why in " ".join(err.split())


def test_the_command_takes_earlier_visits_in_every_form(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Text, patient's page, data and FHIR say it; several files and one of many lines come to the same."""
    files = [str(each) for each in sorted(FOLDER.glob("new_knee_*.json"))]
    one_by_one = [part for each in files[:3] for part in ("--earlier", each)]
    lines = tmp_path / "earlier.jsonl"
    lines.write_text("".join(f"{json.dumps(json.loads(Path(each).read_text()))}\n" for each in files[:3]))
    _, text, _ = leave(capsys, "letter", files[3], *one_by_one, "--date", "2025-02-03")
    _, again, _ = leave(capsys, "letter", files[3], "--earlier", str(lines), "--date", "2025-02-03")
    assert text == again
    assert "SINCE 15 JANUARY 2024\nThat was before the operation.\n" in text
    _, page, _ = leave(capsys, "letter", "--patient", files[3], *one_by_one)
    assert "Your right knee bends further." in " ".join(page.split())
    _, data, _ = leave(capsys, "letter", files[3], *one_by_one, "--json")
    assert ["2024-04-01", "2024-01-15"] == [each["day"] for each in json.loads(data)["since"]]
    _, document, _ = leave(capsys, "fhir", files[3], *one_by_one)
    composition = json.loads(document)["entry"][0]["resource"]
    coded = [each for each in composition["section"] if each["title"].startswith("Since")]
    assert ["section_since", "section_beginning"] == [
        each["code"]["coding"][0]["code"].replace("-", "_") for each in coded
    ]
    assert "96 → 118 degrees" in coded[0]["text"]["div"]


def test_a_patient_is_told_of_true_changes_in_plain_words() -> None:
    """No more than three, what is worse first, and nothing of what is within error."""
    page = page_of(TORN[2], *TORN[:2])
    assert (
        "SINCE WE SAW YOU ON 8 APRIL 2024 That was before your operation. The muscle of your right thigh has "
        "got thinner. Your right knee feels firmer. By your answers, your right knee troubles you less. "
    ) in page
    same = [graded("effusion", "small"), read("passive_flexion", 120)]
    assert "SINCE" not in page_of(visit(6, *same), visit(0, graded("effusion", "none"), *same[1:]))


def test_a_patient_is_not_told_what_two_signs_of_one_thing_dispute() -> None:
    """Further by the hand and less far by their own strength: that is for the talk."""
    then = [read("passive_flexion", 90), read("active_flexion", 120)]
    now = [read("passive_flexion", 130), read("active_flexion", 80)]
    assert "bends" not in page_of(visit(6, *now), visit(0, *then)).partition("SINCE")[2]


def test_a_total_within_what_patients_notice_is_not_told_to_a_patient() -> None:
    """Five points of the Oxford Knee Score are more than its error, and fewer than patients notice."""
    # Beard 2015: 4 points of error, 7 noticed.
    done = operation(ProcedureName.TOTAL_KNEE_REPLACEMENT)
    few, many = (
        page_of(
            visit(26, totals=(Total(score="oks", value=17 + gain, side=RIGHT),), procedure=done),
            visit(8, totals=(Total(score="oks", value=17, side=RIGHT),), procedure=done),
        )
        for gain in (5, 20)
    )
    assert "By your answers" not in few
    assert "By your answers, your right knee troubles you less." in many


def test_each_plain_change_can_be_read_at_twelve_and_is_of_something_that_exists() -> None:
    """Sentence by sentence at or below grade 7, the page at or below 4; every sign and score is known."""
    told = load_plain_changes()
    known = {each.id for each in PROTOCOL.signs} | set(SCORES)
    assert set(told) <= known
    for plain in told.values():
        for verdict in (ChangeVerdict.TRUE_CHANGE_BETTER, ChangeVerdict.TRUE_CHANGE_WORSE):
            assert grade(plain.words(verdict).format(side="right")) <= HIGHEST_GRADE
    for visits in (TORN, NEW):
        for number in (1, 2, 3):
            page = build_summary(run_workup(visits[number]), written_on=WRITTEN_ON, earlier=visits[:number])
            prose = " ".join(
                text
                for section in summary_document(page, drawn=False).sections
                for block in section.blocks
                for text in getattr(block, "texts", None) or (block.text,)  # type: ignore[union-attr]
            )
            assert grade(prose) <= HIGHEST_OF_A_PAGE


def test_a_letter_with_an_earlier_visit_of_another_patient_is_refused() -> None:
    """In the library as at the command line, for the letter and the patient's page."""
    other = replace(TORN[0], examined_on=date(2023, 1, 1))
    for build in (build_letter, build_summary):
        with pytest.raises(InputError, match="not one patient"):
            build(run_workup(NEW[1]), written_on=WRITTEN_ON, earlier=[other])
