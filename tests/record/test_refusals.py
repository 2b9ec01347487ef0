import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from fabella.errors import InputError, Problem
from fabella.protocol import SideRule, load_protocol
from fabella.record import MAX_BYTES, Origin, Reason, State, read_examination
from fabella.record.contradictions import DIFFERENCES, RULES

PROTOCOL = load_protocol()
TODAY = date(2025, 6, 30)
LACHMAN = {"sign": "lachman", "side": "right", "state": "abnormal", "level": "1+"}


def problems(text: str | bytes) -> tuple[Problem, ...]:
    """Everything for which a text is refused."""
    with pytest.raises(InputError) as refused:
        read_examination(text, protocol=PROTOCOL, today=TODAY)
    return refused.value.problems


def refused(**keys: Any) -> tuple[Problem, ...]:
    """Everything for which an otherwise valid examination with these keys is refused."""
    return problems(json.dumps({"format": "fabella.examination/1", "id": "a", "origin": "invented", **keys}))


def only(found: tuple[Problem, ...]) -> Problem:
    """The one problem, where there must be one only."""
    assert len(found) == 1, "\n".join(map(str, found))
    return found[0]


def finding(**keys: Any) -> dict[str, Any]:
    """The keys of an examination with one finding, a Lachman test with these changes."""
    return {"findings": [{**LACHMAN, **keys}]}


MEASURED = {"sign": "passive_flexion", "side": "left", "value": 140, "unit": "deg"}
FILM = {"image": "radiograph", "side": "right"}
PROCEDURE = {"name": "acl_reconstruction", "sides": ["left"], "on": "2025-01-01"}


def measured(**keys: Any) -> dict[str, Any]:
    """The keys of an examination with one reading, of passive flexion, with these changes."""
    return {"findings": [{**MEASURED, **keys}]}


# Each row: what is wrong; then place, value, and words that have to stand in the rest of the message.
ONE_PROBLEM: list[tuple[dict[str, Any], str, str, list[str]]] = [
    # names
    ({"fromat": 1}, "fromat", "fromat", ["not a key", "'format'"]),
    ({"format": "fabella.examination/2"}, "format", "fabella.examination/2", ["'fabella.examination/1'"]),
    ({"format": None}, "format", "", ["missing", "fabella.examination/1"]),
    ({"id": None}, "id", "", ["missing", "letters"]),
    ({"origin": None}, "origin", "", ["missing", "patient, published, invented, simulated"]),
    ({"origin": "inventd"}, "origin", "inventd", ["'invented'"]),
    ({"patient": {"age": 3}}, "patient.age", "age", ["not a key", "allowed: age_years"]),
    ({"patient": {"sex": "F"}}, "patient.sex", "F", ["allowed: female, male"]),
    ({"patient": {"sex": "Female"}}, "patient.sex", "Female", ["'female'"]),
    ({"context": {"setting": "emergncy"}}, "context.setting", "emergncy", ["'emergency'"]),
    ({"context": {"acuity": "cronic"}}, "context.acuity", "cronic", ["'chronic'"]),
    ({"context": {"mechanism": "twisted"}}, "context.mechanism", "twisted", ["'twist'"]),
    ({"context": {"complaint": ["both"]}}, "context.complaint[0]", "both", ["allowed: right, left"]),
    ({"context": {"complaint": ["left", "left"]}}, "context.complaint[1]", "left", ["more than once"]),
    ({"history": {"pop_herd": True}}, "history.pop_herd", "pop_herd", ["'pop_heard'"]),
    ({"history": {"lachman": True}}, "history.lachman", "lachman", ["under findings"]),
    ({"history": {"consent": True}}, "history.consent", "consent", ["write consent_given"]),
    (finding(sgin="x"), "findings[0].sgin", "sgin", ["'sign'"]),
    (finding(sign="lachmann"), "findings[0].sign", "lachmann", ["'lachman'"]),
    (finding(sign="Lachman"), "findings[0].sign", "Lachman", ["'lachman'"]),
    (measured(sign="knee flexion"), "findings[0].sign", "knee flexion", ["did you mean 'passive_flexion'"]),
    (finding(sign="zzz"), "findings[0].sign", "zzz", ["allowed: walking_aid, ", " more"]),
    (finding(sign="fever", side=None, level=None), "findings[0].sign", "fever", ["history.fever"]),
    (finding(sign="chaperone", side=None), "findings[0].sign", "chaperone", ["write chaperone_offered"]),
    (finding(sign="greeting", side=None), "findings[0].sign", "greeting", ["leave it out"]),
    (finding(side="rihgt"), "findings[0].side", "rihgt", ["'right'"]),
    (finding(side="both"), "findings[0].side", "both", ["allowed: right, left"]),
    (finding(state="positive"), "findings[0].state", "positive", ["abnormal"]),
    (finding(level="1"), "findings[0].level", "1", ["'1+'"]),
    (finding(level="severe"), "findings[0].level", "severe", ["allowed: 0, 1+, 2+, 3+"]),
    (measured(unit="degrees"), "findings[0].unit", "degrees", ["'deg'"]),
    (measured(unit="cm"), "findings[0].unit", "cm", ["allowed: deg"]),
    (finding(state="untestable", level=None, reason="pian"), "findings[0].reason", "pian", ["'pain'"]),
    (
        {"context": {"procedure": {"name": "total_knee", "sides": ["left"], "on": "2025-01-01"}}},
        "context.procedure.name",
        "total_knee",
        ["not allowed", "'total_knee_replacement'"],
    ),
    (
        {"context": {"procedure": {**PROCEDURE, "date": "2025-01-01"}}},
        "context.procedure.date",
        "date",
        ["name, sides, on"],
    ),
    ({"totals": [{"score": "OKS", "value": 30}]}, "totals[0].score", "OKS", ["not allowed", "'oks'"]),
    ({"totals": [{"score": "koos", "value": 30}]}, "totals[0].score", "koos", ["not allowed", "'koos"]),
    ({"totals": [{"score": "oks", "value": 30, "sides": []}]}, "totals[0].sides", "sides", ["'side'"]),
    ({"imaging": [{"image": "xray", "side": "left"}]}, "imaging[0].image", "xray", ["not allowed"]),
    ({"imaging": [{**FILM, "side": "both"}]}, "imaging[0].side", "both", ["not allowed"]),
    ({"imaging": [{**FILM, "show": []}]}, "imaging[0].show", "show", ["'shows'"]),
    ({"imaging": [{**FILM, "shows": ["acl_taer"]}]}, "imaging[0].shows[0]", "acl_taer", ["'acl_tear'"]),
    # wrong types
    ({"id": 7}, "id", "7", ["a number, not text"]),
    ({"origin": ["invented"]}, "origin", "[…]", ["a list, not text"]),
    ({"patient": []}, "patient", "[…]", ["a list, not an object"]),
    ({"patient": {"age_years": "24"}}, "patient.age_years", "24", ["text, not a number", "0 to 120"]),
    ({"patient": {"age_years": True}}, "patient.age_years", "true", ["true or false, not a number"]),
    ({"context": {"complaint": "left"}}, "context.complaint", "left", ["text, not a list"]),
    ({"context": {"complaint": "None"}}, "context.complaint", "None", ["text, not a list"]),
    ({"context": {"complaint": ["none"]}}, "context.complaint[0]", "none", ["no side"]),
    ({"context": {"complaint": [1]}}, "context.complaint[0]", "1", ["no side"]),
    ({"consent_given": "true"}, "consent_given", "true", ["text, not true or false"]),
    ({"chaperone_offered": 1}, "chaperone_offered", "1", ["a number, not true or false"]),
    ({"pain_asked": {}}, "pain_asked", "{…}", ["an object, not true or false"]),
    ({"examiner": False}, "examiner", "false", ["true or false, not text"]),
    ({"history": {"fever": "yes"}}, "history.fever", "yes", ["text, not true or false"]),
    ({"history": {"fever": 0}}, "history.fever", "0", ["a number, not true or false"]),
    ({"history": {"swelling_onset_hours": True}}, "history.swelling_onset_hours", "true", ["0 to 336 h"]),
    ({"history": [True]}, "history", "[…]", ["a list, not an object"]),
    ({"findings": {}}, "findings", "{…}", ["an object, not a list"]),
    ({"findings": [None]}, "findings[0]", "null", ["null, not an object"]),
    (finding(level=1), "findings[0].level", "1", ["a number, not text"]),
    (measured(value="140"), "findings[0].value", "140", ["text, not a number", "0 to 170 deg"]),
    ({"totals": {"oks": 30}}, "totals", "{…}", ["an object, not a list"]),
    ({"totals": [30]}, "totals[0]", "30", ["a number, not an object"]),
    ({"totals": [{"score": "oks", "value": "30"}]}, "totals[0].value", "30", ["text, not a number"]),
    ({"context": {"procedure": "washout"}}, "context.procedure", "washout", ["text, not an object"]),
    ({"context": {"procedure": {**PROCEDURE, "sides": "left"}}}, "context.procedure.sides", "left", ["text"]),
    ({"imaging": FILM}, "imaging", "{…}", ["an object, not a list"]),
    ({"imaging": ["radiograph"]}, "imaging[0]", "radiograph", ["text, not an object"]),
    ({"imaging": [{**FILM, "shows": "acl_tear"}]}, "imaging[0].shows", "acl_tear", ["text, not a list"]),
    ({"imaging": [{**FILM, "shows": [None]}]}, "imaging[0].shows[0]", "null", ["no lesion"]),
    # impossible values
    ({"imaging": [{**FILM, "on": "2031-01-01"}]}, "imaging[0].on", "2031-01-01", ["after the examination"]),
    ({"totals": [{"score": "oks", "value": 49}]}, "totals[0].value", "49", ["too high", "0 to 48 points"]),
    ({"totals": [{"score": "tegner", "value": -1}]}, "totals[0].value", "-1", ["too low", "0 to 10 points"]),
    (
        {"examined_on": "2025-01-05", "context": {"procedure": {**PROCEDURE, "on": "2025-01-06"}}},
        "context.procedure.on",
        "2025-01-06",
        ["after the examination", "2025-01-05"],
    ),
    (
        {"context": {"procedure": {**PROCEDURE, "on": "2025-07-01"}}},
        "context.procedure.on",
        "2025-07-01",
        ["after the examination", "2025-06-30"],
    ),
    ({"id": "a b"}, "id", "a b", ["letters, digits"]),
    ({"id": ""}, "id", "", ["blank"]),
    ({"examiner": " "}, "examiner", " ", ["blank"]),
    ({"examiner": "two\nlines"}, "examiner", "two\\u000alines", ["one line"]),
    ({"examiner": "x" * 201}, "examiner", "x" * 60 + "…", ["200 characters"]),
    ({"source": "half \ud800"}, "source", "half \\ud800", ["characters"]),
    ({"source": "bell \a"}, "source", "bell \\u0007", ["control characters"]),
    ({"patient": {"age_years": 300}}, "patient.age_years", "300", ["too high", "0 to 120 years"]),
    ({"patient": {"age_years": -1}}, "patient.age_years", "-1", ["too low", "0 to 120 years"]),
    ({"patient": {"age_years": float("nan")}}, "patient.age_years", "NaN", ["no finite number"]),
    ({"context": {"onset_days": -3}}, "context.onset_days", "-3", ["too low", "0 to"]),
    ({"context": {"onset_days": float("inf")}}, "context.onset_days", "Infinity", ["no finite number"]),
    (
        {"patient": {"age_years": 1}, "context": {"onset_days": 733}},
        "context.onset_days",
        "733",
        ["before birth", "patient.age_years"],
    ),
    ({"examined_on": "2025-07-01"}, "examined_on", "2025-07-01", ["future", "2025-06-30"]),
    ({"examined_on": "2025-02-29"}, "examined_on", "2025-02-29", ["no day of the calendar"]),
    ({"examined_on": "20250601"}, "examined_on", "20250601", ["YYYY-MM-DD"]),
    ({"examined_on": "1025-06-01"}, "examined_on", "1025-06-01", ["from 1900 on"]),
    ({"examined_on": "2025-06-01T10:00"}, "examined_on", "2025-06-01T10:00", ["YYYY-MM-DD"]),
    (measured(value=400), "findings[0].value", "400", ["too high", "0 to 170 deg"]),
    (measured(sign="thigh_girth", value=-45, unit="cm"), "findings[0].value", "-45", ["15 to 100 cm"]),
    (measured(value=float("-inf")), "findings[0].value", "-Infinity", ["no finite number"]),
    ({"history": {"morning_stiffness_min": 700}}, "history.morning_stiffness_min", "700", ["0 to 600 min"]),
    # what belongs together
    ({"totals": [{"value": 30}]}, "totals[0].score", "", ["missing", "oks"]),
    ({"totals": [{"score": "oks", "value": None}]}, "totals[0].value", "", ["missing", "points"]),
    ({"context": {"procedure": {**PROCEDURE, "on": None}}}, "context.procedure.on", "", ["missing", "day"]),
    (
        {"context": {"procedure": {**PROCEDURE, "sides": []}}},
        "context.procedure.sides",
        "[…]",
        ["empty", "right, left"],
    ),
    (
        {"context": {"procedure": {**PROCEDURE, "sides": None}}},
        "context.procedure.sides",
        "",
        ["missing", "right, left"],
    ),
    ({"origin": "published"}, "source", "", ["missing", "cite"]),
    (finding(side=None), "findings[0].side", "", ["missing", "lachman", "right, left"]),
    (
        {"findings": [{"sign": "body_temperature", "side": "left", "value": 38, "unit": "C"}]},
        "findings[0].side",
        "left",
        ["belongs to the person", "leave it out"],
    ),
    (finding(sign=None), "findings[0].sign", "", ["missing"]),
    (finding(state=None), "findings[0].state", "", ["missing", "not_examined, normal, abnormal, untestable"]),
    (measured(value=None, unit=None), "findings[0].state", "", ["missing"]),
    (finding(state="normal"), "findings[0].level", "1+", ["contradicts the state normal", "allowed: 0"]),
    (finding(level="0"), "findings[0].level", "0", ["contradicts the state abnormal", "1+, 2+, 3+"]),
    (
        {"findings": [{"sign": "knee_extension_strength", "side": "left", "state": "normal", "level": "0"}]},
        "findings[0].level",
        "0",
        ["contradicts the state normal", "allowed: 5"],
    ),
    (finding(state="untestable", level=None), "findings[0].reason", "", ["missing", "pain, guarding"]),
    (finding(reason="pain"), "findings[0].reason", "pain", ["untestable only"]),
    (finding(state="not_examined"), "findings[0].level", "1+", ["not_examined"]),
    (finding(state="untestable", reason="pain"), "findings[0].level", "1+", ["untestable"]),
    (
        finding(state="not_examined", level=None, method="hand"),
        "findings[0].method",
        "hand",
        ["not_examined"],
    ),
    (measured(unit=None), "findings[0].unit", "", ["missing", "allowed: deg"]),
    (measured(state="normal", value=None), "findings[0].unit", "deg", ["no value"]),
    (measured(state="abnormal", level="1+"), "findings[0].level", "1+", ["no levels", "value"]),
    (finding(sign="mcmurray", level="yes", value=3), "findings[0].value", "3", ["not measured", "no, yes"]),
    # said twice, or at odds
    ({"imaging": [FILM, FILM]}, "imaging[1]", "radiograph", ["twice for the right knee", "keep the latest"]),
    (
        {"imaging": [{**FILM, "shows": ["acl_tear", "acl_tear"]}]},
        "imaging[0].shows[1]",
        "acl_tear",
        ["more than once", "keep one"],
    ),
    (
        {"totals": [{"score": "oks", "value": 30}, {"score": "oks", "value": 31}]},
        "totals[1]",
        "oks",
        ["twice without a side", "keep one"],
    ),
    (
        {"totals": [{"score": "oks", "value": 30, "side": "left"}] * 2},
        "totals[1]",
        "oks",
        ["twice for the left knee", "keep one"],
    ),
    (
        {"findings": [LACHMAN, MEASURED, {**LACHMAN, "note": "same"}]},
        "findings[2]",
        "lachman",
        ["twice for the right knee", "first at findings[0]", "the two agree", "keep one"],
    ),
    (
        {"findings": [LACHMAN, {**LACHMAN, "level": "2+"}]},
        "findings[1]",
        "lachman",
        ["twice for the right knee", "first at findings[0]", "the two disagree"],
    ),
    (
        {"findings": [{"sign": "tophi", "state": "normal"}] * 2},
        "findings[1]",
        "tophi",
        ["twice for the person", "the two agree"],
    ),
    (
        {"history": {"swelling_noticed": False, "swelling_onset_hours": 2}},
        "history.swelling_onset_hours",
        "2",
        ["contradicts history.swelling_noticed"],
    ),
]


@pytest.mark.parametrize(("keys", "place", "value", "words"), ONE_PROBLEM)
def test_each_fault_is_told_with_its_place_value_and_remedy(
    keys: dict[str, Any], place: str, value: str, words: list[str]
) -> None:
    """One fault gives one problem, which names the place and the value and says what would be right."""
    problem = only(refused(**keys))
    assert (problem.place, problem.value) == (place, value)
    told = f"{problem.says}; {problem.remedy}"
    assert [word for word in words if word not in told] == []


KNEE_RULES: dict[tuple[str, str], tuple[dict[str, Any], dict[str, Any]]] = {
    ("passive_flexion", "fixed_flexion"): ({"value": 20, "unit": "deg"}, {"value": 30, "unit": "deg"}),
    ("active_flexion", "fixed_flexion"): ({"value": 20, "unit": "deg"}, {"value": 30, "unit": "deg"}),
    ("passive_flexion", "passive_extension"): ({"value": 20, "unit": "deg"}, {"value": -30, "unit": "deg"}),
    ("passive_extension", "fixed_flexion"): ({"value": 5, "unit": "deg"}, {"value": 5, "unit": "deg"}),
    ("recurvatum", "fixed_flexion"): ({"state": "abnormal"}, {"value": 5, "unit": "deg"}),
    ("recurvatum", "passive_extension"): ({"state": "abnormal"}, {"value": -5, "unit": "deg"}),
}
BOTH_ABNORMAL = ({"state": "abnormal"}, {"state": "abnormal"})


@pytest.mark.parametrize(("one", "other"), [(rule.one, rule.other) for rule in RULES])
def test_what_no_knee_can_show_is_refused_on_one_side_only(one: str, other: str) -> None:
    """Two findings that contradict each other are refused with both places, but never across the sides."""
    first, second = KNEE_RULES.get((one, other), BOTH_ABNORMAL)
    pair = [{"sign": other, "side": "left", **second}, {"sign": one, "side": "left", **first}]
    problem = only(refused(findings=pair))
    assert (problem.place, problem.value) == ("findings[1]", one)
    assert f"contradicts findings[0] ({other})" in problem.says
    apart = [pair[0], {**pair[1], "side": "right"}]
    text = json.dumps({"format": "fabella.examination/1", "id": "a", "origin": "invented", "findings": apart})
    assert len(read_examination(text, protocol=PROTOCOL, today=TODAY).findings) == 2


@pytest.mark.parametrize("sign", DIFFERENCES)
def test_a_difference_between_the_sides_cannot_favour_both(sign: str) -> None:
    """What is measured as one side minus the other has opposite signs on the two sides."""
    both = [{"sign": sign, "side": side, "value": 2, "unit": "cm"} for side in ("right", "left")]
    assert "opposite signs" in only(refused(findings=both)).says


def test_the_rules_speak_of_signs_that_exist() -> None:
    """No rule names a sign that the protocol lacks, and every sign measured as a difference has its rule."""
    named = {name for rule in RULES for name in (rule.one, rule.other)}
    assert [sign for sign in sorted(named) if sign not in PROTOCOL] == []
    differences = [sign.id for sign in PROTOCOL.signs if sign.side_rule is SideRule.THIS_MINUS_OTHER]
    assert sorted(differences) == sorted(DIFFERENCES)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ({"sign": "passive_flexion", "value": 30}, {"sign": "fixed_flexion", "value": 30}),
        ({"sign": "active_flexion", "value": 120}, {"sign": "passive_flexion", "value": 118}),
        ({"sign": "passive_extension", "value": 0}, {"sign": "fixed_flexion", "value": 5}),
    ],
)
def test_what_is_merely_odd_is_accepted(first: dict[str, Any], second: dict[str, Any]) -> None:
    """Borderline and imprecise readings stand: the file refuses only the impossible."""
    findings = [{**each, "side": "right", "unit": "deg"} for each in (first, second)]
    text = json.dumps(
        {"format": "fabella.examination/1", "id": "a", "origin": "invented", "findings": findings}
    )
    assert len(read_examination(text, protocol=PROTOCOL, today=TODAY).findings) == 2


START = '{"format": "fabella.examination/1", "id": "a", "origin": "invented"'


@pytest.mark.parametrize(
    ("text", "place", "value"),
    [
        (START + ', "id": "a"}', "id", "id"),
        (START + ', "patient": {"sex": "male", "sex": "male"}}', "patient.sex", "sex"),
        (START + ', "history": {"fever": true, "fever": false}}', "history.fever", "fever"),
        (
            START + ', "findings": [{"sign": "tophi", "state": "normal", "state": "normal"}]}',
            "findings[0].state",
            "state",
        ),
    ],
)
def test_a_key_that_stands_twice_is_refused(text: str, place: str, value: str) -> None:
    """Neither of two equal keys is taken, whether or not they agree."""
    problem = only(problems(text))
    assert (problem.place, problem.value) == (place, value)
    assert "more than once" in problem.says


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("", "the text", "is empty"),
        (" \n\t", "the text", "is empty"),
        (START, "line 1, column 68", "the text breaks off"),
        ('{\n  "id": "a",\n', "line 3, column 1", "the text breaks off"),
        ('{\n  "id": a}', "line 2, column 9", "is not JSON"),
        ("{'id': 'a'}", "line 1, column 2", "is not JSON"),
        (START + "} x", "line 1, column 70", "is not JSON"),
        ('{"id": "a\nb"}', "line 1, column 10", "is not JSON"),
        (START.encode() + b', "examiner": "\xff"}', "the text, byte 83", "is not UTF-8"),
        (START.encode("utf-16"), "the text, byte 1", "is not UTF-8"),
        ("\ufeff" + START + "}", "the text", "byte order mark"),
        ((START + "}").encode("utf-8-sig"), "the text", "byte order mark"),
        (" " * (MAX_BYTES + 1), "the text", "larger than 5,000,000 bytes"),
        ("é" * (MAX_BYTES // 2 + 1), "the text", "larger than 5,000,000 bytes"),
        ("[" * 100_000, "line 1", "nested too deeply"),
        ('{"a":' * 100_000, "line 1", "nested too deeply"),
    ],
)
def test_what_is_no_json_is_refused_whole(text: str | bytes, place: str, words: str) -> None:
    """What is not whole, clean JSON of bearable size is one problem with its place; nothing is read."""
    problem = only(problems(text))
    assert problem.place == place
    assert words in problem.says
    assert "nothing was read" in problem.says


@pytest.mark.parametrize(
    "text", ["[]", "null", "3", '"fabella.examination/1"', "true", "NaN", "1e999", "9" * 5000]
)
def test_json_that_is_no_object_is_refused(text: str) -> None:
    """A file that holds a list, a text or a number is told so, once."""
    problem = only(problems(text))
    assert problem.place == "the file"
    assert "not an object" in problem.says


def test_every_problem_of_a_file_is_listed_at_once() -> None:
    """Twenty faults in one file give twenty problems, in the order of the format."""
    text = """{"format": "fabella.examination/3", "id": "no spaces", "origin": "patent", "colour": "red",
        "examined_on": "2030-01-01", "patient": {"age_years": 300, "sex": 1, "sex": 1},
        "context": {"setting": "clinic", "onset_days": -1, "complaint": ["left", "middle"]},
        "consent_given": "yes", "history": {"fevre": true, "night_pain": "no"},
        "findings": [7, {"sign": "lachmann", "side": "left", "state": "normal"},
                     {"sign": "lachman", "side": "left", "state": "normal", "level": "3+", "reason": "pain"},
                     {"sign": "passive_flexion", "state": "untestable", "value": 900}]}"""
    assert [problem.place for problem in problems(text)] == [
        "colour",
        "format",
        "id",
        "origin",
        "examined_on",
        "patient.sex",
        "patient.age_years",
        "patient.sex",
        "context.setting",
        "context.onset_days",
        "context.complaint[1]",
        "consent_given",
        "history.fevre",
        "history.night_pain",
        "findings[0]",
        "findings[1].sign",
        "findings[2].reason",
        "findings[2].level",
        "findings[3].value",
        "findings[3].reason",
        "findings[3].value",
        "findings[3].unit",
        "findings[3].side",
    ]


@pytest.mark.parametrize(("key", "members"), [("origin", Origin), ("state", State), ("reason", Reason)])
def test_every_name_that_the_format_allows_is_read(key: str, members: type[Origin | State | Reason]) -> None:
    """Each allowed origin, state and reason is accepted where it belongs."""
    whole: Callable[[str], dict[str, Any]] = {
        "origin": lambda name: {"origin": name, "source": "a paper"},
        "state": lambda name: {"findings": [_state(name)]},
        "reason": lambda name: {"findings": [{**_state("untestable"), "reason": name}]},
    }[key]
    for name in members:
        text = json.dumps({"format": "fabella.examination/1", "id": "a", "origin": "invented", **whole(name)})
        assert name.value in str(read_examination(text, protocol=PROTOCOL, today=TODAY))


def _state(name: str) -> dict[str, Any]:
    reason = {"reason": "other"} if name == "untestable" else {}
    return {"sign": "mcmurray", "side": "left", "state": name, **reason}
