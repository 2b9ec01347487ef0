"""Nothing that was recognised is lost: it proposes, asks, or has one of the listed reasons to add nothing."""

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.dictation import Became, Understood
from fabella.dictation.account import is_telling
from fabella.dictation.lexicon import load_lexicon
from fabella.dictation.tagging import tag
from fabella.dictation.understood import Idle
from fabella.dictation.vocabulary import Lexicon
from fabella.dictation.words import split
from tests.dictation.corpus import dictations
from tests.dictation.spoken import ABNORMAL, LEFT, NORMAL, PROTOCOL, RIGHT, found, read

TEXTS = tuple(
    each.text for folder in ("corpus", "fresh", "lumps") for each in dictations(PROTOCOL, folder=folder)
)
WORDS = tuple({word for text in TEXTS for word in text.split()})
REASONS = {str(each) for each in Idle}
garbled = st.one_of(
    st.lists(st.sampled_from(WORDS), min_size=1, max_size=30).map(" ".join),
    st.tuples(st.sampled_from(TEXTS), st.sampled_from(TEXTS), st.integers(0, 200)).map(
        lambda three: three[0][: three[2]] + three[1][three[2] :]
    ),
)


@cache
def lexicon() -> Lexicon:
    """The names that the words are recognised by."""
    return load_lexicon(PROTOCOL)


def lost(text: str, understood: Understood) -> list[str]:
    """The recognised words of a text that neither propose nor ask, and for which no reason is given."""
    words = split(text)
    found = []
    for item in tag(words, lexicon()):
        if not is_telling(item) or item.first == item.last:
            continue
        start, end = words[item.first].start, words[item.last - 1].end
        spans = [span for span in understood.spans if span.start < end and start < span.end]
        if all(span.became is Became.FRAME and span.why not in REASONS for span in spans):
            found.append(text[start:end])
    return found


@pytest.mark.parametrize("text", TEXTS)
def test_no_recognised_statement_is_lost(text: str) -> None:
    """In every dictation of the corpora each recognised word proposes, asks or is said to add nothing."""
    assert lost(text, read(text)) == []


@settings(deadline=None, max_examples=300)
@given(garbled)
def test_nothing_is_lost_in_garbled_texts_either(text: str) -> None:
    """However the words are mixed, none that was recognised vanishes."""
    assert lost(text, read(text)) == []


@pytest.mark.parametrize("text", TEXTS)
def test_what_adds_nothing_says_why_in_listed_words(text: str) -> None:
    """A span that proposes and asks nothing has no reason but those of the list."""
    frames = [span for span in read(text).spans if span.became is Became.FRAME]
    assert {span.why for span in frames} <= REASONS | {""}
    assert not any(span.findings or span.answers or span.choices for span in frames)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Right knee: PDT neg. Qxyz neg.", "neg."),
        ("R knee: DP pulse present. Qxyz intact.", "intact"),
        ("Right knee: no anterior translation, no qxyz instability.", "no qxyz instability"),
        ("Right knee: anterior drawer 2+ in neutral, increased in external rotation.", "increased"),
        ("Right McMurray painless.", "McMurray painless"),
    ],
)
def test_what_is_said_of_something_else_is_asked_about(text: str, words: str) -> None:
    """A result beside a word that is not known is no second word on the sign before it."""
    at = text.rindex(words)
    spans = [each for each in read(text).open_spans if each.start < at + len(words) and at < each.end]
    assert spans


def test_a_second_word_on_the_same_sign_needs_no_question() -> None:
    """What only denies more than was found, or was told already, adds nothing and says so."""
    less = read("Left knee: there was a large effusion, which was not tense.")
    assert less.is_complete
    assert Idle.NOT_WORSE in {span.why for span in less.spans}
    twice = read("Left knee: locked, springy block to extension.")
    assert twice.is_complete
    assert Idle.TOLD in {span.why for span in twice.spans}


@pytest.mark.parametrize("words", ["without a click", "no click", "with no clicking"])
def test_a_click_that_was_not_there_is_no_question(words: str) -> None:
    """A click by itself has no sign, so that its absence adds nothing; one that was there is shown."""
    text = f"Right McMurray painful medially, {words}."
    assert found(text, RIGHT) == {"mcmurray_medial": ABNORMAL}
    assert read(text).is_complete
    assert not read("Right McMurray negative, with a click.").is_complete


def test_what_needs_no_question_is_read() -> None:
    """Parts and tests under their short names say what they say in full."""
    assert found("Right knee VVST stable, wound healed.", RIGHT) == {
        "valgus_stress_30": NORMAL,
        "varus_stress_30": NORMAL,
        "open_wound": NORMAL,
        "scar": ABNORMAL,
    }
    assert found("Left knee PFJ unremarkable.", LEFT) == {
        "crepitus_patellofemoral": NORMAL,
        "tenderness_patellar_facets": NORMAL,
    }
    assert found("Left knee PFJ not normal.", LEFT) == {}
    assert found("Right knee wound not healed.", RIGHT) == {}
    assert read("Left knee: pain on full squat.").history["pain_on_squatting"] is True


def test_a_first_word_said_once_is_that_of_both() -> None:
    """In "tight quads & hams" both are tight."""
    both = {"quadriceps_tightness": ABNORMAL, "hamstring_tightness": ABNORMAL}
    assert found("Left knee: tight quads & hams.", LEFT) == both


def test_a_height_told_behind_the_readings_is_theirs() -> None:
    """Where both girths were measured is part of both readings."""
    text = "Thigh girth left 44 cm, right 46.5 cm, both taken 10 cm above the patella."
    assert {each.method for each in read(text).findings} == {"10 cm above the patella"}
    assert read(text).is_complete
