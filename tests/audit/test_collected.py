"""The published patients that were collected in eleven rounds, and what the chain makes of them."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable
from importlib.resources import files
from typing import TYPE_CHECKING

import pytest
import typer
from typer.testing import CliRunner

from fabella.anatomy import load_lesions
from fabella.audit import Validation, expected, packaged_cases
from fabella.audit.collected import FIRST_READINGS, by_round, collected_cases
from fabella.audit.collected_page import collected_part
from fabella.audit.groups import GROUPS, by_group
from fabella.audit.page import as_markdown, as_tree
from fabella.audit.page_parts import share_words, totals
from fabella.cli import validate as command
from tests.cli.running import VALIDATED

if TYPE_CHECKING:
    from tests.audit.conftest import Ran

TEXT = files("fabella.audit").joinpath("collected_cases.json").read_text("utf-8")
ROWS = json.loads(TEXT)
ROUNDS = {
    "first": 60,
    "second": 77,
    "third": 64,
    "fourth": 43,
    "fifth": 42,
    "sixth": 50,
    "seventh": 28,
    "eighth": 34,
    "ninth": 31,
    "tenth": 29,
    "eleventh": 24,
}
KEYS = (
    "id",
    "source",
    "doi_or_pmid",
    "age",
    "sex",
    "setting",
    "side",
    "acuity",
    "onset_days",
    "mechanism",
    "history",
    "findings",
    "confirmed_by",
    "diagnoses",
    "primary_diagnosis",
    "red_flag",
    "urgent",
    "misleading_exam",
    "note",
    "gathered",
)
ADDRESS = re.compile(
    r"https?:|//|www\.|\b[\w-]+\.(?:com|org|net|edu|gov|int|info|uk|au|de|ch|za)\b", re.IGNORECASE
)

# With eleven rounds together the chain had the right lesion first in 217 of 463 and among three in 300,
# raised 83 of 97 red flags, gave 12 false alarms in 240 harmless knees and held 5 wrong lesions at 0.9 or
# more. The bounds lie well on the safe side of that: they tell of breakage, and are no target.
LEAST_FIRST, LEAST_TOP_THREE, LEAST_RED_FLAGS = 167, 246, 65
MOST_FALSE_ALARMS, MOST_CONFIDENTLY_WRONG = 16, 7
LEAST_SIGNS_READ = 0.949
"""Of 2479 signs 2356 were read when the seventh round came; until the fourth the floor was 0.96."""
NOT_IN_THE_MODEL = {
    "distal_semitendinosus_avulsion",
    "proximal_tibiofibular_joint_sprain",
    "proximal_tibiofibular_joint_instability",
    "snapping_popliteus_tendon",
    "proximal_tibiofibular_joint_dislocation",
    "proximal_tibiofibular_dislocation",
    "saphenous_neuroma",
    "intraosseous_ganglion",
    "snapping_biceps_femoris",
    "calcific_biceps_femoris_tendinitis",
    "calcific_lcl_tendinitis",
    "charcot_arthropathy",
    "foreign_body_synovitis",
    "patellar_clunk_syndrome",
    "soft_tissue_tuberculosis",
}
"""The diagnoses that patients came for and the model has not; one that it learns leaves this list."""
MOST_COMPUTING_S = 60
SAME_STORY = 7
"""Words that two stories share when they are one: 7 to 15 in seven patients gathered twice, else up to 6."""


def test_the_set_is_another_one() -> None:
    """No collected patient shares a name or a source with another one or with a packaged one."""
    collected, packaged = collected_cases(), packaged_cases()
    assert len({case.source for case in collected}) == len(collected)
    assert not {case.id for case in collected} & {case.id for case in packaged}
    assert not {case.source for case in collected} & {case.source for case in packaged}


def test_no_patient_was_gathered_twice() -> None:
    """No two patients of the same age, sex, side and lesion have a story of the same words."""
    seen: dict[tuple[object, ...], list[tuple[str, set[str]]]] = {}
    twice = []
    for case in (*packaged_cases(), *collected_cases()):
        words = {word[:5] for word in re.findall(r"[a-z]{4,}", case.mechanism.lower())}
        for lesion in expected(case).primary if case.age_years is not None else ():
            alike = seen.setdefault((case.age_years, case.sex, case.side, lesion), [])
            twice += [(case.id, other) for other, said in alike if len(words & said) >= SAME_STORY]
            alike.append((case.id, words))
    assert twice == []


def test_the_ids_are_consecutive_and_the_rounds_complete() -> None:
    """The patients run from K001 without a gap, the rounds one after the other."""
    assert [row["id"] for row in ROWS] == [f"K{number:03}" for number in range(1, len(ROWS) + 1)]
    gathered = [case.gathered for case in collected_cases()]
    assert Counter(gathered) == ROUNDS
    assert gathered == sorted(gathered, key=list(ROUNDS).index)


def test_every_patient_has_the_same_keys() -> None:
    """No patient lacks a key or has one of its own, but for what else is accepted."""
    assert {tuple(key for key in row if key != "accept") for row in ROWS} == {KEYS}


def test_no_address_stands_in_the_file() -> None:
    """A source names a paper or a kind of page, never where it was seen."""
    assert ADDRESS.findall(TEXT) == []
    assert ADDRESS.search("seen at knees.com")


def test_every_source_and_finding_says_something() -> None:
    """Every patient has a source, a story, a confirmed diagnosis, and findings that each have a value."""
    for case in collected_cases():
        assert case.source
        assert case.mechanism, case.id
        assert case.primary_diagnosis in case.diagnoses, case.id
        assert case.findings, case.id
        assert all(finding.value for finding in case.findings), case.id


def test_a_red_flag_is_urgent() -> None:
    """What cannot wait at all is also to be seen within two weeks."""
    assert [case.id for case in collected_cases() if case.red_flag and not case.urgent] == []


def test_every_diagnosis_is_in_the_model_or_counted_as_missing(collected: Validation) -> None:
    """A patient's diagnosis stands for a lesion, or is one of the few that the model is known not to have."""
    missing = {case.primary_diagnosis for case in collected_cases() if not expected(case).primary}
    assert missing == NOT_IN_THE_MODEL
    left = sum(case.primary_diagnosis in missing for case in collected_cases())
    assert collected.first.of == collected.top_three.of == len(ROWS) - left


def test_signs_are_read(collected: Validation, tell: Callable[[str], None]) -> None:
    """Of all signs as printed, the stated share becomes findings; the rest is told with its reason."""
    signs = sum(len(result.case.findings) for result in collected.results)
    adapted = [result.adapted for result in collected.results]
    left = [each for case in adapted for each in (*case.unread, *case.set_aside)]
    tell(f"signs of collected patients that were read: {signs - len(left)} of {signs}")
    assert all(each.why for each in left)
    assert (signs - len(left)) / signs >= LEAST_SIGNS_READ


def test_the_chain_runs_on_every_patient(collected: Validation) -> None:
    """Every patient becomes an examination that the whole chain can work up."""
    assert [result.case.id for result in collected.results if result.failures] == []


def test_the_examples_of_the_command_work(ran: Ran) -> None:
    """Both examples of the help end well and list every patient of theirs."""
    for example, validation in zip(VALIDATED, (ran.packaged, ran.collected), strict=True):
        left = ran.left[example]
        assert (left.code, left.err) == (0, "")
        assert [each.case.id for each in validation.results if each.case.id not in left.out] == []
    assert [result.case for result in ran.packaged.results] == list(packaged_cases())
    assert [result.case for result in ran.collected.results] == list(collected_cases())


def test_all_patients_are_worked_up_within_a_minute(ran: Ran, tell: Callable[[str], None]) -> None:
    """The packaged and the collected patients together take less than a minute of computing."""
    tell(f"every published patient worked up: {ran.computing_s:.0f} s of computing")
    assert ran.computing_s < MOST_COMPUTING_S


def test_the_totals_do_not_fall(collected: Validation, tell: Callable[[str], None]) -> None:
    """Right lesions, red flags, false alarms and confident errors stay within wide bounds."""
    for name, share in totals(collected):
        tell(f"{name}: {share_words(share)}")
    assert collected.first.count >= LEAST_FIRST
    assert collected.top_three.count >= LEAST_TOP_THREE
    assert collected.red_flags_raised.count >= LEAST_RED_FLAGS
    assert collected.false_alarms.count <= MOST_FALSE_ALARMS
    assert collected.confidently_wrong.count <= MOST_CONFIDENTLY_WRONG


def test_rounds_and_groups_add_up(collected: Validation) -> None:
    """The rounds together are all patients, the groups all whose diagnosis is in the model."""
    rounds = by_round(collected)
    assert {name: len(one.results) for name, one in rounds.items()} == ROUNDS
    assert sum(one.red_flags_raised.count for one in rounds.values()) == collected.red_flags_raised.count
    groups = by_group(collected).values()
    assert sum(len(one.results) for one in groups) == collected.first.of
    assert sum(one.first.count for one in groups) == collected.first.count


def test_every_lesion_stands_in_one_group() -> None:
    """No lesion of the model is forgotten in the groups, or counted twice."""
    assert Counter(lesion for lesions in GROUPS.values() for lesion in lesions) == Counter(
        list(load_lesions())
    )


def test_the_page_agrees_with_the_json(collected: Validation) -> None:
    """Every total of the page, by round and by group, is the one that --json gives."""
    lines = [line.strip("|").split("|") for line in collected_part(collected) if line.startswith("|")]
    cells = {row[0].strip(): [cell.strip() for cell in row[1:]] for row in lines}
    tree = json.loads(json.dumps(as_tree(collected)))

    def words(total: dict[str, float]) -> str:
        percent, low, high = (round(100 * total[key]) for key in ("share", "low", "high"))
        return f"{total['count']} of {total['of']}, {percent}% ({low} to {high})"

    assert cells[""] == ["first", "among the first three", "behind the 10th place"]
    for name, total in tree["totals"].items():
        assert cells[name] == [words(tree["rounds"][each][name]) for each in ROUNDS] + [words(total)]
    for name, group in tree["groups"].items():
        first, top_three = group["right lesion first"], group["right lesion among the first three"]
        assert cells[name][:2] == [words(first), words(top_three)]


def test_the_page_tells_the_first_readings_and_lists_no_collected_patient(
    packaged: Validation, collected: Validation
) -> None:
    """What the rounds gave at first reading stands in the page, as recorded; their patients do not."""
    page = as_markdown(packaged, collected)
    assert "third round: first in 16 of 57, 28% (18 to 41)" in page
    assert "second round: first in 41 of 76, 54% (43 to 65)" in page
    assert "fourth round: first in 19 of 40, 48% (33 to 63)" in page
    assert "fifth round: first in 13 of 36, 36% (22 to 52)" in page
    assert "sixth round: first in 14 of 43, 33% (20 to 47)" in page
    assert "seventh round: first in 8 of 27, 30% (16 to 48)" in page
    assert "eighth round: first in 16 of 36, 44% (30 to 60)" in page
    assert "ninth round: first in 18 of 29, 62% (44 to 77)" in page
    assert "tenth round: first in 10 of 29, 34% (20 to 53)" in page
    assert "eleventh round: first in 9 of 24, 38% (21 to 57)" in page
    among_three = [reading.top_three.count for reading in FIRST_READINGS.values()]
    assert among_three == [51, 25, 27, 26, 23, 12, 22, 20, 14, 14]
    assert re.findall(r"\bK\d{3}\b", page) == []


def test_the_command_lists_the_collected_patients(
    collected: Validation, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With --collected the command shows every patient of the rounds, then the totals of each round."""
    monkeypatch.setattr(command, "validate_cases", lambda *_cases, **_chain: collected)
    monkeypatch.setenv("COLUMNS", "400")
    app = typer.Typer()
    app.command()(command.validate)
    shown = CliRunner().invoke(app, ["--collected"]).output
    assert all(row["id"] in shown for row in ROWS)
    assert (
        f"third round, red flags raised: {share_words(by_round(collected)['third'].red_flags_raised)}"
        in shown
    )
    tree = json.loads(CliRunner().invoke(app, ["--collected", "--json"]).output)
    assert Counter(case["gathered"] for case in tree["cases"]) == ROUNDS
