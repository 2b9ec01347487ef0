"""Every sign as a next step: a sentence with a verb, and outcomes that follow ``if``."""

import re
import tomllib
from dataclasses import replace
from importlib.resources import files

import pytest

from fabella.anatomy import Side
from fabella.grade import levels_of
from fabella.protocol import Kind, Sign, load_protocol
from fabella.report import as_text, build_letter, letter_document
from fabella.report.step_words import doing, showing
from fabella.workup import Advice, Outlook
from tests.report.made_up import WRITTEN_ON, step, twisted_knee

STEPS = [sign for sign in load_protocol().signs if sign.kind is not Kind.COURTESY]
ORDER = re.compile(
    r"(ask (about|whether)|look for|(listen and )?feel( for)?|test( for)?|do the|"
    r"watch|measure|time|take|screen|aspirate) \S"
)


@pytest.mark.parametrize("sign", STEPS, ids=[sign.id for sign in STEPS])
def test_every_sign_is_an_order_with_outcomes(sign: Sign) -> None:
    """It begins with a verb, is asked exactly when it is history, and no two outcomes are said alike."""
    order = doing(sign)
    assert ORDER.match(order), order
    assert order.startswith("ask ") is sign.is_history
    shown = [showing(sign, each) for each in levels_of(sign)]
    assert len(set(shown)) == len(shown)
    assert not any("_" in each for each in (order, *shown))
    assert ("yes" in shown) is (sign.is_history and "yes" in levels_of(sign))


def test_the_table_names_only_what_needs_it() -> None:
    """Every row is about a known sign, and about an outcome it can have."""
    table = tomllib.loads(files("fabella.report").joinpath("step_words.toml").read_text("utf-8"))
    signs = {sign.id: sign for sign in STEPS}
    assert not table["do"].keys() - signs.keys()
    for sign, shows in table["shows"].items():
        assert not shows.keys() - set(levels_of(signs[sign])), sign


@pytest.mark.parametrize(
    ("sign", "outcome", "said"),
    [
        ("bony_enlargement", "yes", "Look for bony enlargement: if present"),
        ("theatre_sign", "no", "Ask about pain on long sitting: if no"),
        ("mcmurray_medial", "yes", "Do the McMurray test for the medial meniscus: if positive"),
        ("lachman", "2+", "Do the Lachman test: if 2+ (clear)"),
        ("thigh_girth", "much_thinner", "Measure the thigh girth: if much thinner"),
        ("tenderness_patella", "yes", "Feel for tenderness of the patella: if present"),
    ],
)
def test_the_letter_says_the_order(sign: str, outcome: str, said: str) -> None:
    """Look, feel, ask and measure have their own verb in a letter, and a grade is a number with its word."""
    protocol = load_protocol()
    outlook = Outlook(outcome=outcome, chance=0.4, lesion="acl_tear", now=0.2, then=0.5)
    kind = "question" if protocol.sign(sign).is_history else "manoeuvre"
    next_step = step(kind, sign, Side.RIGHT, outlook)
    advice = Advice(bedside=(next_step,), images=(), withheld=(), enough=False)
    letter = build_letter(replace(twisted_knee(), advice=advice), written_on=WRITTEN_ON)
    text = " ".join(as_text(letter_document(letter)).split())
    assert f"{said}, anterior cruciate ligament tear from 20% to 50%." in text
