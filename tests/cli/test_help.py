import inspect
import re
import shlex
import subprocess
import sys
from collections import Counter
from importlib import import_module
from pathlib import Path

import pytest

from fabella import cli
from fabella.cli.commands import COMMANDS, load
from tests.cli.running import ROOT, VALIDATED, call

PAGE = ROOT / "docs" / "command_line.md"
_SERVED = ("serve", "--check", "--data", "clinic")
_BACKED_UP = ("backup", "backups", "--data", "clinic")
_BEFORE = {"backup": (_SERVED,), "restore": (_SERVED, _BACKED_UP), "drill": (_SERVED, _BACKED_UP)}
"""What somebody has done before, who then follows the example of a command."""

EXAMPLES = [example for entry in COMMANDS.values() for example in entry.examples]


@pytest.mark.parametrize("example", [example for example in EXAMPLES if example not in VALIDATED])
def test_the_examples_of_the_help_work(example: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Every example in a help text runs as it stands where the examples are, and answers something."""
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    monkeypatch.chdir(tmp_path)
    program, *arguments = shlex.split(example)
    for needed in _BEFORE.get(arguments[0], ()):
        assert call(*needed).code == 0
    left = call(*arguments)
    assert (program, left.code, left.err) == ("fabella", 0, "")
    assert left.out or len(list(tmp_path.iterdir())) > 1


def test_the_examples_that_are_run_elsewhere_are_those_of_the_help() -> None:
    """The long examples, tried in the tests of the audit, are all that its command gives."""
    assert COMMANDS["validate"].examples == VALIDATED


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_shows_its_help_with_an_example(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The help of a command begins as in the list of commands and ends with its examples."""
    monkeypatch.setenv("COLUMNS", "200")
    left = call(name, "--help")
    assert (left.code, left.err) == (0, "")
    assert COMMANDS[name].summary in left.out
    assert COMMANDS[name].examples
    assert all(example in left.out for example in COMMANDS[name].examples)


@pytest.mark.parametrize("name", COMMANDS)
def test_no_choice_breaks_in_mid_word(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a terminal of 80 columns every choice of a command stands whole on one line of its help."""
    monkeypatch.setenv("COLUMNS", "80")
    told = set(re.findall(r"[a-z_]+", call(name, "--help").out))
    described = [parameter.type_descriptor for parameter in load(name).params]
    choices = [str(getattr(one, "value", one)) for each in described for one in each.choices or ()]
    assert [choice for choice in choices if choice not in told] == []


def test_some_commands_offer_choices() -> None:
    """What is looked for above is there: the settings of a practice patient among others."""
    described = [parameter.type_descriptor for parameter in load("practice").params]
    assert any("sports_clinic" in (each.choices or ()) for each in described)


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_says_what_the_command_says(name: str) -> None:
    """The line in the list of commands is the first line of the command's own documentation."""
    command = getattr(import_module(f"fabella.cli.{name}"), name)
    assert (inspect.getdoc(command) or "").splitlines()[0] == COMMANDS[name].summary


def test_every_command_is_listed() -> None:
    """Every module with a function of its own name is a command, and none is left out of the list."""
    modules = [path.stem for path in Path(cli.__file__).parent.glob("*.py") if path.stem != "__init__"]
    commands = {name for name in modules if hasattr(import_module(f"fabella.cli.{name}"), name)}
    assert commands == set(COMMANDS)
    assert all(name in call("--help").out for name in COMMANDS)


def test_a_slip_in_the_name_of_a_command_is_answered_with_the_nearest() -> None:
    """A wrong name is a usage error that offers the right one."""
    left = call("conclued")
    assert (left.code, left.out) == (2, "")
    assert "Did you mean 'conclude'?" in left.err


def test_help_loads_nothing_heavy() -> None:
    """Listing the commands, and the help of one that computes nothing, imports no numerical library."""
    code = (
        "import sys\nfrom fabella import cli\n"
        "try: cli.main([{}])\n"
        "except SystemExit: pass\n"
        "print([m for m in ('numpy', 'scipy', 'typst', 'jinja2') if m in sys.modules])"
    )
    for arguments in ("'--help'", "'check', '--help'", "'schema'", "'protocol', 'lachman'"):
        done = subprocess.run(
            [sys.executable, "-c", code.format(arguments)], capture_output=True, text=True, check=True
        )
        assert done.stdout.splitlines()[-1] == "[]", arguments


def test_the_page_documents_every_command_and_option(monkeypatch: pytest.MonkeyPatch) -> None:
    """The documentation has each command with its options and examples, and no option that is none."""
    monkeypatch.setenv("COLUMNS", "200")
    sections = re.split(r"^## ", PAGE.read_text("utf-8"), flags=re.MULTILINE)
    by_name = {section.splitlines()[0].strip("`").removeprefix("fabella "): section for section in sections}
    for name, entry in COMMANDS.items():
        section = by_name[name]
        options = set(re.findall(r"--[a-z][a-z-]*", call(name, "--help").out)) - {"--help"}
        rows = [line.split("|")[1] for line in section.splitlines() if line.startswith("| `--")]
        told = set(re.findall(r"--[a-z][a-z-]*", " ".join(rows)))
        assert told == options, name
        assert all(example in section for example in entry.examples), name


def test_the_page_names_every_exit_code_and_key() -> None:
    """The documentation names the exit codes and every key at the top of an answer."""
    text = PAGE.read_text("utf-8")
    for key in call("schema", "--of", "conclusion").json["properties"]:
        assert f"`{key}`" in text, key
    assert all(f"| {code} |" in text for code in (0, 1, 2))


def test_no_two_examples_are_the_same() -> None:
    """Examples teach one thing each."""
    assert max(Counter(EXAMPLES).values()) == 1
