"""What the engines of browsers ask of styles, scripts and the frame of every page."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

STATIC = files("fabella.web") / "static"
STYLES = sorted(each.name for each in STATIC.iterdir() if each.name.endswith(".css"))
SCRIPTS = sorted(each.name for each in STATIC.iterdir() if each.name.endswith(".js"))

PREFIXED = ("user-select", "text-size-adjust")
"""Properties that WebKit knows under a name of its own only (open compatibility data of browsers, 8.1.9)."""


def read(name: str) -> str:
    """A file as it is sent."""
    return (STATIC / name).read_text("utf-8")


@pytest.mark.parametrize("style", STYLES)
def test_a_property_that_an_engine_knows_by_its_own_name_bears_that_too(style: str) -> None:
    """The same value under both names, in the same rule."""
    for rule in re.findall(r"{([^{}]*)}", read(style)):
        for name in PREFIXED:
            own, both = (re.findall(rf"(?<![-\w]){p}{name}: *([^;]+);", rule) for p in ("-webkit-", ""))
            assert own == both, rule


@pytest.mark.parametrize("style", STYLES)
def test_what_must_fit_the_screen_fits_what_is_seen_of_it(style: str) -> None:
    """A phone counts in 100vh what its own bars cover; where it knows better it is told of 100dvh."""
    text = re.sub(r"/\*.*?\*/", "", read(style), flags=re.DOTALL)
    for declaration in re.findall(r"m(?:ax|in)-height: [^;]*100vh[^;]*;[^;]*;", text):
        first, second, _ = declaration.split(";")
        assert second.strip() == re.sub(r"(?<=\d)vh\b", "dvh", first), declaration


def test_no_script_waits_at_its_top_for_which_another_would_have_to_wait() -> None:
    """WebKit before 27 gives modules that import such a script at the same time what is not there yet.

    The fault is told at length in the tracker of the engine, 242740.
    """
    at_top = re.compile(r"^(?![\s/])(?:(?!=>|function).)*\bawait\b", re.MULTILINE)
    waits = {name for name in SCRIPTS if at_top.search(read(name))}
    assert {"examine.js", "keeping.js", "mark.js"} <= waits
    for name in SCRIPTS:
        imported = re.findall(r"""(?:from|import) "\./(\w+\.js)";""", read(name))
        assert not waits & set(imported), name


def test_no_number_of_a_patient_becomes_one_to_call() -> None:
    """Tablets make links of what looks like the number of a telephone, unless they are told not to."""
    frame = (files("fabella.web") / "layout" / "base.html").read_text("utf-8")
    assert '<meta name="format-detection" content="telephone=no">' in frame
    assert "viewport-fit=cover" in frame  # without it no screen says where its corners are round
