"""Decisions: every rule by itself, reproducible to the byte, with methods and rules held side by side."""

import json
from dataclasses import replace
from itertools import permutations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.assess import (
    Blueprint,
    Bounds,
    CutMethod,
    ErrorOf,
    Estimates,
    Item,
    Outcome,
    Reason,
    Results,
    Rounding,
    Rules,
    Station,
    StationsRule,
    alpha,
    analyse,
    compare,
    cut_noise,
    decide,
    fit_line,
    is_repeated,
    read_blueprint,
    read_marks,
    read_rules,
    resample,
    review_list,
    rule_effects,
    score,
    space_grades,
    write_marks,
    write_results,
    write_rules,
)
from fabella.errors import InputError
from tests.assess.made import made_blueprint, made_marks, made_rows, read_rows

MARKS = made_marks(stations=6, items=8, candidates=80, circuits=2, seed=3)
CODES = MARKS.blueprint.station_codes
FEW: dict[str, Any] = {"resamples": 200}
FROZEN = Path(__file__).parent / "frozen"
JUDGES = Estimates(
    judges=("a", "b", "c"),
    items=CODES,
    share=((0.5,) * 6, (0.6,) * 6, (0.55,) * 6),
    max_mark=(1.0,) * 6,
)
BOUNDS = (Bounds(lowest_cut=40, highest_cut=65, least_fails=0.05, most_fails=0.3),)


def outcomes(results: Results) -> list[Outcome]:
    """Return the outcomes in the order of the marks."""
    return [decision.outcome for decision in results.decisions]


def test_the_pass_mark_is_the_mean_of_the_stations_lines() -> None:
    """Cuts of stations are those of their lines, the exam's their mean; who is below fails, others pass."""
    results = decide(MARKS, Rules(**FEW))
    scores = score(MARKS)
    for s in range(6):
        here = MARKS.station == s
        line = fit_line(
            scores.of_sheet[here], MARKS.grade[here], borderline=1, values=MARKS.blueprint.grades.values
        )
        assert results.pass_mark.station_cuts[s] == line.cut.estimate
    cut = np.mean(results.pass_mark.station_cuts)
    assert results.pass_mark.cut.estimate == pytest.approx(cut)
    for decision, total in zip(results.decisions, scores.total, strict=True):
        assert (decision.outcome is Outcome.PASS) == (total >= cut)
        assert decision.margin == pytest.approx(total - cut, abs=2e-6)
    assert results.sem == pytest.approx(alpha(scores.station).sem, abs=1e-6)
    assert results.se_decision == pytest.approx(np.hypot(results.sem, results.pass_mark.se))


def test_the_same_input_gives_the_same_bytes() -> None:
    """From frozen marks and rules, read again in another order of rows, come the same bytes of results."""
    rules = Rules(stations=StationsRule.PREDICTED, sem_multiple=1, most_critical_failed=2, **FEW)
    text = write_results(decide(MARKS, rules))
    header, *rows = write_marks(MARKS).rstrip("\n").split("\n")
    again = read_marks("\n".join([header, *reversed(rows), ""]), blueprint=MARKS.blueprint)
    assert write_results(decide(again, read_rules(write_rules(rules)))) == text


def test_results_that_another_program_would_repeat_are_told_from_others() -> None:
    """The last of six digits, and what is told beyond, are the same results; a hair more is not."""
    kept = write_results(decide(MARKS, Rules(**FEW)))
    tree = json.loads(kept)
    assert is_repeated(kept, kept)
    first = tree["decisions"][0]
    for name, value, same in (
        ("total", first["total"] + 2e-6, True),
        ("total", first["total"] + 2e-5, False),
        ("total", None, False),
        ("outcome", "insufficient_evidence", False),
        ("review", not first["review"], False),
        ("of_a_later_version", 7, True),
    ):
        again = {**tree, "decisions": [{**first, name: value}, *tree["decisions"][1:]]}
        assert is_repeated(kept, json.dumps(again)) is same, (name, value)
    assert not is_repeated(kept, json.dumps({**tree, "decisions": tree["decisions"][1:]}))
    assert not is_repeated(kept, json.dumps({name: each for name, each in tree.items() if name != "sem"}))


def test_a_frozen_exam_gives_the_results_it_gave() -> None:
    """The frozen marks, blueprint and rules of an exam give, byte for byte, the results that were frozen.

    Source: regression; the results are those of this program's first version and must never change.
    """
    blueprint, rules, results = (
        (FROZEN / name).read_text(encoding="utf-8")
        for name in ("blueprint.json", "rules.json", "results.json")
    )
    marks = read_marks((FROZEN / "marks.csv").read_bytes(), blueprint=read_blueprint(blueprint))
    assert write_results(decide(marks, read_rules(rules))) == results


def test_the_allowance_for_error_is_added_as_declared() -> None:
    """With k SEM the pass mark rises by k SEM, and only those below it fail more."""
    plain, strict = decide(MARKS, Rules(**FEW)), decide(MARKS, Rules(sem_multiple=1.65, **FEW))
    for one, other in zip(plain.decisions, strict.decisions, strict=True):
        assert other.pass_mark == pytest.approx(one.cut + 1.65 * plain.sem, abs=2e-6)
        assert not (one.outcome is Outcome.FAIL and other.outcome is Outcome.PASS)
    given_sem = decide(MARKS, Rules(sem_multiple=1, sem=2.5, **FEW))
    assert given_sem.decisions[0].pass_mark == pytest.approx(plain.decisions[0].cut + 2.5)


@pytest.mark.parametrize(("stations", "candidates"), [(1, 40), (3, 1)])
def test_an_allowance_that_cannot_be_worked_out_passes_nobody(stations: int, candidates: int) -> None:
    """One station or candidate gives no error of measurement: to add it is refused unless it is given."""
    blueprint = made_blueprint(stations=stations, items=4)
    marks = read_rows(made_rows(blueprint, candidates=candidates, circuits=1, seed=6), blueprint)
    fixed: dict[str, Any] = {"method": CutMethod.FIXED, "fixed_cut": 50.0, **FEW}
    with pytest.raises(InputError, match="standard error of measurement: cannot be worked out"):
        decide(marks, Rules(sem_multiple=1, **fixed))
    given_sem = decide(marks, Rules(sem_multiple=1, sem=4, **fixed))
    assert {each.pass_mark for each in given_sem.decisions} == {54}
    for each in (*given_sem.decisions, *decide(marks, Rules(**fixed)).decisions):
        assert (each.outcome is Outcome.PASS) == (each.total >= each.pass_mark)


def test_the_number_of_stations_is_predicted_at_the_pass_mark() -> None:
    """The need is the line of stations passed on total at the cut, by numpy's fit, rounded as declared."""
    scores, base = score(MARKS), decide(MARKS, Rules(**FEW))
    passed = (scores.station >= np.array(base.pass_mark.station_cuts)).sum(axis=1)
    slope, intercept = np.polyfit(scores.total, passed, 1)
    predicted = intercept + slope * base.pass_mark.cut.estimate
    for rounding, needed in (
        (Rounding.DOWN, np.floor(predicted)),
        (Rounding.NEAREST, np.floor(predicted + 0.5)),
        (Rounding.UP, np.ceil(predicted)),
    ):
        results = decide(MARKS, Rules(stations=StationsRule.PREDICTED, rounding=rounding, **FEW))
        assert results.predicted_stations == pytest.approx(predicted)
        assert {d.stations_needed for d in results.decisions} == {int(needed)}
        for decision, count in zip(results.decisions, passed, strict=True):
            assert (Reason.TOO_FEW_PASSED in decision.reasons) == (count < needed)


def test_equal_totals_predict_no_number_of_stations() -> None:
    """Totals that differ by the rounding of sums alone have no line to predict by: nothing is asked for."""
    codes = ("A", "B", "C", "D")
    blueprint = Blueprint(
        stations=tuple(Station(code=code, items=(Item(code="x", max_mark=7),)) for code in codes)
    )
    rows = [
        f"C{n:02},1,{code},E,x,{mark},1"
        for n, order in enumerate(permutations((1, 2, 4, 6)))
        for code, mark in zip(codes, order, strict=True)
    ]
    judges = Estimates(judges=("a", "b"), items=codes, share=((0.2, 0.5, 0.8, 0.3),) * 2, max_mark=(1.0,) * 4)
    rules = Rules(method=CutMethod.ANGOFF, estimates=(judges,), stations=StationsRule.PREDICTED, **FEW)
    marks = read_rows(rows, blueprint)
    assert np.ptp(score(marks).total) > 0
    results = decide(marks, rules)
    assert np.isnan(results.predicted_stations)
    assert {each.stations_needed for each in results.decisions} == {0}
    by_stations = cut_noise(marks, results).failing_by_stations
    assert by_stations is not None
    assert (by_stations.low, by_stations.high) == (0, 0)


def test_each_rule_fails_its_own_and_they_are_told_apart() -> None:
    """Failures by a rule hold those by it alone; whoever fails, fails by some rule."""
    rules = Rules(stations=StationsRule.FIXED, stations_needed=4, most_critical_failed=1, **FEW)
    results = decide(MARKS, rules)
    effects = rule_effects(results)
    failing = {d.candidate for d in results.decisions if d.outcome is Outcome.FAIL}
    assert failing == set().union(*(effect.by for effect in effects))
    for effect in effects:
        others = set().union(*(other.by for other in effects if other is not effect))
        assert set(effect.alone) == set(effect.by) - others
        assert effect.by
    critical = {
        d.candidate
        for d, count in zip(results.decisions, score(MARKS).critical_failed.sum(axis=1), strict=True)
        if count > 1
    }
    assert {d.candidate for d in results.decisions if Reason.CRITICAL in d.reasons} == critical


def test_too_little_evidence_never_fails() -> None:
    """One who missed more than a fifth of the stations has insufficient evidence, whatever the marks show."""
    blueprint = made_blueprint(stations=6, items=4)
    rows = made_rows(blueprint, candidates=40, circuits=1, seed=4)
    absent = {f"C0001,A,{code}" for code in blueprint.station_codes[:2]}
    rows = [
        ",".join([*row.split(",")[:5], "absent", "absent"]) if row[:11] in absent else row for row in rows
    ]
    results = decide(read_rows(rows, blueprint), Rules(sem_multiple=5, sem=20, **FEW))
    first = results.decisions[0]
    assert first.outcome is Outcome.INSUFFICIENT
    assert first.missing_stations == blueprint.station_codes[:2]
    assert Reason.TOO_FEW_TAKEN in first.reasons
    assert outcomes(results)[1:].count(Outcome.FAIL) == 39
    assert all(first.candidate not in effect.by for effect in rule_effects(results))
    lenient = decide(read_rows(rows, blueprint), Rules(least_stations=0.5, **FEW))
    expected = np.mean(np.array(lenient.pass_mark.station_cuts)[2:])
    assert lenient.decisions[0].cut == pytest.approx(expected, abs=1e-6)
    assert lenient.decisions[0].outcome is not Outcome.INSUFFICIENT


def test_who_took_no_station_never_passes() -> None:
    """One who was absent all day is not decided about, even where rules ask for no share of the stations."""
    blueprint = made_blueprint(stations=3, items=4)
    rows = made_rows(blueprint, candidates=30, circuits=1, seed=4)
    rows = [
        ",".join([*row.split(",")[:5], "absent", "absent"]) if row.startswith("C0001,") else row
        for row in rows
    ]
    first = decide(read_rows(rows, blueprint), Rules(least_stations=0, **FEW)).decisions[0]
    assert first.outcome is Outcome.INSUFFICIENT
    assert first.reasons == (Reason.TOO_FEW_TAKEN,)


def test_a_void_station_takes_its_cut_along() -> None:
    """A circuit without a station is held against the cuts of the others, and nobody lacks evidence."""
    blueprint = made_blueprint(stations=4, items=4)
    rows = made_rows(blueprint, candidates=40, circuits=2, seed=5)
    void = [
        ",".join([*row.split(",")[:5], "station_void", "station_void"]) if ",A,S02," in row else row
        for row in rows
    ]
    results = decide(read_rows(void, blueprint), Rules(**FEW))
    cuts = np.array(results.pass_mark.station_cuts)
    assert Outcome.INSUFFICIENT not in outcomes(results)
    for p, decision in enumerate(results.decisions):
        own = cuts[[0, 2, 3]].mean() if p % 2 == 0 else cuts.mean()
        assert decision.cut == pytest.approx(own, abs=1e-6)


@pytest.mark.parametrize("method", list(CutMethod))
def test_a_void_station_leaves_the_pass_mark_though_somebody_was_absent(method: CutMethod) -> None:
    """Void for all who were there, a station counts in no pass mark: it is that of an exam without it."""
    blueprint = made_blueprint(stations=6, items=4)
    rows = [
        ",".join([*row.split(",")[:5], "absent", "absent"]) if row.startswith("C0001,") else row
        for row in made_rows(blueprint, candidates=80, circuits=1, seed=5)
    ]
    void = [
        ",".join([*row.split(",")[:5], "station_void", "station_void"])
        if ",S02," in row and "absent" not in row
        else row
        for row in rows
    ]
    judges = Estimates(
        judges=("a", "b", "c"),
        items=CODES,
        share=tuple((0.5, level, 0.6, 0.5, 0.4, 0.5) for level in (0.9, 0.8, 0.7)),
        max_mark=(1.0,) * 6,
    )
    others = [s for s in range(6) if s != 1]
    kept = replace(blueprint, stations=tuple(blueprint.stations[s] for s in others))
    of_kept = replace(
        judges,
        items=tuple(CODES[s] for s in others),
        share=tuple(tuple(row[s] for s in others) for row in judges.share),
        max_mark=(1.0,) * 5,
    )
    rules = Rules(method=method, estimates=(judges,), bounds=BOUNDS, fixed_cut=50, **FEW)
    found = decide(read_rows(void, blueprint), rules)
    without = decide(
        read_rows([row for row in rows if ",S02," not in row], kept), replace(rules, estimates=(of_kept,))
    )
    assert found.pass_mark.cut.estimate == pytest.approx(without.pass_mark.cut.estimate)
    assert outcomes(found) == outcomes(without)
    assert [each.pass_mark for each in found.decisions] == pytest.approx(
        [each.pass_mark for each in without.decisions], nan_ok=True
    )


def test_every_method_gives_a_pass_mark_and_its_consequences() -> None:
    """All methods run on the same marks; each tells whom it would fail and pass unlike the first."""
    rules = [
        Rules(method=method, bounds=BOUNDS, estimates=(JUDGES,), fixed_cut=50, **FEW) for method in CutMethod
    ]
    compared = compare(MARKS, rules)
    assert not any(each.refusal for each in compared)
    first = compared[0]
    assert first.results is not None
    for each in compared:
        assert each.results is not None
        cut = each.results.pass_mark.cut.estimate
        assert 20 < cut < 90
        passing = {d.candidate for d in each.results.decisions if d.outcome is Outcome.PASS}
        before = {d.candidate for d in first.results.decisions if d.outcome is Outcome.PASS}
        assert set(each.newly_failed) == before - passing
        assert set(each.newly_passed) == passing - before
        assert each.pass_rate == pytest.approx(len(passing) / 80)
    by_method = {each.method: each.results for each in compared if each.results}
    assert by_method[CutMethod.FIXED].pass_mark.cut.estimate == 50
    assert by_method[CutMethod.ANGOFF].pass_mark.cut.estimate == pytest.approx(55)
    assert by_method[CutMethod.ANGOFF].pass_mark.se == pytest.approx(5 / np.sqrt(3))


def test_judges_may_estimate_items_instead_of_stations() -> None:
    """Estimates of all items, weighed by their marks, give the same cut as those of stations."""
    names = tuple(f"{s.code}/{i.code}" for s in MARKS.blueprint.stations for i in s.items)
    items = Estimates(
        judges=("a", "b", "c"),
        items=names,
        share=tuple(tuple([level] * len(names)) for level in (0.5, 0.6, 0.55)),
        max_mark=(2.0,) * len(names),
    )
    results = decide(MARKS, Rules(method=CutMethod.ANGOFF, estimates=(items,), **FEW))
    assert results.pass_mark.cut.estimate == pytest.approx(55)
    wrong = Estimates(
        judges=("a", "b"), items=("S01", "S09"), share=((0.5, 0.5), (0.5, 0.5)), max_mark=(1.0, 1.0)
    )
    with pytest.raises(InputError, match="S02, S03, S04, S05, S06' are not estimated"):
        decide(MARKS, Rules(method=CutMethod.ANGOFF, estimates=(wrong,), **FEW))


def test_a_method_without_a_cut_refuses_by_station() -> None:
    """Where nobody is graded borderline the borderline group gives no cut, and the station is named."""
    blueprint = made_blueprint(stations=2, items=4)
    rows = [
        row[:-1] + "3" if ",S02," in row and row.endswith(",1") else row
        for row in made_rows(blueprint, candidates=40, circuits=1)
    ]
    marks = read_rows(rows, blueprint)
    with pytest.raises(InputError, match="station S02: gets no pass mark by borderline group mean"):
        decide(marks, Rules(method=CutMethod.BORDERLINE_GROUP_MEAN, **FEW))
    refused = compare(marks, [Rules(method=CutMethod.BORDERLINE_GROUP_MEAN, **FEW)])[0]
    assert refused.results is None
    assert "station S02" in refused.refusal


@pytest.mark.parametrize(
    ("method", "grades", "marks", "says"),
    [
        (CutMethod.BORDERLINE_GROUP_MEAN, "2302", "1212", "none of 4 sheets is graded 'borderline'"),
        (CutMethod.BORDERLINE_GROUP_MEAN, "2222", "1212", "all 4 sheets are graded 'pass'"),
        (CutMethod.BORDERLINE_REGRESSION, "1xxx", "1212", "1 sheet has both a score and a grade"),
        (
            CutMethod.CONTRASTING_LOGISTIC,
            "2321",
            "1212",
            "above 'borderline': 3, at it or below: 1, and either side needs two",
        ),
        (CutMethod.CONTRASTING_LEAST_LOSS, "2211", "2212", "one side of 'borderline' have the same score"),
        (CutMethod.CONTRASTING_INTERSECTION, "2211", "0121", "are not parted from the others'"),
    ],
)
def test_why_there_is_no_pass_mark_is_said_as_it_is(
    method: CutMethod, grades: str, marks: str, says: str
) -> None:
    """Whatever was wanting, the station had been called one of too few grades, to be declared void."""
    blueprint = made_blueprint(stations=1, items=1)
    rows = [
        f"C{p},A,S01,E1,I01,{mark},{'not_observed' if grade == 'x' else grade}"
        for p, (grade, mark) in enumerate(zip(grades, marks, strict=True))
    ]
    with pytest.raises(InputError) as refused:
        decide(read_rows(rows, blueprint), Rules(method=method, **FEW))
    assert says in str(refused.value)
    assert "choose another method" in str(refused.value)
    assert ("void" in str(refused.value)) == ("both a score" in says)


@pytest.mark.parametrize("method", [CutMethod.COHEN, CutMethod.HOFSTEE])
def test_who_is_not_decided_about_moves_no_pass_mark_of_the_cohort(method: CutMethod) -> None:
    """Full marks at the one station that somebody took are no place among the best of the whole exam."""
    blueprint = made_blueprint(stations=5, items=4)
    rows = made_rows(blueprint, candidates=20, circuits=1)
    fleeting = [
        f"X1,A,{row.split(',')[2]},{row.split(',')[3]},{row.split(',')[4]},"
        + ("2,4" if ",S01," in row else "absent,absent")
        for row in rows
        if row.startswith("C0001")
    ]
    rules = Rules(method=method, bounds=BOUNDS, **FEW)
    without, beside = (decide(read_rows(each, blueprint), rules) for each in (rows, [*rows, *fleeting]))
    assert beside.pass_mark.cut.estimate == without.pass_mark.cut.estimate
    assert beside.pass_mark.cohort is not None
    assert beside.pass_mark.cohort.n == 20
    (undecided,) = [each for each in beside.decisions if each.candidate == "X1"]
    assert (undecided.outcome, undecided.total) == (Outcome.INSUFFICIENT, 100)
    analysed = analyse(read_rows([*rows, *fleeting], blueprint), rules)
    assert (analysed.decided.n, analysed.decided.dropped) == (20, 1)


def test_one_grade_for_everybody_is_named_as_the_reason() -> None:
    """A station whose sheets all have one grade has no line, and the refusal says so instead of too few."""
    blueprint = made_blueprint(stations=2, items=4)
    rows = [
        row[:-1] + "2" if ",S02," in row else row for row in made_rows(blueprint, candidates=40, circuits=1)
    ]
    with pytest.raises(InputError, match="all 40 sheets are graded 'pass', which tells no borderline"):
        decide(read_rows(rows, blueprint), Rules(**FEW))


def test_the_error_of_the_pass_mark_moves_those_near_it() -> None:
    """At the pass mark about half of the resampled cuts pass a candidate, far from it all or none do."""
    results = decide(MARKS, Rules(resamples=1000))
    noise = cut_noise(MARKS, results)
    margins = np.array([d.margin for d in results.decisions]) / results.pass_mark.se
    assert (noise.share_passing[margins > 4] == 1).all()
    assert (noise.share_passing[margins < -4] == 0).all()
    near = np.abs(margins) < 1.5
    assert near.any()
    assert ((noise.share_passing[near] > 0) & (noise.share_passing[near] < 1)).all()
    failing = np.mean([d.outcome is Outcome.FAIL for d in results.decisions])
    assert noise.failing.low <= failing == noise.failing.estimate <= noise.failing.high


@pytest.mark.parametrize("method", [CutMethod.BORDERLINE_REGRESSION, CutMethod.COHEN, CutMethod.FIXED])
def test_an_exam_of_one_station_has_its_pass_mark_moved_too(method: CutMethod) -> None:
    """Without an error of measurement resampled pass marks part those far above from those far below."""
    blueprint = made_blueprint(stations=1, items=12)
    marks = read_rows(made_rows(blueprint, candidates=60, circuits=1, seed=2), blueprint)
    results = decide(marks, Rules(method=method, fixed_cut=50, **FEW))
    noise = cut_noise(marks, results)
    assert 0 < noise.failing.low <= noise.failing.estimate <= noise.failing.high < 1
    margins = np.array([each.margin for each in results.decisions])
    assert noise.share_passing[np.argmax(margins)] == 1
    assert noise.share_passing[np.argmin(margins)] == 0


def test_the_review_list_holds_those_within_the_error() -> None:
    """Everyone within one SEM of the pass mark is reviewed, nearest first, and nobody else."""
    results = decide(MARKS, Rules(**FEW))
    listed = review_list(results, cut_noise(MARKS, results))
    expected = {d.candidate for d in results.decisions if abs(d.margin) <= results.sem}
    assert {each.decision.candidate for each in listed} == expected
    assert [abs(each.sems) for each in listed] == sorted(abs(each.sems) for each in listed)
    assert 0 < len(expected) < 80


@given(st.floats(0.1, 1), st.integers(0, 3), st.sampled_from(list(Rounding)))
@settings(max_examples=20)
def test_rules_survive_writing(share: float, most: int, rounding: Rounding) -> None:
    """Rules written and read again are the same rules."""
    rules = Rules(
        cohen_share=share,
        most_critical_failed=most,
        rounding=rounding,
        bounds=BOUNDS,
        estimates=(JUDGES,),
        stations=StationsRule.FIXED,
        stations_needed=most,
    )
    assert read_rules(write_rules(rules)) == rules
    assert write_rules(read_rules(write_rules(rules))) == write_rules(rules)


def test_rules_of_the_first_format_are_what_they_were() -> None:
    """Rules kept before one item was always filled in do not fill it in, and are written as they were."""
    old = write_rules(Rules(items_prorated=0, error_of=ErrorOf.ALL))
    assert '"fabella.exam-rules/1"' in old
    assert "unreached" not in old
    assert read_rules(old).items_prorated == 0
    assert read_rules('{"format": "fabella.exam-rules/1"}').items_prorated == 0
    assert read_rules('{"format": "fabella.exam-rules/2"}').items_prorated == 1


@pytest.mark.parametrize("number", [1, 2, 3])
def test_rules_of_formats_without_it_fill_in_an_item_worth_up_to_a_quarter(number: int) -> None:
    """That share stood in the program alone before the fourth format, whatever is usual in a later one."""
    old = read_rules(f'{{"format": "fabella.exam-rules/{number}"}}')
    assert old.largest_prorated == 0.25
    assert f'"fabella.exam-rules/{number}"' in write_rules(old)
    assert "largest_prorated" not in write_rules(old)
    other = replace(old, largest_prorated=0.4)
    assert '"fabella.exam-rules/4"' in write_rules(other)
    assert read_rules(write_rules(other)) == other


def test_rules_that_contradict_themselves_are_refused_together() -> None:
    """A method without its judges, a number of stations nobody asked for and shares above 1 come at once."""
    with pytest.raises(InputError) as refused:
        Rules(method=CutMethod.ANGOFF, stations_needed=3, least_stations=1.2)
    assert [p.place for p in refused.value.problems] == ["estimates", "stations_needed", "least_stations"]
    with pytest.raises(InputError, match="did you mean 'hofstee'"):
        read_rules(write_rules(Rules()).replace("borderline_regression", "hofste"))
    with pytest.raises(InputError, match="did you mean 'rounding'"):
        read_rules(write_rules(Rules()).replace('"rounding"', '"roundin"'))
    with pytest.raises(InputError, match="is not that of rules"):
        read_rules("{}")
    with pytest.raises(InputError, match="line 1: is not JSON"):
        read_rules("{")


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("estimates", [1]),
        (
            "estimates",
            [{"judges": ["a", "b"], "items": ["x", "y"], "max_mark": [1, 1], "share": [["b", 1]] * 2}],
        ),
        ("bounds", [1]),
        ("bounds", [{"lowest_cut": "40", "highest_cut": 60, "least_fails": 0, "most_fails": 1}]),
        ("fixed_cut", "60"),
        ("resamples", 500.5),
        ("resamples", True),
        ("stations_needed", 2.5),
        ("most_critical_failed", 0.5),
        ("within_circuits", "no"),
        ("sem", [3]),
    ],
)
def test_rules_of_the_wrong_kind_are_refused_in_words(name: str, value: object) -> None:
    """Whatever stands where a number, a table or a yes belongs is refused before it decides anything."""
    tree = json.loads(write_rules(Rules(stations=StationsRule.FIXED, stations_needed=3)))
    with pytest.raises(InputError):
        read_rules(json.dumps({**tree, name: value}))
    with pytest.raises(InputError, match="is not JSON"):
        read_rules("[" * 100_000)


def test_results_say_null_for_what_does_not_exist() -> None:
    """The frozen results are plain JSON: no NaN, reasons and outcomes as words."""
    tree = json.loads(write_results(decide(MARKS, Rules(**FEW))))
    assert tree["predicted_stations"] is None
    assert {each["outcome"] for each in tree["decisions"]} == {"pass", "fail"}
    assert tree["rules"]["method"] == "borderline_regression"


def test_resampled_exams_show_what_each_rule_may_do() -> None:
    """The share failing by stations has an interval; refitting every resample with numpy gives the same."""
    rules = Rules(stations=StationsRule.PREDICTED, **FEW)
    results = decide(MARKS, rules)
    noise = cut_noise(MARKS, results)
    assert noise.failing_by_stations is not None
    share = np.mean([Reason.TOO_FEW_PASSED in d.reasons for d in results.decisions])
    assert noise.failing_by_stations.estimate == share
    assert noise.failing_by_stations.low <= share <= noise.failing_by_stations.high
    counts = resample(80, seed=results.marks_digest, times=200)
    scores, by_hand = score(MARKS), []
    for drawn, cuts in zip(counts, results.pass_mark.resampled, strict=True):
        passed = (np.round(scores.station, 6) >= np.round(cuts, 6)).sum(axis=1)
        slope, intercept = np.polyfit(scores.total, passed, 1, w=np.sqrt(drawn))
        need = np.floor(np.round(intercept + slope * cuts.mean(), 6) + 0.5)
        by_hand.append((drawn * (passed < need)).sum() / 80)
    low, high = np.percentile(by_hand, [2.5, 97.5])
    assert (noise.failing_by_stations.low, noise.failing_by_stations.high) == pytest.approx((low, high))
    fixed = cut_noise(MARKS, decide(MARKS, Rules(method=CutMethod.FIXED, fixed_cut=50, **FEW)))
    assert set(fixed.share_passing) <= {0.0, 1.0}
    assert fixed.failing_by_stations is None


def test_other_distances_between_grades_move_the_pass_mark() -> None:
    """With the same distances nothing changes; as examiners place borderline, higher up, pass marks rise."""
    base = decide(MARKS, Rules(**FEW))
    scale = MARKS.blueprint.grades.values
    assert decide(space_grades(MARKS, scale), Rules(**FEW)).decisions == base.decisions
    placed = decide(space_grades(MARKS), Rules(**FEW))
    rises = np.array(placed.pass_mark.station_cuts) - np.array(base.pass_mark.station_cuts)
    assert (rises > 0).all()
    with pytest.raises(InputError, match="are not as many as the grades; use 5"):
        space_grades(MARKS, (0, 1, 2))


def test_the_interval_of_a_pass_mark_stays_on_the_scale() -> None:
    """A logistic line that hardly rises has cuts far below 0; the interval began at -168 %, and now at 0."""
    beyond = 0
    for seed in range(12):
        blueprint = made_blueprint(stations=3, items=8)
        marks = read_rows(made_rows(blueprint, candidates=12, circuits=1, seed=seed), blueprint)
        try:
            found = decide(marks, Rules(method=CutMethod.CONTRASTING_LOGISTIC, **FEW)).pass_mark
        except InputError:
            continue  # all graded above borderline at some station
        drawn = found.resampled.mean(axis=1)
        low, high = np.percentile(drawn[~np.isnan(drawn)], [2.5, 97.5])
        beyond += low < 0 or high > 100
        assert 0 <= found.cut.low <= found.cut.estimate <= found.cut.high <= 100
        assert (found.cut.low, found.cut.high) == pytest.approx((max(low, 0), min(high, 100)))
    assert beyond > 0
