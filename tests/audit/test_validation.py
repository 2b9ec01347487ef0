import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from fabella.anatomy import Side
from fabella.audit import CaseFinding, PublishedCase, Validation, adapt, judge, packaged_cases, validate_cases
from fabella.audit.collected import collected_cases
from fabella.audit.page import as_markdown, as_tree
from fabella.audit.page_parts import share_words
from fabella.audit.said import diagnosis_words
from fabella.cli.validate import validate
from fabella.errors import FabellaError
from fabella.protocol import load_protocol
from fabella.record import Examination
from fabella.stats import wilson
from fabella.stats.written import percentage
from fabella.workup import (
    ANY_LEVEL,
    Alarm,
    AlarmVerdict,
    Conclusion,
    Fit,
    Grounding,
    KneeConclusion,
    LesionProbability,
    Urgency,
    Workup,
)

PROTOCOL = load_protocol()
PAGE = Path(__file__).parents[2] / "docs" / "validation.md"
NOTHING = Grounding(published=0, derived=0, judgement=0)


def knee(side: Side, lesions: dict[str, float]) -> KneeConclusion:
    """An invented conclusion about one knee."""
    entries = tuple(
        LesionProbability(
            lesion=lesion,
            level=ANY_LEVEL,
            prior=0.1,
            probability=probability,
            low=0,
            high=1,
            reasons_for=(),
            reasons_against=(),
            grounding=NOTHING,
        )
        for lesion, probability in sorted(lesions.items(), key=lambda each: -each[1])
    )
    return KneeConclusion(
        side=side,
        symptomatic=True,
        lesions=entries,
        combinations=(),
        nothing_listed=0,
        guarding=0,
        fit=Fit(p_value=1, poor=False, odd=()),
        findings=(),
        unused=(),
    )


def alarm(urgency: Urgency, verdict: AlarmVerdict = AlarmVerdict.MET) -> Alarm:
    """An invented alarm."""
    return Alarm(
        rule="made_up",
        name="made up",
        side=Side.RIGHT,
        urgency=urgency,
        verdict=verdict,
        met=(),
        unknown=(),
        unmet=(),
        action="",
        source="",
        doi_or_pmid="",
        recalled=False,
        contraindicates=(),
    )


def concluding(
    right: dict[str, float], left: dict[str, float] | None = None, alarms: tuple[Alarm, ...] = ()
) -> Callable[[Examination], Workup]:
    """A chain that concludes the same about everybody."""
    knees = (knee(Side.RIGHT, right), knee(Side.LEFT, left if left is not None else right))

    def run(examination: Examination) -> Workup:
        return Workup(
            examination=examination,
            alarms=alarms,
            graded=(),
            conclusion=Conclusion(edition="made up", knees=knees),
            advice=None,
            failures=(),
            edition="made up",
            version="0",
        )

    return run


def patient(**fields: object) -> PublishedCase:
    """An invented published patient."""
    made = PublishedCase(id="made", source="invented", side="right", primary_diagnosis="acl_tear")
    return replace(made, **fields)  # type: ignore[arg-type]


LIKELY = {"pcl_tear": 0.95, "acl_tear": 0.6, "medial_meniscus_tear": 0.5, "lateral_meniscus_tear": 0.4}


def test_the_rank_and_the_probability_are_those_of_the_diagnosis() -> None:
    """The second likeliest lesion has rank 2, and what stands above it is the highest wrong one."""
    result = judge(adapt(patient(), protocol=PROTOCOL), run=concluding(LIKELY))
    assert (result.rank, result.probability) == (2, 0.6)
    assert [each.lesion for each in result.top] == ["pcl_tear", "acl_tear", "medial_meniscus_tear"]
    assert result.wrong is not None
    assert (result.wrong.lesion, result.is_confidently_wrong) == ("pcl_tear", True)


def test_any_diagnosis_of_the_case_is_not_wrong() -> None:
    """A second diagnosis of the patient is no error, though it does not raise the rank."""
    result = judge(
        adapt(patient(diagnoses=("acl_tear", "pcl_tear")), protocol=PROTOCOL), run=concluding(LIKELY)
    )
    assert result.rank == 2
    assert result.wrong is not None
    assert result.wrong.lesion == "medial_meniscus_tear"


def test_an_accepted_diagnosis_counts_as_right() -> None:
    """What the case accepts instead raises the rank."""
    result = judge(adapt(patient(accept=("pcl_rupture",)), protocol=PROTOCOL), run=concluding(LIKELY))
    assert result.rank == 1


def test_a_generic_diagnosis_is_met_by_either_lesion() -> None:
    """A meniscus tear is right on either side of the knee."""
    result = judge(
        adapt(patient(primary_diagnosis="meniscus_tear"), protocol=PROTOCOL), run=concluding(LIKELY)
    )
    assert (result.expected, result.rank) == (("lateral_meniscus_tear", "medial_meniscus_tear"), 3)


def test_a_diagnosis_outside_the_model_is_said_to_be() -> None:
    """It has no rank, and does not count among those that could have been right."""
    validation = validate_cases(
        [patient(primary_diagnosis="scurvy")], run=concluding(LIKELY), protocol=PROTOCOL
    )
    (result,) = validation.results
    assert (result.rank, result.expected, result.unknown_diagnoses) == (None, (), ("scurvy",))
    assert validation.first.of == 0
    assert share_words(validation.first) == "none to count"
    assert "scurvy (not in the model)" in as_markdown(validation)


def test_diagnoses_stand_there_by_name() -> None:
    """An abbreviation is written out, a person's name has its capital, and a lesion has its own name."""
    assert [diagnosis_words(each) for each in ("pvns", "sufe", "pcl_avulsion_fracture", "acl_tear")] == [
        "pigmented villonodular synovitis",
        "slipped upper femoral epiphysis",
        "posterior cruciate ligament avulsion fracture",
        "anterior cruciate ligament tear",
    ]
    assert diagnosis_words("ruptured_bakers_cyst") == "ruptured Baker's cyst"
    assert diagnosis_words("patellar_clunk_syndrome") == "patellar clunk syndrome"


def test_no_published_diagnosis_is_shown_as_an_abbreviation() -> None:
    """A word without a vowel or of four letters and fewer is one that stands in a dictionary."""
    everyday = "also band body bone cell cyst deep disc fat from gout hip if joint knee Lyme near of or pad"
    anatomy = "pain para pes rim root soft tear the vein"
    short = {*everyday.split(), *anatomy.split()}
    shown = [diagnosis_words(case.primary_diagnosis) for case in (*packaged_cases(), *collected_cases())]
    words = set(re.findall(r"[\w']+", " ".join(shown)))
    assert {word for word in words if len(word) < 5 or not set(word) & set("aeiouy")} <= short


def test_probabilities_are_percentages_that_are_never_certain() -> None:
    """The page says 60% as its totals do, and neither 0 nor 100."""
    validation = validate_cases([patient()], run=concluding(LIKELY), protocol=PROTOCOL)
    assert "posterior cruciate ligament tear 95%; anterior cruciate ligament tear 60%" in as_markdown(
        validation
    )
    assert [percentage(each) for each in (0.0, 0.004, 0.285, 0.995)] == [
        "under 1%",
        "under 1%",
        "28%",
        "over 99%",
    ]


def test_of_two_knees_the_worse_one_is_judged() -> None:
    """When both knees are complained of, the one in which the diagnosis ranks lower counts."""
    run = concluding({"acl_tear": 0.9}, {"pcl_tear": 0.9, "acl_tear": 0.1})
    result = judge(adapt(patient(side="both"), protocol=PROTOCOL), run=run)
    assert (result.side, result.rank) == (Side.LEFT, 2)


@pytest.mark.parametrize(
    ("urgency", "verdict", "false_alarm", "raised"),
    [
        (Urgency.NOW, AlarmVerdict.MET, True, True),
        (Urgency.SAME_DAY, AlarmVerdict.MET, True, True),
        (Urgency.WITHIN_2_WEEKS, AlarmVerdict.MET, False, True),
        (Urgency.ROUTINE_BUT_DO_NOT_MISS, AlarmVerdict.MET, False, False),
        (Urgency.NOW, AlarmVerdict.CANNOT_BE_EXCLUDED, False, False),
    ],
)
def test_alarms_are_counted_by_urgency(
    urgency: Urgency, verdict: AlarmVerdict, false_alarm: bool, raised: bool
) -> None:
    """Only a met alarm for today is false in a harmless knee; any more than routine raises a red flag."""
    run = concluding(LIKELY, alarms=(alarm(urgency, verdict),))
    harmless = validate_cases([patient()], run=run, protocol=PROTOCOL)
    assert (harmless.false_alarms.count, harmless.false_alarms.of) == (int(false_alarm), 1)
    flagged = validate_cases([patient(red_flag=True)], run=run, protocol=PROTOCOL)
    assert (flagged.red_flags_raised.count, flagged.red_flags_raised.of) == (int(raised), 1)
    assert flagged.false_alarms.of == 0
    assert validate_cases([patient(urgent=True)], run=run, protocol=PROTOCOL).false_alarms.of == 0


def test_shares_come_with_the_interval_of_wilson() -> None:
    """Two of three patients right is 67%, with the score interval."""
    cases = [
        patient(id=name, primary_diagnosis=what)
        for name, what in (("a", "pcl_tear"), ("b", "pcl_tear"), ("c", "acl_tear"))
    ]
    validation = validate_cases(cases, run=concluding(LIKELY), protocol=PROTOCOL)
    assert (validation.first.count, validation.first.of) == (2, 3)
    assert validation.first.interval == wilson(successes=2, n=3)
    assert share_words(validation.first) == "2 of 3, 67% (21 to 94)"


def test_a_failure_is_shown_and_stops_nothing() -> None:
    """A case that cannot be worked up has no rank; its failure stands in the table, the others are judged."""
    good = concluding(LIKELY)

    def run(examination: Examination) -> Workup:
        if examination.id == "bad":
            raise FabellaError("no answer")
        return good(examination)

    validation = validate_cases([patient(id="bad"), patient()], run=run, protocol=PROTOCOL)
    assert [result.rank for result in validation.results] == [None, 2]
    assert "no answer" in as_markdown(validation)
    assert validation.top_three.count == 1
    assert validation.top_three.of == 2


def test_no_case_is_refused() -> None:
    """There is nothing to say about no patient."""
    with pytest.raises(FabellaError, match="no case"):
        validate_cases([], run=concluding(LIKELY), protocol=PROTOCOL)


def test_what_was_not_read_stands_in_the_table() -> None:
    """A finding that was not understood is a remark of its case."""
    finding = CaseFinding(sign="frobnication", value="positive")
    validation = validate_cases([patient(findings=(finding,))], run=concluding(LIKELY), protocol=PROTOCOL)
    assert "not read: frobnication positive" in as_markdown(validation)


# ---------------------------------------------------------------- the whole chain on the packaged patients


def test_the_page_is_not_stale(packaged: Validation, collected: Validation) -> None:
    """The page is what `fabella validate --markdown > docs/validation.md` makes today."""
    assert PAGE.read_text(encoding="utf-8") == as_markdown(packaged, collected)


def test_the_command_answers_in_three_ways(tmp_path: Path) -> None:
    """Lines for a terminal, a page and JSON hold every case of a file; two of them at once are refused."""
    app = typer.Typer()
    app.command()(validate)
    row = {
        "id": "X1",
        "source": "invented",
        "side": "right",
        "findings": [{"sign": "lachman", "value": "grade 3"}],
    }
    file = tmp_path / "cases.json"
    file.write_text(json.dumps([row | {"primary_diagnosis": "acl_tear"}]))
    runner = CliRunner()
    table = runner.invoke(app, [str(file)])
    assert table.exit_code == 0
    assert "right lesion first: 1 of 1" in table.output
    page = runner.invoke(app, [str(file), "--markdown"])
    assert "| X1 | anterior cruciate ligament tear | 1 |" in page.output
    tree = json.loads(runner.invoke(app, [str(file), "--json"]).output)
    assert tree["cases"][0]["rank"] == 1
    assert tree["totals"]["right lesion first"]["count"] == 1
    assert runner.invoke(app, ["--json", "--markdown"]).exit_code != 0
    assert runner.invoke(app, [str(file), "--collected"]).exit_code != 0


def test_the_tree_of_the_command_is_plain() -> None:
    """What --json prints holds nothing that JSON has not."""
    validation = validate_cases([patient()], run=concluding(LIKELY), protocol=PROTOCOL)
    assert json.loads(json.dumps(as_tree(validation)))["cases"][0]["highest_wrong"]["lesion"] == "pcl_tear"
