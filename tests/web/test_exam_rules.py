"""The lead declares how the pass mark is set: rules, judges' estimates and weights, every version kept."""

from __future__ import annotations

import json
import re
from html import unescape
from io import BytesIO
from typing import Any

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pypdf import PdfReader

from fabella.assess import CutMethod, ErrorOf, Rules, Unreached, decide, read_marks, read_rules, write_results
from fabella.exam import blueprint_of, read_station
from fabella.protocol import load_protocol
from fabella.store.exams.papers import papers_of, versions_of
from fabella.store.exams.results import results_of
from fabella.store.exams.trail import trail_of
from fabella.web.analysing.frozen import read_decision
from fabella.web.analysing.rules_form import rules_form
from fabella.web.visitor import local_clinician
from tests.web.clinic import as_read
from tests.web.closing import close

LEAD = local_clinician("any")
HERE = "/exams/1/"
STATIONS = ("look_and_gait", "effusion", "ligaments", "menisci")
BOUNDS = (
    "judge,lowest pass mark,highest pass mark,fewest failing,most failing\nAda,50,60,5,20\nBen,54 %,66,5,30\n"
)
TABLE = "station,Ada,Ben\n" + "".join(f"{name},{60 + k},{50 + k}\n" for k, name in enumerate(STATIONS))


def seen(client: Client, path: str, place: int = 0) -> str:
    """The version that stands on a page."""
    return str(re.findall(r'name="seen" value="(\d+)"', client.get(path).content.decode())[place])


def keep(client: Client, rules: Rules | None = None, **typed: str) -> Any:
    """Keep rules as they are typed."""
    form = {**rules_form(rules or Rules()).typed, **typed}
    return client.post(f"{HERE}rules/", {**form, "step": "rules", "seen": seen(client, f"{HERE}rules/")})


def kept() -> Rules:
    """The rules that hold."""
    return read_rules(papers()["rules"])


def papers() -> dict[str, str]:
    """The text of every paper that holds, by name."""
    return {each.name: each.text for each in papers_of(LEAD, 1)}


def estimate(client: Client, table: str = TABLE, **typed: Any) -> Any:
    """Send a table of estimates."""
    path = f"{HERE}rules/judges/"
    return client.post(
        path, {"step": "pasted", "table": table, "seen": seen(client, f"{HERE}rules/"), **typed}
    )


def test_every_rule_can_be_declared_on_the_page(demo: Client) -> None:
    """What is typed is what is kept, shares from percent, and the page shows it again."""
    answer = keep(
        demo,
        method="hofstee",
        bounds=BOUNDS,
        cohen_share="62,5",
        false_pass="2",  # noqa: S106  no password
        sem_multiple="1",
        sem="3.4",
        error_of="all",
        stations="fixed",
        stations_needed="3",
        rounding="up",
        most_critical_failed="0",
        most_prorated="20",
        items_prorated="2",
        unreached="not_done",
        least_stations="75 %",
        review_sems="2",
        resamples="500",
        within_circuits="yes",
    )
    assert answer.status_code == 302
    rules = kept()
    assert (rules.method, rules.cohen_share, rules.false_pass) == (CutMethod.HOFSTEE, 0.625, 2)
    assert (rules.sem_multiple, rules.sem, rules.stations_needed) == (1, 3.4, 3)
    assert rules.error_of is ErrorOf.ALL
    assert (rules.most_critical_failed, rules.most_prorated, rules.items_prorated) == (0, 0.2, 2)
    assert rules.unreached is Unreached.NOT_DONE
    assert (rules.least_stations, rules.review_sems, rules.resamples) == (0.75, 2, 500)
    assert rules.within_circuits
    assert [(each.judge, each.lowest_cut, each.most_fails) for each in rules.bounds] == [
        ("Ada", 50, 0.2),
        ("Ben", 54, 0.3),
    ]
    assert rules_form(rules).typed == rules_form(kept()).typed
    assert "Ben, 54, 66, 5, 30" in as_read(demo.get(f"{HERE}rules/"))


def test_judges_are_typed_without_a_head(demo: Client) -> None:
    """A line a judge, as the page asks for it, will do; a line that is wrong is told by its own number."""
    assert keep(demo, bounds="Ada, 50, 60, 5, 20\nBen, 54 %, 66, 5, 30\n").status_code == 302
    assert [(each.judge, each.lowest_cut, each.most_fails) for each in kept().bounds] == [
        ("Ada", 50, 0.2),
        ("Ben", 54, 0.3),
    ]
    told = as_read(keep(demo, bounds="Ada, 50, 60, 5, 20\nBen, x, 66, 5, 30\n", seen="1"))
    assert "judges, line 2, lowest pass mark: 'x' is no number" in told
    assert "names no columns" in as_read(keep(demo, bounds="Ada, 50, 60\nBen, 54, 66\n", seen="1"))


def test_one_message_names_everything_that_is_wrong(demo: Client) -> None:
    """Wrong rules and judges' lines are told together, by what the page calls them; nothing is kept."""
    answer = keep(
        demo,
        method="angoff",
        bounds=f"{BOUNDS.splitlines()[0]}\nAda,70,60,5,20\nAda,50,x,5,\n",
        sem_multiple="much",
        stations="fixed",
        least_stations="180",
        resamples="",
    )
    assert answer.status_code == 400
    page = as_read(answer)
    for says in (
        "How it is set: 'Angoff' lacks what it needs; keep the judges’ estimates first",
        "judges, line 3: 'Ada' stands on line 2 too",
        "judges, line 2, pass mark: '70 to 60' is the wrong way round",
        "judges, line 3, highest pass mark: 'x' is no number",
        "judges, line 3, most failing: is missing",
        "Standard errors of measurement added to the pass mark: 'much' is no number",
        "How many, if fixed: is missing",
        "Share of the stations that is enough to decide [%]: '180' is out of range",
        "How often candidates are drawn again for the error of the pass mark: is missing",
    ):
        assert says in page, says
    assert "rules" not in papers()


def test_a_change_of_declared_rules_needs_a_reason(demo: Client) -> None:
    """Once the exam is open a change says why; the trail has it, and every version stays."""
    assert keep(demo).status_code == 302
    assert "is no reason" in as_read(keep(demo, sem_multiple="1"))
    assert keep(demo, sem_multiple="1", why="board of 3 March").status_code == 302
    assert [each.version for each in versions_of(LEAD, 1, "rules")] == [1, 2]
    assert "board of 3 March" in {each.why for each in trail_of(LEAD, 1)}
    page = as_read(demo.get(f"{HERE}rules/"))
    assert "Version 2</b> standard errors of measurement added to the pass mark – board of 3 March" in page


def test_judges_estimates_are_pasted_uploaded_or_typed(demo: Client) -> None:
    """The three ways keep the same estimates; a second round is kept beside the first."""
    assert estimate(demo).status_code == 302
    pasted = kept().estimates
    assert pasted[0].judges == ("Ada", "Ben")
    assert np.allclose(pasted[0].share, [[0.6, 0.61, 0.62, 0.63], [0.5, 0.51, 0.52, 0.53]])
    file = SimpleUploadedFile("round.csv", TABLE.replace(",", ";").encode())
    assert estimate(demo, "", file=file, round="1", why="sent again").status_code == 302
    assert kept().estimates == pasted
    order = [each.items.index(name) for each in pasted for name in STATIONS]
    lines = re.findall(
        r"<small>(\w+)</small></th><td", demo.get(f"{HERE}rules/judges/?round=1").content.decode()
    )
    assert sorted(lines) == sorted(STATIONS)
    cells = {f"e-{row}-{column}": str(65 + 10 * column) for row in range(len(lines)) for column in range(2)}
    typed = {"step": "typed", "judges": "Ada, Ben", "of": "stations", "round": "2", "seen_impact": "yes"}
    answer = demo.post(
        f"{HERE}rules/judges/",
        {**typed, **cells, "seen": seen(demo, f"{HERE}rules/"), "why": "after discussion"},
    )
    assert answer.status_code == 302
    first, second = kept().estimates
    assert first == pasted[0]
    assert second.seen_impact
    assert set(second.share[1]) == {0.75}
    assert len(order) == 4
    page = as_read(demo.get(f"{HERE}rules/judges/"))
    assert "2 judges, 4 stations: pass mark 56.5%" in page
    assert "2 judges, 4 stations: pass mark 70.0%" in page


def test_judges_whose_method_is_not_chosen_are_not_said_to_set_the_pass_mark(demo: Client) -> None:
    """The page said that the last round sets the pass mark, also where rules said borderline regression."""
    page = f"{HERE}rules/judges/"
    assert "do not set the pass mark" not in as_read(demo.get(page))  # nothing is estimated yet
    estimate(demo)
    assert "do not set the pass mark: the rules say borderline regression." in as_read(
        demo.get(page)
    ).replace('<a href="/exams/1/rules/">rules</a>', "rules")
    keep(demo, rules=kept(), method="angoff", why="as agreed")
    assert "do not set the pass mark" not in as_read(demo.get(page))


def test_each_judge_is_told_beside_the_mean(demo: Client) -> None:
    """Ada's 60 to 63 come to 61.5, Ben's 50 to 53 to 51.5; without either the other's pass mark holds."""
    assert estimate(demo).status_code == 302
    page = demo.get(f"{HERE}rules/judges/").content.decode()
    (table,) = re.findall(r"<table[^>]*>(?:(?!</table>).)*The judges of round 1.*?</table>", page, re.DOTALL)
    cells = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in table.split("<tr>")[2:]]
    assert cells == [["Ada", "61.5%", "+5.0", "51.5%"], ["Ben", "51.5%", "−5.0", "61.5%"]]


def test_judges_who_contradict_each_other_are_said_not_to_agree(demo: Client) -> None:
    """ICC(2,k) has no bound below (Shrout and Fleiss 1979): opposed judges must not be told a number."""
    opposed = "station,Ada,Ben\n" + "".join(
        f"{name},{40 + 10 * k},{71 - 10 * k}\n" for k, name in enumerate(STATIONS)
    )
    assert estimate(demo, opposed.replace("70,41", "70,42")).status_code == 302
    page = as_read(demo.get(f"{HERE}rules/judges/"))
    assert "agreement ICC(2,k) below 0: they do not agree" in page
    assert "inf" not in page.partition("agreement")[2][:40]


def test_items_can_be_estimated_one_by_one(demo: Client) -> None:
    """The page gives the table of all items to be filled in; filled with 60 and 50 it comes to 55%."""
    page = demo.get(f"{HERE}rules/judges/?judges=Ada,Ben&of=items").content.decode()
    empty = unescape(re.findall(r"<textarea id=\"pasted\"[^>]*>(.*?)</textarea>", page, re.DOTALL)[0])
    head, *lines = empty.split()
    assert head == "item,Ada,Ben"
    filled = "\n".join([head, *(f"{line.partition(',')[0]},60,50" for line in lines)])
    assert estimate(demo, filled).status_code == 302
    assert f"2 judges, {len(lines)} items: pass mark 55.0%" in as_read(demo.get(f"{HERE}rules/judges/"))


def test_a_wrong_table_is_refused_with_every_line(demo: Client) -> None:
    """Unknown, doubled and missing lines, cells that are no percentage and surplus cells come at once."""
    answer = estimate(
        demo,
        "station,Ada,Ben\neffusion,60,\nefusion,60,70\neffusion,50,50\nligaments,120,x,9\nmenisci,50,50\n",
    )
    assert answer.status_code == 400
    page = as_read(answer)
    for says in (
        "line 2, Ben: is missing",
        "line 3: 'efusion' is no station of this exam; did you mean 'effusion'?",
        "line 4: 'effusion' stands on line 2 too",
        "line 5: 'ligaments' has more cells than judges",
        "line 5, Ada: '120' is out of range",
        "line 5, Ben: 'x' is no number",
        "table: 'look_and_gait' is not estimated",
    ):
        assert says in page, says
    assert "efusion,60,70" in page, "what was pasted is still there"
    shares = TABLE.replace(",6", ",0.6").replace(",5", ",0.5")
    assert "write percent: 60, not 0.6" in as_read(estimate(demo, shares))
    assert "judges are too few" in as_read(demo.get(f"{HERE}rules/judges/?judges=Ada"))
    formula = as_read(estimate(demo, TABLE.replace("Ada", "=1+1")))
    assert "line 1: '=1+1' begins like a formula of a spreadsheet; begin with a letter" in formula
    assert "rules" not in papers()


def test_a_round_can_be_taken_away_unless_it_sets_the_pass_mark(demo: Client) -> None:
    """The last round goes with a reason; the only one stays while Angoff's method is declared."""
    estimate(demo)
    assert keep(demo, kept(), method="angoff", why="declared").status_code == 302
    path = f"{HERE}rules/judges/"
    gone = {"step": "remove", "seen": seen(demo, path), "why": "withdrawn"}
    assert "sets the pass mark" in as_read(demo.post(path, gone))
    keep(demo, kept(), method="cohen", why="changed")
    assert demo.post(path, {**gone, "seen": seen(demo, path)}).status_code == 302
    assert not kept().estimates


@pytest.fixture
def judged(demo: Client) -> Client:
    """A closed exam decided by Angoff's method, its first station counting thrice."""
    weights = {f"weight-{name}": "3" if name == "effusion" else "1" for name in STATIONS}
    path = f"{HERE}rules/"
    assert demo.post(path, {"step": "weights", "seen": seen(demo, path, 1), **weights}).status_code == 302
    estimate(demo)
    keep(demo, kept(), method="angoff", why="declared")
    close(demo)
    assert demo.post(f"{HERE}results/", {"step": "decide"}).status_code == 302
    return demo


def test_weights_and_estimates_are_frozen_with_the_decision(judged: Client) -> None:
    """The pass mark is the weighted mean of the judges, and follows again from the text that is kept."""
    (result,) = results_of(LEAD, 1)
    tree = json.loads(result.text)
    expected = (60 + 3 * 61 + 62 + 63 + 50 + 3 * 51 + 52 + 53) / 12
    assert tree["results"]["pass_mark"]["cut"] == pytest.approx(expected)
    assert tree["weights"] == {"effusion": 3}
    frozen = read_decision(result.text)
    assert frozen is not None
    stations = [read_station(each, protocol=load_protocol()) for each in frozen.stations]
    marks = read_marks(frozen.marks, blueprint=blueprint_of(stations, weights=dict(frozen.weights)))
    assert json.loads(write_results(decide(marks, read_rules(frozen.rules)))) == tree["results"]
    before = as_read(judged.get(f"{HERE}results/"))
    weights = {f"weight-{name}": "1" for name in STATIONS}
    path = f"{HERE}rules/"
    again = {"step": "weights", "seen": seen(judged, path, 1), **weights}
    assert "is no reason" in as_read(judged.post(path, again))
    assert judged.post(path, {**again, "why": "appeal"}).status_code == 302
    assert "made by other rules or weights" not in before
    assert (
        "made by other rules or weights than these, or counting other stations: decide again before"
        in as_read(judged.get(f"{HERE}results/"))
    )
    assert "were decided before rules, weights or the stations that count were changed" in as_read(
        judged.get(HERE)
    )
    assert read_decision(results_of(LEAD, 1)[0].text) == frozen


def test_weights_are_shown_wherever_scores_are(judged: Client) -> None:
    """The page of results, the report to the board and a candidate's own page say what a station counts."""
    assert "Stations count the same but: effusion counts 3" in as_read(judged.get(f"{HERE}results/"))
    assert "weight 3, version" in as_read(judged.get(f"{HERE}stations/"))
    board = as_read(judged.get(f"{HERE}analysis/"))
    assert "Counts" in board
    assert "50.0%" in board
    assert "Stations count differently" in board
    assert "Off the mean" in board
    assert "r tells how estimates go with what was earned at" in board
    pages = PdfReader(BytesIO(judged.get(f"{HERE}results/of/C01/page.pdf").content)).pages
    own = " ".join(" ".join(each.extract_text().split()) for each in pages)
    assert "The swollen knee (50% of the exam)" in own


def test_a_weight_that_is_none_is_refused(demo: Client) -> None:
    """Nothing, words, 0 and infinity are no weights, and each is told at its station."""
    path = f"{HERE}rules/"
    wrong = dict(zip([f"weight-{name}" for name in STATIONS], ["", "much", "0", "inf"], strict=True))
    answer = demo.post(path, {"step": "weights", "seen": seen(demo, path, 1), **wrong})
    assert answer.status_code == 400
    assert as_read(answer).count("Is no weight") == 3
    assert as_read(answer).count("Is missing") == 1
    assert "weights" not in papers()
