import pytest

from fabella.dictation import understand
from fabella.protocol import load_protocol
from fabella.record import State
from tests.dictation.corpus import Dictation, dictations, score

PROTOCOL = load_protocol()
LUMPS = tuple(dictations(PROTOCOL, folder="lumps"))
DETAILS = {"mass_size", "mass_firm_fixed"}
NO_LENGTH_OF_A_LUMP = (
    "scar 8 cm",
    "quadriceps wasting 3 cm",
    "effusion 4 cm",
    "step-off 5 mm",
    "calf girth 38 cm",
)


def notes(text: str) -> dict[str, str | None]:
    """Return the words kept beside each finding of a text."""
    return {each.sign: each.note for each in understand(text, protocol=PROTOCOL).findings}


@pytest.mark.parametrize("dictation", LUMPS, ids=lambda each: each.text)
def test_a_lump_says_what_was_said_of_it(dictation: Dictation) -> None:
    """Size, feel, place, pulse and tenderness of a lump are read, or left open, and nothing is added."""
    one = score(dictation, PROTOCOL)
    assert (one.missed, one.invented, one.not_asked, one.asked_in_vain) == (frozenset(), frozenset(), (), ())


@pytest.mark.parametrize("length", NO_LENGTH_OF_A_LUMP)
@pytest.mark.parametrize("text", ["Right knee: {}, lump.", "Right knee: lump, {}.", "Right knee: {}. Lump."])
def test_the_length_of_something_else_is_no_size_of_a_lump(text: str, length: str) -> None:
    """A length said of a scar, a muscle, an effusion or a step is never the size of the lump beside it."""
    found = understand(text.format(length), protocol=PROTOCOL).findings
    assert [each.sign for each in found if each.sign in DETAILS] == []
    assert "palpable_mass" in {each.sign for each in found}


@pytest.mark.parametrize("length", NO_LENGTH_OF_A_LUMP)
def test_a_lump_changes_nothing_of_another_length(length: str) -> None:
    """What a length says of another sign is the same with and without a lump in the sentence."""
    alone = set(understand(f"Right knee: {length}.", protocol=PROTOCOL).findings)
    beside = understand(f"Right knee: {length}, lump.", protocol=PROTOCOL).findings
    assert {each for each in beside if each.sign != "palpable_mass"} == alone


@pytest.mark.parametrize(
    ("text", "note"),
    [
        ("hard lump above the medial femoral condyle", "above the medial femoral condyle"),
        ("firm lump 5 cm on the inner side of the lower thigh", "firm, on the inner side of the lower thigh"),
        ("3 cm lump 5 cm above the patella", "5 cm above the patella"),
        ("smooth lump over the FIBULAR head", "smooth, over the fibular head"),
        ("lump 3 cm", None),
    ],
)
def test_place_and_plain_words_are_kept_beside_the_lump(text: str, note: str | None) -> None:
    """Where a lump is, and that it is firm or smooth, stays beside it in the words that were used."""
    assert notes(f"Right knee: {text}.")["palpable_mass"] == note


def test_a_place_that_the_sign_names_is_not_repeated() -> None:
    """A lump behind the knee needs no note of its place; at the joint line the note tells which one."""
    assert notes("Right knee: lump behind the knee.") == {"popliteal_mass": None}
    assert notes("Right knee: lump at the lateral joint line.") == {
        "joint_line_lump": "at the lateral joint line"
    }


@pytest.mark.parametrize("between", ["", ", 5 cm", ", hard", " behind the knee, fixed to bone", ", large"])
@pytest.mark.parametrize("tender", ["not tender", "non-tender", "no tenderness", "tender to touch", "tender"])
def test_tenderness_after_a_lump_is_never_that_of_the_knee(between: str, tender: str) -> None:
    """Tenderness without a site, said behind a lump, is left over and puts nothing down for the knee."""
    found = understand(f"Right knee: lump{between}, {tender}.", protocol=PROTOCOL)
    assert not [each for each in found.findings if "tender" in each.sign]
    assert [found.words(span) for span in found.open_spans] == [tender]
    assert "lump" in found.open_spans[0].why


def test_tenderness_in_the_next_sentence_is_asked_about() -> None:
    """In a sentence of its own behind a lump, "not tender" may be said of the knee, which is offered."""
    found = understand("Right knee: lump 5 cm. Not tender.", protocol=PROTOCOL)
    (span,) = found.open_spans
    assert {each.sign for choice in span.choices for each in choice.findings} == {
        "joint_line_tenderness", "tenderness_anterior", "bony_tenderness",
    }  # fmt: skip


def test_a_knee_without_a_lump_has_neither_size_nor_feel() -> None:
    """Where the other knee is normal, it has no lump; nothing is put down of the size or feel of one."""
    found = understand("Right knee: hard lump 5 cm. Left knee normal.", protocol=PROTOCOL).findings
    left = {each.sign: each.state for each in found if each.side == "left"}
    assert left["palpable_mass"] is State.NORMAL
    assert not DETAILS & left.keys()


def test_more_of_two_lumps_than_one_size_is_asked_about() -> None:
    """Two lumps of one knee with two sizes are both asked about, since one size alone can be kept."""
    text = "Right knee: 5 cm lump behind the knee and a hard 2 cm lump at the lateral joint line."
    found = understand(text, protocol=PROTOCOL)
    assert found.findings == ()
    assert len(found.open_spans) == 2
