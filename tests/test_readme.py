"""The README shows what the program really says."""

import re
from pathlib import Path

import pytest

from fabella import cli
from fabella.cli.commands import COMMANDS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text("utf-8")
SHOWN = ("conclude", "examples/slip_on_ice.json", "--side", "right", "--top", "3")


def test_the_conclusion_shown_is_the_conclusion_drawn(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The block under "A real conclusion" is what `fabella conclude` prints on 80 columns.

    Renew it by pasting what the command in the block's first line prints.
    """
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "80")
    with pytest.raises(SystemExit):
        cli.main(SHOWN)
    said = capsys.readouterr().out
    block = re.search(r"<!-- conclusion -->\n+```text\n\$ fabella ([^\n]*)\n(.*?)```", README, re.DOTALL)
    assert block is not None
    assert block[1].split() == list(SHOWN)
    assert block[2].rstrip() == said.rstrip()


def test_the_example_of_the_library_runs(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The Python example prints the alarm and the ruptured tendon first."""
    monkeypatch.chdir(ROOT)
    code = re.search(r"```python\n(.*?)```", README, re.DOTALL)
    assert code is not None
    exec(compile(code[1], "README.md", "exec"), {})  # noqa: S102  the README's own code
    said = capsys.readouterr().out.splitlines()
    assert "Rupture of the extensor mechanism" in said[0]
    assert any(line.startswith("quadriceps_tendon_rupture") for line in said)


def test_every_command_is_listed() -> None:
    """The table of commands names each command of the program."""
    assert set(COMMANDS) <= set(re.findall(r"`fabella (\w+)", README))


def test_every_link_leads_somewhere() -> None:
    """Links within the repository point to files that exist."""
    links = re.findall(r"\]\((?!#)([^)]+)\)", README)
    assert links
    assert [link for link in links if not (ROOT / link).exists()] == []
