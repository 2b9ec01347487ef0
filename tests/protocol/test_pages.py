import json
from pathlib import Path

import pytest

from fabella import cli
from fabella.protocol import load_protocol
from fabella.protocol.card import card
from fabella.protocol.page import as_markdown

PROTOCOL = load_protocol()
PAGE = Path(__file__).parents[2] / "docs" / "protocol.md"


def leave(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Run `fabella protocol` and return its exit code, what it printed and what it complained of."""
    with pytest.raises(SystemExit) as left:
        cli.main(["protocol", *arguments])
    out, err = capsys.readouterr()
    assert isinstance(left.value.code, int)
    return left.value.code, out, err


def test_the_page_is_not_stale() -> None:
    """The page is what `fabella protocol --markdown > docs/protocol.md` makes of the data today."""
    assert PAGE.read_text(encoding="utf-8") == as_markdown(PROTOCOL)


def test_the_page_shows_every_sign_once_in_its_table() -> None:
    """Each sign has one row that begins with its name and id."""
    page = as_markdown(PROTOCOL)
    assert [sign.id for sign in PROTOCOL.signs if page.count(f"<br>`{sign.id}`") != 1] == []


def test_every_row_of_the_page_has_the_cells_of_its_table() -> None:
    """No text breaks a table: a row has as many cells as its heading."""
    blocks = [block.splitlines() for block in as_markdown(PROTOCOL).split("\n\n") if block.startswith("|")]
    assert len(blocks) == len(PROTOCOL.positions) + 3
    assert [row for block in blocks for row in block if row.count(" | ") != block[0].count(" | ")] == []


def test_a_card_says_everything_about_a_sign() -> None:
    """The card of the pivot shift holds what the data holds, in words."""
    sign = PROTOCOL.sign("pivot_shift")
    rows = dict(card(sign, PROTOCOL.position(sign.position)))
    assert rows["Do"] == sign.technique
    assert rows["Record"] == "none · glide · clunk · gross"
    assert rows["Knee bent"] == "0 to 40°"
    assert rows["Time"] == "6 s a side"
    assert rows["Guarding"] == "can hide it"
    assert rows["Not when"].count("\n") == len(sign.avoid_when) - 1
    assert "anterior cruciate ligament" in rows["Speaks of"]
    assert "Caution" not in rows


def test_a_card_says_what_a_negative_reading_means() -> None:
    """A reading with a sign is explained, and a question is asked rather than done."""
    extension = PROTOCOL.sign("passive_extension")
    rows = dict(card(extension, PROTOCOL.position(extension.position)))
    assert rows["Record"].startswith("\N{MINUS SIGN}90 to 30 ° (worse either way, positive: hyperextension")
    locking = PROTOCOL.sign("locking")
    assert "Ask" in dict(card(locking, PROTOCOL.position(locking.position)))
    mcmurray = PROTOCOL.sign("mcmurray")
    rows = dict(card(mcmurray, PROTOCOL.position(mcmurray.position)))
    assert (rows["Time"], rows["Sums up"]) == ("none of its own", "mcmurray_medial, mcmurray_lateral")


def test_the_command_lists_the_sequence_with_times(capsys: pytest.CaptureFixture[str]) -> None:
    """Without an argument every position and every sign is listed, with the time of the whole."""
    code, out, err = leave(capsys)
    assert (code, err) == (0, "")
    assert [sign.id for sign in PROTOCOL.signs if f"\n{sign.id} " not in out] == []
    assert [p.name for p in PROTOCOL.positions if f"{p.number}. {p.name} (" not in out] == []
    assert f"Signs: {len(PROTOCOL.signs)}, " in out


def test_the_command_can_be_kept_to_the_routine_of_a_position(capsys: pytest.CaptureFixture[str]) -> None:
    """With --position and --routine only the signs asked for are listed."""
    code, out, _ = leave(capsys, "--position", "knees_90", "--routine")
    assert code == 0
    assert "posterior_sag" in out
    assert "posterolateral_drawer" not in out
    assert "lachman" not in out
    assert "Signs: 5, 0 min 55 s; in every knee: 5, 0 min 55 s." in out


def test_the_command_shows_one_card(capsys: pytest.CaptureFixture[str]) -> None:
    """With a sign its whole card is shown."""
    code, out, err = leave(capsys, "lachman")
    assert (code, err) == (0, "")
    assert "Lachman test (lachman)" in out
    assert all(heading in out for heading in ("Do", "Normal", "Record", "Not when", "Rests on"))


def test_the_command_offers_the_nearest_names(capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown sign leaves with 1 and the nearest names, an unknown position likewise."""
    code, out, err = leave(capsys, "lachmann")
    assert (code, out) == (1, "")
    assert "did you mean lachman or" in err
    code, out, err = leave(capsys, "--position", "standin")
    assert (code, out) == (1, "")
    assert "did you mean 'standing'?" in err


def test_the_command_prints_json(capsys: pytest.CaptureFixture[str]) -> None:
    """One sign is one JSON object, the sequence a list of them, with every field."""
    _, out, _ = leave(capsys, "dial_30", "--json")
    sign = json.loads(out)
    assert sign["scale"]["measure"] == {
        "unit": "deg",
        "low": 0.0,
        "high": 90.0,
        "abnormal": "above",
        "positive": "",
    }
    _, out, _ = leave(capsys, "--json", "--position", "bent_up")
    assert [each["id"] for each in json.loads(out)] == [each.id for each in PROTOCOL.at("bent_up")]


def test_the_command_prints_the_page(capsys: pytest.CaptureFixture[str]) -> None:
    """The documented command makes the page of the documentation."""
    assert leave(capsys, "--markdown") == (0, as_markdown(PROTOCOL), "")


@pytest.mark.parametrize(
    "arguments", [["lachman", "--position", "special"], ["lachman", "--routine"], ["--markdown", "--json"]]
)
def test_contradictory_wishes_are_refused(capsys: pytest.CaptureFixture[str], arguments: list[str]) -> None:
    """Wishes that exclude each other are a usage error."""
    code, out, err = leave(capsys, *arguments)
    assert (code, out) == (2, "")
    assert err.startswith("fabella: ")
