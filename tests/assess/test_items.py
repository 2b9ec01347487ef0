"""Items, time and the page of a station against scipy, by hand, and where the truth is planted."""

from dataclasses import replace

import numpy as np
import pytest
import scipy

from fabella.assess import (
    Blueprint,
    ItemFlag,
    Marks,
    Rules,
    State,
    alpha,
    analyse_items,
    analyse_timing,
    decide,
    never_reached,
    read_marks,
    score,
    station_pages,
    weigh_domains,
    weigh_subscore,
)
from tests.assess.made import HEADER, made_blueprint, made_marks, made_rows, read_rows

MARKS = made_marks(stations=3, items=6, candidates=50, circuits=2, seed=6)


def grid(marks: Marks, station: int) -> np.ndarray:
    """Return the marks of a station, one row a sheet."""
    rows = marks.station[marks.sheet] == station
    found = marks.mark[rows].reshape(-1, len(marks.blueprint.stations[station].items))
    return np.asarray(found, dtype=np.float64)


def test_items_are_those_of_scipy() -> None:
    """Facility, corrected and rank correlation of every item equal numpy's and scipy's."""
    for facts in analyse_items(MARKS):
        s, i = int(facts.station[1:]) - 1, int(facts.item[1:]) - 1
        x = grid(MARKS, s)
        rest = x.sum(axis=1) - x[:, i]
        assert facts.facility == pytest.approx(x[:, i].mean() / 2)
        assert facts.corrected_r == pytest.approx(np.corrcoef(x[:, i], rest)[0, 1])
        rho = scipy.stats.spearmanr(x[:, i], MARKS.grade[MARKS.station == s])
        assert facts.grade_rho == pytest.approx(rho.statistic)
        assert (facts.n, facts.n_missing, facts.not_observed) == (50, 0, 0)


def dichotomous(seed: int = 0) -> tuple[Blueprint, list[str]]:
    """Return an exam marked 0 or 1 only."""
    blueprint = made_blueprint(stations=1, items=5)
    rows = [row.split(",") for row in made_rows(blueprint, candidates=40, circuits=1, seed=seed)]
    return blueprint, [",".join([*r[:5], "1" if r[5] == "2" else "0", r[6]]) for r in rows]


def test_point_biserials_are_those_of_scipy() -> None:
    """For items marked 0 or 1 the point-biserial equals scipy's; for others there is none."""
    blueprint, rows = dichotomous()
    marks = read_rows(rows, blueprint)
    x = grid(marks, 0)
    for i, facts in enumerate(analyse_items(marks)):
        expected = scipy.stats.pointbiserialr(x[:, i], x.sum(axis=1)).statistic
        assert facts.point_biserial == pytest.approx(expected)
    assert all(np.isnan(facts.point_biserial) for facts in analyse_items(MARKS))


def test_upper_and_lower_27_percent_by_hand() -> None:
    """Of 100 sheets with sums all different, the best 27 less the worst 27; ties share their places."""
    blueprint = made_blueprint(stations=1, items=2)
    rows = []
    for p in range(100):
        first = 2 if p >= 80 else 0
        rows += [f"C{p:03},A,S01,E1,I01,{first},1", f"C{p:03},A,S01,E1,I02,{p * 0.0001:.4f},1"]
    facts = analyse_items(read_rows(rows, blueprint))[0]
    assert facts.upper_lower == pytest.approx(20 / 27)
    level = [",".join([*row.split(",")[:5], "1" if "I02" in row else row.split(",")[5], "1"]) for row in rows]
    tied = analyse_items(read_rows(level, blueprint))[1]
    assert tied.upper_lower == pytest.approx(0)  # all alike: no difference, whoever is taken


def test_items_that_mislead_are_flagged() -> None:
    """An item turned round, one everybody does, one nobody does and one hardly seen get their flags."""
    blueprint = made_blueprint(stations=1, items=7)
    rows = []
    for row in made_rows(blueprint, candidates=60, circuits=1, seed=3):
        cells = row.split(",")
        late = int(cells[0][1:]) % 3 == 0
        turned = {"I01": f"{2 - float(cells[5]):g}", "I02": "2", "I03": "0"}
        cells[5] = turned.get(cells[4], "not_observed" if cells[4] == "I04" and late else cells[5])
        rows.append(",".join(cells))
    flags = {facts.item: set(facts.flags) for facts in analyse_items(read_rows(rows, blueprint))}
    assert ItemFlag.MISLEADS in flags["I01"]
    assert flags["I02"] == {ItemFlag.TOO_EASY}
    assert flags["I03"] == {ItemFlag.TOO_HARD}
    assert flags["I04"] == {ItemFlag.OFTEN_NOT_OBSERVED}
    assert flags["I06"] == set()


def timed(late: str = "yes") -> Marks:
    """Return two sheets of four items, the first cut off after its second item."""
    blueprint = made_blueprint(stations=1, items=4)
    first, second = ("2", "not_done", "not_done", "not_observed"), ("0", "not_done", "1", "not_done")
    rows = []
    for name, marks, end, cut in (("C1", first, "09:08:00", late), ("C2", second, "09:06:30", "no")):
        rows += [
            f"{name},A,S01,E1,I{i:02},{mark},1,09:00:00,{end},{cut}" for i, mark in enumerate(marks, start=1)
        ]
    text = "\n".join([f"{HEADER},started,finished,timed_out", *rows, ""])
    return read_marks(text, blueprint=blueprint)


def test_never_reached_is_not_omitted() -> None:
    """After the last mark of a sheet cut off, items were never reached; before it, or in time, omitted."""
    marks = timed()
    assert never_reached(marks).tolist() == [False, True, True, True, False, False, False, False]
    station = analyse_timing(marks)[0]
    assert (station.n, station.timed_out, station.median_s, station.longest_s) == (2, 1, 435, 480)
    assert [item.never_reached for item in station.items] == [0, 0.5, 0.5, 0.5]
    assert [item.omitted for item in station.items] == [0, 0.5, 0, 0.5]
    assert station.never_reached_share == pytest.approx(3 / 8)
    assert not never_reached(timed(late="no")).any()


def test_a_station_without_clock_has_no_times() -> None:
    """Without times and bells nothing is reached late, and there is no median."""
    station = analyse_timing(MARKS)[0]
    assert np.isnan(station.median_s)
    assert (station.timed_out, station.never_reached_share) == (0, 0)


def test_a_station_page_holds_the_numbers_of_its_parts() -> None:
    """Mean, spread, failures, alpha without the station and its line are those computed elsewhere."""
    results = decide(MARKS, Rules(resamples=200))
    scores = score(MARKS).station
    whole = alpha(scores)
    for s, page in enumerate(station_pages(MARKS, results, analyse_timing(MARKS))):
        assert (page.mean, page.sd) == pytest.approx((scores[:, s].mean(), scores[:, s].std(ddof=1)))
        assert page.alpha_without == whole.if_deleted[s]
        assert page.raises_alpha == (round(whole.if_deleted[s], 2) > round(whole.alpha.estimate, 2))
        line = results.pass_mark.lines[s]
        assert (page.cut, page.r2, page.slope) == (line.cut.estimate, line.r2, line.slope)
        assert page.failing == (scores[:, s] < line.cut.estimate).sum()
        assert page.within.alpha.estimate == pytest.approx(alpha(grid(MARKS, s)).alpha.estimate)
        assert (page.n, page.n_missing) == (50, 0)


def test_domains_are_weighed_with_their_shares_of_the_exam() -> None:
    """The parts of all domains add up to the exam, so a single domain is the exam itself."""
    blueprint = made_blueprint(stations=5, items=3)
    marks = read_rows(made_rows(blueprint, candidates=60, circuits=1, seed=2), blueprint)
    scores = score(marks)
    found = weigh_domains(marks, scores)
    assert set(found) == {"communication", "safety", "technique"}
    each = scores.domain_station[:, :, 0]
    other = weigh_subscore(each / 15, scores.station / 5)
    assert found["communication"].reliability == pytest.approx(other.reliability)
    assert found["communication"].from_total == pytest.approx(other.from_total)
    assert found["communication"].sem == pytest.approx(alpha(each).sem)
    same = weigh_subscore(scores.station / 5, scores.station / 5)
    assert same.reliability == pytest.approx(alpha(scores.station).alpha.estimate)
    assert same.from_total == pytest.approx(same.reliability)


def test_marks_of_every_state_are_analysed() -> None:
    """A void station, an absent candidate and marks not offered leave the analysis of the rest standing."""
    blueprint = made_blueprint(stations=3, items=4)
    rows = []
    for row in made_rows(blueprint, candidates=30, circuits=2, seed=9):
        cells = row.split(",")
        if cells[1:3] == ["A", "S02"]:
            cells[5:] = ["station_void", "station_void"]
        elif cells[0] == "C0002":
            cells[5:] = ["absent", "absent"]
        elif cells[4] == "I03" and cells[2] == "S03":
            cells[5] = "not_offered"
        rows.append(",".join(cells))
    marks = read_rows(rows, blueprint)
    assert {State(state) for state in marks.state} > {State.STATION_VOID, State.ABSENT, State.NOT_OFFERED}
    facts = {(f.station, f.item): f for f in analyse_items(marks)}
    assert facts["S02", "I01"].n == 14  # 15 in the other circuit, one of them absent
    assert np.isnan(facts["S03", "I03"].facility)
    assert np.isnan(facts["S03", "I03"].corrected_r)
    assert [timing.n for timing in analyse_timing(marks)] == [29, 14, 29]


@pytest.mark.parametrize("weights", [(0.7, 1 / 3), (1.1, 0.7), (0.1, 0.3), (2.0, 1.0)])
def test_a_rest_that_is_the_same_for_all_goes_with_nothing(weights: tuple[float, float]) -> None:
    """Where all other items are alike there is no r, whatever the last bit of weighted sums.

    By definition: a correlation with what does not vary is none. It had been one of the roundings (0.08 to
    0.12 for two of these weights), and flagged the item as one that hardly tells strong from weak.
    """
    plain = made_blueprint(stations=1, items=7)
    items = [
        replace(item, weight=weights[1] if n else weights[0])
        for n, item in enumerate(plain.stations[0].items)
    ]
    blueprint = replace(plain, stations=(replace(plain.stations[0], items=tuple(items)),))
    rows = [row.split(",") for row in made_rows(plain, candidates=37, circuits=1, seed=2)]
    alike = [
        ",".join([*row[:5], row[5] if row[4] == "I02" else "1" if row[4] == "I01" else "2", row[6]])
        for row in rows
    ]
    facts = analyse_items(read_rows(alike, blueprint))[1]
    assert 0 < facts.facility < 1
    assert np.isnan(facts.corrected_r)
    assert facts.upper_lower > 0, "with the whole sum, of which it is a part"
    assert facts.flags == ()
