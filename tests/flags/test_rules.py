"""The rules as data: complete, sourced, and tied to the protocol and to the published criteria."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import pytest

from fabella.errors import InputError
from fabella.evidence import load_edition
from fabella.flags import Rule, Urgency, cannot_wait, load_rules
from fabella.flags.knee import Knee
from fabella.flags.page import as_markdown
from fabella.flags.rules import read_rules
from tests.flags.build import PROTOCOL
from tests.flags.examples import EXAMPLES

T = TypeVar("T")

PAGE = Path(__file__).parents[2] / "docs" / "cannot_wait.md"
RULES = load_rules()


def test_every_published_criterion_is_carried_or_left_out_with_a_reason() -> None:
    """Each row of the published decision rules is named by a rule, or by the list of what is left out."""
    published = {f"{row.rule_id} {row.criterion_no}" for row in load_edition().decision_rules}
    carried = {row for rule in RULES.values() for row in rule.decides}
    left_out = [row for each in RULES.left_out for row in each.rows]
    assert len(left_out) == len(set(left_out))
    assert carried.isdisjoint(left_out)
    assert carried | set(left_out) == published


CITED = re.compile(r"\b(19|20)\d\d\b|NICE|Scottish|regional|teaching case|common practice", re.IGNORECASE)


def test_every_rule_has_a_source_that_says_what_it_is() -> None:
    """A rule cites a paper, guideline or teaching text, or says that it is common practice."""
    for rule in RULES.values():
        assert CITED.search(rule.source), rule.id
        assert re.fullmatch(r"(10\.\d{4,}/\S+|\d+)?", rule.doi_or_pmid), rule.id


def test_what_was_not_re_read_says_so() -> None:
    """A reduced dislocation, the fracture rule's exclusions, early repair, necrosis and seven more are."""
    assert {rule.id for rule in RULES.values() if rule.recalled} == {
        "knee_dislocation",
        "fracture_rule_not_usable",
        "lateral_side_torn",
        "skin_infection_with_fever",
        "stiff_after_operation",
        "lasting_synovitis",
        "dvt_in_pregnancy",
        "poor_arteries",
        "open_fracture",
        "small_child_fracture",
        "sickle_cell_bone_pain",
    }


def test_what_settles_an_open_rule_asks_at_least_as_much() -> None:
    """A rule that settles another is at least as urgent, and forbids all that the other forbids."""
    urgencies = list(Urgency)
    for rule in RULES.values():
        for other in map(RULES.__getitem__, rule.settled_by):
            assert urgencies.index(other.urgency) <= urgencies.index(rule.urgency), (rule.id, other.id)
            assert forbidden(rule) <= forbidden(other), (rule.id, other.id)


def forbidden(rule: Rule) -> set[str]:
    """The signs that must not be examined while a rule is met or open."""
    states = set(rule.contraindicates)
    return {sign.id for sign in PROTOCOL.signs if states & {each.id for each in sign.avoid_when}}


def test_contraindications_are_those_of_the_protocol() -> None:
    """A rule names only states of the patient that the protocol knows."""
    known = {each.id for each in PROTOCOL.contraindications}
    assert {state for rule in RULES.values() for state in rule.contraindicates} <= known


def test_every_sign_that_a_rule_asks_about_exists(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each sign or question asked for stands in the protocol, so that no rule waits in vain."""
    examined: set[str] = set()
    asked: set[str] = set()
    find, said, number_said = Knee._found, Knee.said, Knee.number_said

    def spy(method: Callable[[Knee, str], T], names: set[str]) -> Callable[[Knee, str], T]:
        def recording(knee: Knee, name: str) -> T:
            names.add(name)
            return method(knee, name)

        return recording

    monkeypatch.setattr(Knee, "_found", spy(find, examined))
    monkeypatch.setattr(Knee, "said", spy(said, asked))
    monkeypatch.setattr(Knee, "number_said", spy(number_said, asked))
    for triple in EXAMPLES.values():
        cannot_wait(triple[0], protocol=PROTOCOL)
    assert len(examined) > 80
    assert len(asked) > 40
    assert [name for name in sorted(examined | asked) if name not in PROTOCOL] == []
    assert [name for name in sorted(asked) if not PROTOCOL.sign(name).is_history] == []
    assert [name for name in sorted(examined) if PROTOCOL.sign(name).is_history] == []


def test_the_page_is_not_stale() -> None:
    """The page of the documentation is what the rules make today."""
    assert PAGE.read_text("utf-8") == as_markdown(RULES)


def test_the_page_shows_every_rule_with_every_criterion_and_source() -> None:
    """Each rule has its heading, its criteria with their questions, and its source."""
    page = PAGE.read_text("utf-8")
    for rule in RULES.values():
        assert f"### {rule.name} (`{rule.id}`)" in page
        assert f"Source: {rule.source}" in page
        for criterion in rule.criteria:
            assert f"| {criterion.words} | {criterion.ask} |" in page


def test_all_defects_of_a_rules_file_are_told_at_once() -> None:
    """A wrong urgency, a missing field, an unknown one, a doubled id and a mute question are all listed."""
    text = """
    [[rule]]
    id = "one"
    name = "One"
    urgency = "same day"
    action = "Act."
    source = "common practice"
    doi_or_pmid = ""
    applies = "Everybody."
    excludes = "Nobody."
    combine = "any one"
    decides = []
    contraindicates = []
    colour = "red"
    criteria = [{ id = "a", words = "a", ask = "perhaps" }, { id = "a", words = "b", ask = "ask" },
        { id = "b", words = "c", ask = "ask one; ask two", answered = { "ask tow" = ["fever"] } }]
    """
    with pytest.raises(InputError) as refused:
        read_rules(text)
    told = str(refused.value)
    for part in (
        "'recalled' is missing",
        "'colour' is no field",
        "did you mean 'same_day'?",
        "'a' is used twice",
    ):
        assert part in told
    assert "one.a: 'perhaps' does not say what to do" in told
    assert "one.b.answered: 'ask tow' is no clause of what it asks" in told
