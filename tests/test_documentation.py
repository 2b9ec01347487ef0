"""The documentation names what there is: links, files, modules, commands and their options."""

import re
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import pytest

from fabella.cli.commands import COMMANDS, load

ROOT = Path(__file__).parent.parent
PAGES = {
    page.relative_to(ROOT).as_posix(): page.read_text("utf-8")
    for page in (ROOT / "README.md", ROOT / "CONTRIBUTING.md", *sorted((ROOT / "docs").rglob("*.md")))
}
FOLDERS = ("docs", "examples", "src", "tests", "tools")
KINDS = "py|csv|toml|js|css|html|json|jsonl|sh|md|svg"


@cache
def kept() -> frozenset[str]:
    """Every file of the repository and every end of its path, as ``infer/states.py`` of a module."""
    files = [file for folder in FOLDERS for file in (ROOT / folder).rglob("*.*")] + list(ROOT.glob("*.*"))
    parts = [file.relative_to(ROOT).parts for file in files if "__pycache__" not in file.parts]
    return frozenset("/".join(each[i:]) for each in parts for i in range(len(each)))


def anchors(text: str) -> frozenset[str]:
    """The anchors of a page: its headings in small letters, without marks, spaces as hyphens."""
    bare = re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE)
    headings = re.findall(r"^#+ (.+)$", bare, re.MULTILINE)
    return frozenset(re.sub(r"[^\w\- ]", "", each.lower()).replace(" ", "-") for each in headings)


def spans(text: str) -> list[str]:
    """What stands in code: spans within a line, and the lines of blocks."""
    without = re.sub(r"^```json\n.*?^```", "", text, flags=re.DOTALL | re.MULTILINE)
    blocks = re.findall(r"^ {4}\S.*$", without, re.MULTILINE)
    fenced = "\n".join(re.findall(r"^```\w*\n(.*?)^```", without, re.DOTALL | re.MULTILINE)).splitlines()
    return [*re.findall(r"`([^`\n]+)`", without), *(each.strip() for each in (*blocks, *fenced))]


@pytest.mark.parametrize("page", PAGES)
def test_every_link_leads_to_a_file_and_a_heading(page: str) -> None:
    """A link within the repository names a file that exists and, after ``#``, a heading of that page."""
    wrong = []
    for link in re.findall(r"\]\(([^)\s]+)\)", PAGES[page]):
        if "://" in link:
            continue
        file, _, anchor = link.partition("#")
        there = (ROOT / page).parent / file if file else ROOT / page
        if not there.exists() or (anchor and anchor not in anchors(there.read_text("utf-8"))):
            wrong.append(link)
    assert wrong == []


@pytest.mark.parametrize("page", PAGES)
def test_every_file_named_in_a_folder_exists(page: str) -> None:
    """A path in code, ``infer/states.py`` say, is the end of the path of a file that is kept here."""
    named = {
        each
        for span in re.findall(r"`([^`\n]+)`", PAGES[page])
        for each in re.findall(rf"(?<![\w/.<{{-])((?:[\w.-]+/)+[\w-]+\.(?:{KINDS}))(?![\w/])", span)
        if "*" not in span and "NAME" not in each
    }
    assert sorted(each for each in named if each not in kept()) == []


def is_there(name: str) -> bool:
    """Say whether a dotted name is a module of the program, or a word of the module that it stands in."""
    there = ROOT / "src" / Path(*name.split("."))
    if there.is_dir() or there.with_suffix(".py").exists():
        return True
    module = there.parent / "__init__.py" if there.parent.is_dir() else there.parent.with_suffix(".py")
    return module.exists() and re.search(rf"\b{there.name}\b", module.read_text("utf-8")) is not None


@pytest.mark.parametrize("page", PAGES)
def test_every_module_named_can_be_had(page: str) -> None:
    """A dotted name in code is a module or stands in one; what ``python -m`` names is a module."""
    code = "\n".join(spans(PAGES[page]))
    named = set(re.findall(r"(?<![\w./@])(fabella(?:\.[A-Za-z_]\w*)+)(?![\w./@-])", code))
    run = set(re.findall(r"python -m ([\w.]*\w)", code))
    assert sorted(each for each in named if not is_there(each)) == []
    assert sorted(each for each in run if find_spec(each) is None) == []


@pytest.mark.parametrize("page", PAGES)
def test_every_command_and_option_exists(page: str) -> None:
    """What is written as ``fabella COMMAND --option`` names a command and options of that command."""
    wrong = []
    for span in spans(PAGES[page]):
        for name, rest in re.findall(r"(?:^|[\s/])fabella ([a-z]+)((?: [^|#;&]*)?)", span):
            if name not in COMMANDS:
                wrong.append(span)
                continue
            known = {
                option
                for parameter in load(name).params
                for option in (*parameter.opts, *parameter.secondary_opts)
            }
            known |= {"--help", "-h"}
            wrong += [span for option in re.findall(r"(?<!\S)(--[a-z][a-z-]*)", rest) if option not in known]
    assert wrong == []
