"""A whole exam in one call: what each part rests on, what is refused, and that order does not matter."""

from __future__ import annotations

import json
import random
from dataclasses import replace

import numpy as np
import pytest

from fabella.assess import (
    About,
    Analysis,
    Blueprint,
    CutMethod,
    Marks,
    Part,
    Rules,
    StationsRule,
    alternatives,
    analyse,
    compare,
    cut_noise,
    decide,
    read_marks,
    score,
    write_analysis,
)
from fabella.assess.dependable import generalizability
from fabella.assess.exam_facets import exam_facets
from fabella.errors import InputError
from tests.assess.made import HEADER, made_blueprint, made_marks, made_rows, read_rows
from tests.assess.worked_tables import set1, set4


@pytest.fixture(scope="module")
def marks() -> Marks:
    """An exam in three circuits with an examiner each at every station."""
    return made_marks(candidates=90)


@pytest.fixture(scope="module")
def found(marks: Marks) -> Analysis:
    """Its analysis, candidates allotted at random."""
    return analyse(marks, Rules(), at_random=True)


def parts(found: Analysis) -> dict[str, Part[object]]:
    """Every part of an analysis by its name."""
    named = {
        name: getattr(found, name)
        for name in ("items", "alpha", "omega", "dependability", "classification", "domains", "facets")
    }
    study = found.study
    of_study = {
        name: getattr(study, name) for name in ("severity", "given_grade", "spread", "drift", "circuits")
    }
    return {**named, **of_study}


def test_every_number_knows_its_estimator_and_what_was_left_out(found: Analysis, marks: Marks) -> None:
    """What a part used and what it dropped make up all candidates, sheets or marks there are."""
    whole = {"candidates": marks.n_candidates, "sheets": marks.n_sheets, "marks": len(marks.mark)}
    for name, part in parts(found).items():
        assert part.basis.estimator, name
        assert part.basis.n + part.basis.dropped == whole[part.basis.of], name
        assert (part.value is None) == bool(part.refusal), name
    assert found.decided.n + found.decided.dropped == marks.n_sheets


def test_a_refused_part_costs_no_other(found: Analysis) -> None:
    """Without times there is no drift, which is said, and all else is there."""
    refused = {name: part.refusal for name, part in parts(found).items() if part.refusal}
    assert list(refused) == ["drift"]
    assert "started" in refused["drift"]


def test_the_order_of_the_file_does_not_matter() -> None:
    """Rows in any order give the same analysis to the last byte."""
    blueprint = made_blueprint(stations=4, items=5)
    rows = made_rows(blueprint, candidates=40, circuits=2)
    shuffled = random.Random(3).sample(rows, len(rows))
    written = []
    for each in (rows, shuffled):
        read = read_rows(each, blueprint)
        written.append(write_analysis(read, analyse(read, Rules(resamples=200), at_random=True)))
    assert written[0] == written[1]


def test_an_analysis_as_data_names_its_parts(found: Analysis, marks: Marks) -> None:
    """Every part of the JSON says how it was estimated; a refused one has no value and says why."""
    tree = json.loads(write_analysis(marks, found))
    assert tree["format"] == "fabella.exam-analysis/1"
    assert tree["results"]["marks"] == found.results.marks_digest
    for name in ("alpha", "omega", "dependability", "classification", "facets", "items"):
        assert {"estimator", "n", "dropped", "of", "value"} <= set(tree[name]), name
    assert tree["study"]["drift"]["value"] is None
    assert "started" in tree["study"]["drift"]["refusal"]
    levels = tree["facets"]["value"]["measures"]["examiner"]["levels"]
    assert [each["code"] for each in levels] == list(marks.examiners)


def test_examiners_without_common_candidates_are_not_compared_unasked(marks: Marks) -> None:
    """Parallel circuits have no link: the Rasch part is refused and names the groups, unless at random.

    Source: nested circuits are linked by assumption, double marking or common videos only (Yeates 2022
    doi 10.1186/s12909-022-03115-1).
    """
    refused = analyse(marks, Rules(resamples=200)).facets
    assert refused.value is None
    assert "cannot be compared" in refused.refusal
    assert marks.examiners[0] in refused.refusal
    asked = exam_facets(marks, at_random=True)
    assert asked.examiners == marks.examiners
    assert any("at random" in each for each in asked.fit.warnings)


def test_one_examiner_a_station_in_one_circuit() -> None:
    """Severity is then the station's difficulty, and there are no circuits: both are refused, G is not.

    G of a complete crossed table is Cronbach's alpha (identity; Hoyt 1941, from memory).
    """
    single = analyse(made_marks(candidates=60, circuits=1), Rules(resamples=200))
    assert single.study.severity.value is None
    assert "one examiner each" in single.study.severity.refusal
    assert single.study.circuits.value is None
    study, whole = single.dependability.value, single.alpha.value
    assert study is not None
    assert whole is not None
    assert study.dependability.g == pytest.approx(whole.alpha.estimate, abs=1e-6)
    assert study.agrees is True
    assert single.facets.value is not None
    assert single.facets.value.examiners == ()


def test_the_curve_meets_the_exam_as_held() -> None:
    """With as many stations as there were the curve gives the exam's own coefficients."""
    single = analyse(made_marks(candidates=60, circuits=1), Rules(resamples=200)).dependability.value
    assert single is not None
    assert single.curve[5].count == 6
    assert single.curve[5].dependability.g == pytest.approx(single.dependability.g, abs=1e-9)
    assert single.curve[5].dependability.phi == pytest.approx(single.dependability.phi, abs=1e-9)


def test_numbers_of_stations_for_a_published_table() -> None:
    """Brennan's set 4 needs 25 stations for G and 34 for Phi of .8 with one examiner, 15 and 21 with two.

    Source: Brennan 2001 Generalizability Theory, data set 4; numbers by its D study equations.
    """
    y, codes = set4()
    named = {
        "candidate": codes["p"],
        "station": codes["t"],
        "examiner": codes["r"],
        "circuit": 0 * codes["p"],
    }
    study = generalizability(y, named, cut=5.0)
    assert [(each.examiners, each.g, each.phi) for each in study.needed] == [(1, 25, 34), (2, 15, 21)]
    assert study.agrees is True
    assert study.dependability.g == pytest.approx(0.55, abs=0.005)
    assert study.dependability.phi == pytest.approx(0.46, abs=0.005)


@pytest.mark.parametrize(("cut", "expected"), [(0.4, 0.8045674), (0.7, 0.7925408), (0.8, 0.8590434)])
def test_dependability_at_the_cut_of_a_published_table(cut: float, expected: float) -> None:
    """Phi(lambda) of Brennan's set 1 is that computed in R by the estimator of Brennan and Kane 1977."""
    y, codes = set1()
    named = {
        "candidate": codes["p"],
        "station": codes["i"],
        "examiner": codes["i"],
        "circuit": 0 * codes["p"],
    }
    assert generalizability(y, named, cut=cut).phi_at_cut == pytest.approx(expected, abs=2e-7)


def test_flags_tell_what_they_are_about() -> None:
    """An item marked the wrong way round is flagged by station and item, a small cohort at each station."""
    blueprint = made_blueprint(stations=4, items=6)
    rows = []
    for row in made_rows(blueprint, candidates=40, circuits=2, seed=4):
        *head, item, mark, grade = row.split(",")
        turned = 2 - int(mark) if head[2] == "S02" and item == "I03" else int(mark)
        rows.append(",".join([*head, item, str(turned), grade]))
    flags = analyse(read_rows(rows, blueprint), Rules(resamples=200)).flags
    assert ("item", "S02/I03", "misleads") in {(each.about, each.code, each.says) for each in flags}
    small = [each.code for each in flags if each.says == "small_cohort"]
    assert small == ["S01", "S02", "S03", "S04"]
    assert {each.about for each in flags} <= set(About)


def told(marks: Marks, about: About) -> list[tuple[str, str]]:
    """Return what the flags about people say, with their codes."""
    return [(each.says, each.code) for each in analyse(marks, Rules()).flags if each.about is about]


def test_marks_that_went_to_another_name_are_told() -> None:
    """One sheet under a name in small letters leaves both without sheets, and the two names told together."""
    exam = made_blueprint(stations=3, items=3)
    rows = made_rows(exam, candidates=30, circuits=2)
    assert told(read_rows(rows, exam), About.CANDIDATE) == []
    rows = [row.replace("C0008", "c0008") if ",S02," in row else row for row in rows]
    rows = [row.replace("E01", "e 01") if row.startswith("C0009") else row for row in rows]
    assert told(read_rows(rows, exam), About.CANDIDATE) == [
        ("no_sheet", "C0008"),
        ("no_sheet", "c0008"),
        ("written_alike", "'C0008' and 'c0008'"),
    ]
    assert ("written_alike", "'E01' and 'e 01'") in told(read_rows(rows, exam), About.EXAMINER)


def test_one_who_was_absent_or_sat_other_stations_is_not_told() -> None:
    """An absence that is said, and stations that few of a circuit sat, are no sheets gone astray."""
    exam = made_blueprint(stations=3, items=3)
    rows = [row for row in made_rows(exam, candidates=30, circuits=2) if not row.startswith("C0004,B,S03")]
    few = [row for row in rows if ",A,S02," not in row or row.startswith(("C0001", "C0003"))]
    absent = "C0004,B,S03,E06,,absent,absent"
    assert told(read_rows([*few, absent], exam), About.CANDIDATE) == []
    assert told(read_rows(few, exam), About.CANDIDATE) == [("no_sheet", "C0004")]


def test_two_performances_at_one_station_are_told() -> None:
    """Two examiners who write at once mark one performance; one who begins after the other's end does not."""
    exam = made_blueprint(stations=2, items=3)
    rows = [row + ",09:00,09:08" for row in made_rows(exam, candidates=30, circuits=2)]
    second = [row.replace(",E01,", ",E09,") for row in rows if row.startswith("C0005,A,S01")]
    for began, expected in ((",09:07,09:09", []), (",13:00,13:08", [("marked_apart", "C0005")])):
        text = [row.replace(",09:00,09:08", began) for row in second]
        file = "\n".join([f"{HEADER},started,finished", *rows, *text, ""])
        assert told(read_marks(file, blueprint=exam), About.CANDIDATE) == expected
    unfinished = "\n".join([f"{HEADER},started", *(row.rsplit(",", 1)[0] for row in (*rows, *text)), ""])
    assert told(read_marks(unfinished, blueprint=exam), About.CANDIDATE) == [("marked_apart", "C0005")]


def test_alternatives_are_the_methods_there_is_material_for() -> None:
    """The declared rules come first; Angoff, Hofstee and a fixed cut need what they rest on."""
    assert [each.method for each in alternatives(Rules())] == [
        CutMethod.BORDERLINE_REGRESSION,
        CutMethod.BORDERLINE_GROUP_MEAN,
        CutMethod.BORDERLINE_GROUP_MEDIAN,
        CutMethod.CONTRASTING_INTERSECTION,
        CutMethod.CONTRASTING_LOGISTIC,
        CutMethod.CONTRASTING_LEAST_LOSS,
        CutMethod.COHEN,
    ]
    fixed = alternatives(Rules(method=CutMethod.FIXED, fixed_cut=60))
    assert fixed[0].method is CutMethod.FIXED
    assert len({each.method for each in fixed}) == len(fixed) == 8


def test_marks_that_are_all_missing_are_refused() -> None:
    """An exam at which nobody was seen has no pass mark, and says so for each station."""
    blueprint = made_blueprint(stations=2, items=3)
    rows = [f"C{p},A,{s.code},E1,,absent,absent" for p in range(4) for s in blueprint.stations]
    with pytest.raises(InputError, match="gets no pass mark"):
        analyse(read_rows(rows, blueprint), Rules(resamples=200))


def test_weights_of_items_do_not_move_the_rasch_part() -> None:
    """Rasch measures rest on marks; weights move scores alone."""
    plain = made_marks(stations=2, items=4, candidates=50, circuits=1)
    weighed = tuple(
        replace(each, items=(replace(each.items[0], weight=3.0), *each.items[1:]))
        for each in plain.blueprint.stations
    )
    other = replace(plain, blueprint=Blueprint(stations=weighed))
    assert np.array_equal(
        exam_facets(plain).fit.of("item").estimate, exam_facets(other).fit.of("item").estimate
    )
    assert not np.array_equal(score(plain).total, score(other).total)


def test_a_station_void_for_everybody_is_as_if_it_had_not_been() -> None:
    """Cut, predicted number of stations, needs and outcomes are those of the exam without the station."""
    blueprint = made_blueprint(stations=5, items=6)
    all_rows = made_rows(blueprint, candidates=60, circuits=2)
    kept = [row for row in all_rows if ",S03," not in row]
    gone = sorted({",".join(row.split(",")[:4]) for row in all_rows if ",S03," in row})
    void = read_rows([*kept, *(f"{who},,station_void,station_void" for who in gone)], blueprint)
    others = tuple(each for each in blueprint.stations if each.code != "S03")
    without = read_rows(kept, Blueprint(stations=others))
    rules = Rules(stations=StationsRule.PREDICTED)
    one, two = decide(void, rules), decide(without, rules)
    assert one.pass_mark.cut.estimate == pytest.approx(two.pass_mark.cut.estimate, abs=1e-9)
    assert one.predicted_stations == pytest.approx(two.predicted_stations, abs=1e-9)
    assert 0 < one.predicted_stations < 4
    told = [
        [(d.outcome, d.stations_needed, d.stations_passed) for d in each.decisions] for each in (one, two)
    ]
    assert told[0] == told[1]
    assert np.isfinite(cut_noise(void, one).failing.high)


def test_a_domain_of_a_station_that_broke_down_is_left_out() -> None:
    """A domain tested at one station alone has no score when nobody took it, and the rest is analysed."""
    blueprint = made_blueprint(stations=4, items=6)
    own = tuple(replace(item, domain="writing") for item in blueprint.stations[2].items)
    blueprint = replace(
        blueprint,
        stations=tuple(
            replace(each, items=own) if each.code == "S03" else each for each in blueprint.stations
        ),
    )
    all_rows = made_rows(blueprint, candidates=40, circuits=1)
    gone = sorted({",".join(row.split(",")[:4]) for row in all_rows if ",S03," in row})
    kept = [row for row in all_rows if ",S03," not in row]
    marks = read_rows([*kept, *(f"{who},,station_void,station_void" for who in gone)], blueprint)
    domains = analyse(marks, Rules(resamples=200)).domains.value
    assert domains is not None
    assert set(domains) == {"communication", "safety", "technique"}
    assert all(np.isfinite(each.sem) for each in domains.values())


@pytest.mark.parametrize("grades", ["2", "12", "0123"])
@pytest.mark.parametrize("stations", [1, 3, 4])
@pytest.mark.parametrize("mark", ["2", "0", "0.7", "same"])
def test_marks_that_are_all_alike_are_analysed_or_refused(mark: str, stations: int, grades: str) -> None:
    """The same marks for everybody, or at every station, give an analysis with every method or a refusal."""
    blueprint = made_blueprint(stations=stations, items=3)
    dice = random.Random(stations)
    rows = []
    for n in range(1, 9):
        own = [str(dice.randint(0, 2)) if mark == "same" else mark for _ in range(3)]
        rows += [
            f"C{n},{n % 2},{station.code},{station.code}{n % 2},{item.code},{given},{grades[n % len(grades)]}"
            for station in blueprint.stations
            for item, given in zip(station.items, own, strict=True)
        ]
    marks = read_rows(rows, blueprint)
    for rules in alternatives(Rules(resamples=200, method=CutMethod.FIXED, fixed_cut=50)):
        found = compare(marks, (rules,))[0]
        assert (found.results is None) == bool(found.refusal)
        if found.results:
            json.loads(write_analysis(marks, analyse(marks, rules)))


@pytest.mark.parametrize("seed", range(20))
def test_any_part_of_an_exam_is_analysed_or_refused(seed: int) -> None:
    """Few candidates at few stations, some absent, give an analysis or a refusal in words."""
    dice = random.Random(seed)
    blueprint = made_blueprint(stations=dice.randint(1, 4), items=dice.randint(1, 5))
    all_rows = made_rows(blueprint, candidates=dice.randint(1, 7), circuits=dice.randint(1, 2), seed=seed)
    rows = []
    for station in blueprint.stations:
        for candidate in sorted({row.split(",")[0] for row in all_rows}):
            own = [row for row in all_rows if row.startswith(f"{candidate},") and f",{station.code}," in row]
            gone = dice.random() < 0.3
            rows += [",".join([*own[0].split(",")[:4], "", "absent", "absent"])] if gone else own
    marks = read_rows(rows, blueprint)
    stations = dice.choice(list(StationsRule)[:2])
    for rules in (
        Rules(resamples=200),
        Rules(resamples=200, method=CutMethod.FIXED, fixed_cut=50, stations=stations),
    ):
        for each in compare(marks, alternatives(rules)):
            assert (each.results is None) == bool(each.refusal)
        try:
            found = analyse(marks, rules, at_random=dice.random() < 0.5)
        except InputError:
            continue
        json.loads(write_analysis(marks, found))
        assert all((part.value is None) == bool(part.refusal) for part in parts(found).values())


def test_few_candidates_have_no_share_of_right_decisions() -> None:
    """Two candidates had been told that 100 % of decisions were right; ten are asked for."""
    exam = made_blueprint(stations=4, items=6)
    fixed = Rules(method=CutMethod.FIXED, fixed_cut=50)
    few, enough = (
        analyse(read_rows(made_rows(exam, candidates=n, circuits=1, seed=3), exam), fixed).classification
        for n in (9, 10)
    )
    assert few.value is None
    assert (
        "are too few to tell how true scores lie; 10 or more with a score are needed, and there are 9"
        in few.refusal
    )
    assert enough.value is not None
