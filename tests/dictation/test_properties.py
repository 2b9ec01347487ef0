from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabella.anatomy import Side, other
from fabella.dictation import Became, Understood, understand
from fabella.protocol import load_protocol
from fabella.record import Examination, Finding, Origin, check_examination
from tests.dictation.corpus import dictations

PROTOCOL = load_protocol()
TEXTS = tuple(
    each.text for folder in ("corpus", "fresh", "lumps") for each in dictations(PROTOCOL, folder=folder)
)
WORDS = tuple({word for text in TEXTS for word in text.split()})
SIDES = {
    "right": "left", "left": "right", "Right": "Left", "Left": "Right", "RIGHT": "LEFT", "LEFT": "RIGHT",
    "R": "L", "L": "R", "Rt": "Lt", "Lt": "Rt",
}  # fmt: skip
CLAUSES = (
    "right knee moderate effusion",
    "left knee no effusion",
    "right Lachman 2+",
    "left Lachman negative",
    "right McMurray positive medially",
    "left knee range 0 to 140",
    "right knee range 5 to 110",
    "right pivot shift clunk",
    "left knee medial joint line tender",
    "right varus stress 5 mm at 30",
)
LETTERS = "qxzjkv"


def read(text: str) -> Understood:
    """Return what is understood of a text."""
    return understand(text, protocol=PROTOCOL)


def swapped(text: str) -> str:
    """Return a text in which every right is a left, and every left a right."""
    pieces: list[str] = []
    word = ""
    for character in f"{text} ":
        if character.isalpha():
            word += character
            continue
        pieces.append(SIDES.get(word, word))
        pieces.append(character)
        word = ""
    return "".join(pieces)[:-1]


def on_the_other_side(findings: tuple[Finding, ...]) -> set[Finding]:
    """Return findings with their sides exchanged."""
    return {replace(each, side=other(each.side) if each.side else None, note=None) for each in findings}


def without_notes(findings: tuple[Finding, ...]) -> set[Finding]:
    """Return findings without what is said about them in words, which may name a side."""
    return {replace(each, note=None) for each in findings}


texts = st.one_of(
    st.sampled_from(TEXTS),
    st.lists(st.sampled_from(WORDS), min_size=1, max_size=30).map(" ".join),
    st.tuples(st.sampled_from(TEXTS), st.sampled_from(TEXTS), st.integers(0, 200)).map(
        lambda three: three[0][: three[2]] + three[1][three[2] :]
    ),
    st.text(max_size=80),
)


@settings(deadline=None, max_examples=300)
@given(texts)
def test_every_character_belongs_to_exactly_one_span(text: str) -> None:
    """The spans lie end to end over the whole text, whatever it is."""
    bounds = [(span.start, span.end) for span in read(text).spans]
    assert [start for start, _ in bounds] == [0, *(end for _, end in bounds)][: len(bounds)]
    assert all(start < end for start, end in bounds)
    assert (bounds[-1][1] if bounds else 0) == len(text)


@settings(deadline=None, max_examples=300)
@given(texts)
def test_what_is_proposed_is_always_a_valid_examination(text: str) -> None:
    """No text, however garbled, yields findings that the record would refuse."""
    found = read(text)
    examination = Examination(
        id="dictated",
        origin=Origin.INVENTED,
        patient=found.patient,
        context=found.context,
        history=found.history,
        findings=found.findings,
    )
    check_examination(examination, protocol=PROTOCOL, today=date(2025, 6, 30))


@settings(deadline=None, max_examples=300)
@given(texts)
def test_every_finding_comes_from_words(text: str) -> None:
    """Each finding stands in at least one span, and nothing that is open or withdrawn proposes any."""
    found = read(text)
    said = {each for span in found.spans for each in span.findings}
    assert set(found.findings) == said
    closed = {Became.AMBIGUOUS, Became.NOT_UNDERSTOOD, Became.WITHDRAWN}
    only_open = [span for span in found.spans if span.became in closed and span.findings]
    shared = {each for span in found.spans if span.became not in closed for each in span.findings}
    assert all(set(span.findings) <= shared for span in only_open)


@pytest.mark.parametrize("text", TEXTS)
def test_exchanging_the_words_exchanges_the_sides(text: str) -> None:
    """With right and left exchanged in the text, every finding changes knees and nothing else changes."""
    text = text.replace("B/L", "bilat")  # its L is no side
    first, second = read(text), read(swapped(text))
    assert on_the_other_side(first.findings) == without_notes(second.findings)
    assert first.history == second.history


@pytest.mark.parametrize("text", [each for each in TEXTS if "left" not in each.lower() and " L" not in each])
def test_a_normal_left_knee_changes_nothing_on_the_right(text: str) -> None:
    """What was found on the right knee stays as it is when the left is said to be normal in the end."""
    alone = [each for each in read(text).findings if each.side is Side.RIGHT]
    both = read(f"{text.rstrip('.')}. Left knee normal.")
    assert [each for each in both.findings if each.side is Side.RIGHT] == alone
    assert both.said_normal[-1:] == (Side.LEFT,)


@settings(deadline=None)
@given(st.lists(st.text(alphabet=LETTERS, min_size=3, max_size=9), min_size=1, max_size=12))
def test_gibberish_yields_nothing(words: list[str]) -> None:
    """Words that mean nothing yield no finding and no answer, and every one of them is marked."""
    found = read(" ".join(words))
    assert (found.findings, dict(found.history)) == ((), {})
    assert " ".join(found.words(span) for span in found.open_spans).split() == words


@settings(deadline=None)
@given(st.permutations(CLAUSES))
def test_the_order_of_clauses_does_not_matter(clauses: list[str]) -> None:
    """Clauses that name their side say the same in any order."""
    expected = read(". ".join(CLAUSES))
    assert expected.is_complete
    assert read(". ".join(clauses)).findings == expected.findings
    assert read(", ".join(clauses)).findings == expected.findings


@pytest.mark.parametrize("text", TEXTS)
def test_capitals_and_the_last_full_stop_do_not_matter(text: str) -> None:
    """A text in small letters without its last full stop says the same."""
    assert read(text.lower().rstrip(".")).findings == read(text).findings
