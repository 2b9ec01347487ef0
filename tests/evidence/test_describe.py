import dataclasses
import json
import re

import pytest

from fabella import cli
from fabella.errors import InputError
from fabella.evidence import (
    RECALLED,
    Edition,
    SignEvidence,
    StudyAcuity,
    StudySetting,
    describe,
    describe_source,
    signs,
)


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Run ``fabella evidence`` on a wide terminal; return its exit code, output and complaints."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "400")
        with pytest.raises(SystemExit) as left:
            cli.main(["evidence", *arguments])
    out, err = capsys.readouterr()
    assert isinstance(left.value.code, int)
    return left.value.code, out, err


@pytest.fixture(scope="module")
def lachman(edition: Edition) -> SignEvidence:
    """Everything known of the Lachman test."""
    return describe(edition, "lachman")


def test_every_row_of_a_sign_is_described(lachman: SignEvidence, edition: Edition) -> None:
    """No accuracy or agreement row is lost; each question has one rival in use, the first."""
    assert sum(len(question.rivals) for question in lachman.questions) == len(edition.accuracy_of("lachman"))
    assert len(lachman.agreement) == len(edition.reliability_of("lachman"))
    assert (lachman.name, lachman.edition) == ("Lachman test", edition.id)
    for question in lachman.questions:
        assert [rival.source.key for rival in question.rivals if rival.used] == [question.used]
        assert question.rivals[0].used


def test_numbers_are_the_published_ones(lachman: SignEvidence) -> None:
    """The used row of the Lachman test for a tear is Sokal 2022: 0.81 (0.73 to 0.87), 0.85 (0.73 to 0.92)."""
    used = lachman.questions[[question.target for question in lachman.questions].index("acl_tear")].rivals[0]
    assert used.source.identifier == "pmid:35150292"
    assert used.sensitivity is not None
    assert used.specificity is not None
    assert dataclasses.astuple(used.sensitivity) == (0.81, 0.73, 0.87, "confidence", 0.95, "published")
    assert dataclasses.astuple(used.specificity) == (0.85, 0.73, 0.92, "confidence", 0.95, "published")
    assert used.lr_positive is None


def test_recalled_values_say_so_in_the_description(lachman: SignEvidence) -> None:
    """Wherever a recalled value is described, the words stand with the row and with the number."""
    recalled = [
        rival for question in lachman.questions for rival in question.rivals if RECALLED in rival.standing
    ]
    assert {rival.source.key for rival in recalled} == {"benjaminse_2006", "scholten_2003"}
    assert all(rival.sensitivity and RECALLED in rival.sensitivity.standing for rival in recalled)


def test_setting_and_acuity_reach_the_ranking(edition: Edition) -> None:
    """Asking for primary care changes which value is used."""
    usual = describe(edition, "mcmurray").questions
    primary = describe(
        edition, "mcmurray", setting=StudySetting.PRIMARY_CARE, acuity=StudyAcuity.CHRONIC
    ).questions
    any_tear = [question.target for question in usual].index("meniscus_tear_any")
    assert usual[any_tear].used == "smith_2015"
    assert primary[any_tear].used == "blyth_2015"


def test_every_sign_can_be_described_as_plain_data(edition: Edition) -> None:
    """The description of every sign holds nothing that JSON does not know, and counts its sources."""
    listed = signs(edition)
    assert len(listed) == len({each.sign_id for each in listed}) > 100
    for each in listed:
        told = describe(edition, each.sign_id)
        assert json.loads(json.dumps(dataclasses.asdict(told)))["name"] == each.name
        rivals = [rival for question in told.questions for rival in question.rivals]
        assert len({rival.source.key for rival in rivals}) == each.accuracy_sources
        assert len({row.source.key for row in told.agreement}) == each.agreement_sources


def test_a_known_gap_is_described(edition: Edition) -> None:
    """A sign of which nobody published the accuracy is known as a gap, not unknown."""
    told = describe(edition, "straight_leg_raise")
    assert (told.questions, told.agreement) == ((), ())
    assert told.gaps[0].startswith("accuracy for extensor mechanism rupture: ")


def test_an_unknown_sign_names_the_nearest(edition: Edition) -> None:
    """A misspelt sign brings up the one that was meant."""
    with pytest.raises(
        InputError, match=r"'lachmann' has no evidence in edition .*; did you mean 'lachman'\?"
    ):
        describe(edition, "lachmann")


def test_a_source_tells_what_is_taken_from_it(edition: Edition) -> None:
    """Rows by table, how many of them are recalled, and what they are about."""
    told = describe_source(edition, "soucie_2011")
    assert told.rows == {"norms": 16}
    assert told.recalled == 12
    assert told.subjects == {"norms": ("passive_flexion", "passive_extension")}
    noyes = describe_source(edition, "noyes_1980")
    assert set(noyes.rows) == {"accuracy", "prevalence", "cooccurrence"}


def test_every_source_can_be_described(edition: Edition) -> None:
    """The rows told of all sources together are all rows."""
    told = [describe_source(edition, key) for key in edition.sources]
    assert sum(each.rows.get("decision_rules", 0) for each in told) == len(edition.decision_rules)
    assert sum(each.rows.get("grading", 0) for each in told) == len(edition.grading)


def test_the_command_shows_rivals_and_the_choice(capsys: pytest.CaptureFixture[str]) -> None:
    """``fabella evidence lachman`` shows numbers, order, reasons, the source in use and agreement."""
    code, out, err = run(capsys, "lachman")
    assert (code, err) == (0, "")
    told = " ".join(out.split())
    used = told[told.index("Sokal PA 2022: first in order") :]
    assert "0.81 (0.73 to 0.87) specificity" in used[:120]
    assert "0.85 (0.73 to 0.92)" in used[:160]
    journal = "Knee Surg Sports Traumatol Arthrosc 30:3287-3303"
    assert "the model uses sensitivity 0.829 (0.749 to 0.888), specificity 0.876" in told
    assert f"first in order Sokal PA 2022 {journal} because published bivariate pooling" in told
    outlier = told[told.index("Lever test for ACL injury") :]
    assert "outlier: specificity" in outlier[:200]
    agreed = told[told.index("Cooperman JM 1990") :]
    assert "kappa" in agreed[:120]
    assert "0.69" in agreed[:120]


def test_the_command_marks_recalled_values(capsys: pytest.CaptureFixture[str]) -> None:
    """Every line that shows a recalled value says so."""
    _, out, _ = run(capsys, "reverse_pivot_shift")
    told = " ".join(out.split())
    assert f"Rubinstein RA 1994 ({RECALLED})" in told
    assert f"because single study; {RECALLED}" in told


def test_the_command_shows_ranges_as_ranges(capsys: pytest.CaptureFixture[str]) -> None:
    """A range over studies is labelled so, not shown like an interval."""
    _, out, _ = run(capsys, "effusion")
    assert "range 0.182 to 0.857" in out


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("sign", ["lachman", "mcmurray", "thessaly_5", "effusion", "pivot_shift"])
def test_the_command_reads_like_a_colleague(
    sign: str, width: int, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is said twice in a row, no id is shown, and a share has two or three decimals."""
    monkeypatch.setenv("COLUMNS", str(width))
    with pytest.raises(SystemExit):
        cli.main(["evidence", sign])
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= width
    assert re.findall(r"\b(\w{4,}),? \1\b", " ".join(out.split())) == []
    assert re.findall(r"\b[a-z]+_[a-z_]+\b", out.partition("\n\n")[2]) == []
    shares = re.findall(r"^    (?:sensitivity|specificity)  \S+  (.*)$", out, re.MULTILINE)
    numbers = [number for share in shares for number in re.findall(r"\d+(?:\.\d+)?", share)]
    assert [each for each in numbers if not re.fullmatch(r"[01]\.\d{2,3}", each)] == []


def test_the_command_heads_a_question_with_the_name_of_the_lesion(capsys: pytest.CaptureFixture[str]) -> None:
    """The heading names what was looked for in full and how the sign was read; a range is said once."""
    _, out, _ = run(capsys, "lachman")
    assert "\nAnterior cruciate ligament tear, sign read as positive " in out
    assert "\nComplete tear of the anterior cruciate ligament, sign read as ≥ 3mm side difference " in out
    assert "kappa, range 0.42 to 0.81, between examiners; " in out
    assert f"  Benjaminse A 2006: {RECALLED}\n" in out
    assert "kappa over 0.80, between examiners" in run(capsys, "pivot_shift")[1]


def test_the_command_lists_signs(capsys: pytest.CaptureFixture[str], edition: Edition) -> None:
    """Without a sign, every sign that has evidence is listed."""
    code, out, _ = run(capsys)
    assert code == 0
    assert all(f" {each.sign_id} " in out for each in signs(edition))


def test_the_command_shows_a_source(capsys: pytest.CaptureFixture[str]) -> None:
    """``--source`` shows citation, identifier, remark, recalled rows and what is taken from it."""
    code, out, _ = run(capsys, "--source", "soucie_2011")
    assert code == 0
    assert out.startswith("Soucie 2011 Haemophilia 17:500-507\n  doi:10.1111/j.1365-2516.2010.02399.x\n")
    assert "12 of 16 rows are values from memory, original not re-read" in out


@pytest.mark.parametrize("arguments", [(), ("lachman",), ("--source", "sokal_2022")])
def test_the_command_prints_json(arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """``--json`` prints one JSON value and nothing else."""
    code, out, err = run(capsys, *arguments, "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)


def test_json_holds_what_is_used(capsys: pytest.CaptureFixture[str]) -> None:
    """The JSON names the source in use by its key."""
    _, out, _ = run(capsys, "joint_line_tenderness", "--setting", "primary_care", "--json")
    assert json.loads(out)["questions"][0]["used"] == "blyth_2015"


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("lachmann",), 1, "did you mean 'lachman'?"),
        (("--source", "sokal"), 1, "'sokal' is no source of this edition"),
        (("--edition", "1999.1"), 1, "no edition '1999.1'"),
        (("lachman", "--source", "sokal_2022"), 2, "not for both"),
        (("lachman", "--setting", "moon"), 2, "moon"),
    ],
)
def test_the_command_refuses_with_one_message(
    arguments: tuple[str, ...], code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Wrong names leave with 1, wrong usage with 2; nothing is printed on standard output."""
    left, out, err = run(capsys, *arguments)
    assert (left, out) == (code, "")
    assert says in err
