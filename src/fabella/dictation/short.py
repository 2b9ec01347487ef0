"""Little words: "the left does" and "the right has one" tell a result, "1." and "2." only count."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from fabella.dictation.numbers import number_at
from fabella.dictation.vocabulary import Describing
from fabella.dictation.words import Word, ends_sentence, sentence_of, text_at

ABLE = Describing(key="able", says="good")
PRESENT = Describing(key="present", says="present", empty=True)
_HAS = {"has", "have", "had", "having", "get", "got", "see", "feel", "find"}
_NOT = {
    "not", "isn't", "isnt", "wasn't", "wasnt", "hasn't", "hasnt", "doesn't", "doesnt", "without",
}  # fmt: skip
_IS = {"is", "was"}
_AUXILIARIES = {"with", "does", "did", "has", "is", "was", "do", "are", "were", "had"}
_PAUSES = {"um", "uh", "er", "erm", "ah", "hmm", "well", "let", "oh", "ooh", "i'd", "i", "about", "say"}
_SIZES = {
    "small", "big", "large", "moderate", "little", "tiny", "trace", "good", "firm", "soft", "mild", "slight",
}  # fmt: skip
_NOTHING = {"nothing", "none", "no", "not", "what", "who", "if", "where"}
_DENYING = {"not", "no", "nor", "never", "without"}
_ON = {"on", "in", "at", "for", "of", "over", "to"}
_COMPARES = {"as", "than", "like", "so"}
_LABELS = {"inspection", "palpation", "observation", "look", "feel", "assessment"}
_WELL = {"normal", "unremarkable", "nad", "fine", "ok", "wnl"}
_ENDS = {",", ";", "but", "and", ")"}
_GOES_ON = {"on", "in", "at", "right", "left", "r", "l", "either", "both"}
_PUTS_RIGHT = {",", "no", "actually", "sorry", "wait", "correction"}
_KNEE = {"knee", "side", "leg"}
_MEASURES = {
    "plus", "point", "oh", "degree", "degrees", "mm", "cm", "millimetre", "millimetres", "half", "inch",
    "millimeter", "centimetre", "centimetres", "centimeter", "quadrant", "quadrants", "and", "or", "to",
    "out", "more", "less", "over", "a", "b", "second", "seconds", "finger",
}  # fmt: skip
"""Behind "one" these make it a number: "right one plus"."""
_POINTING = {"that", "that's", "thats", "this", "these", "those", "all"}
_LINKING = {
    "applies", "goes", "to", "is", "was", "are", "were", "all", "on", "in", "the", "of", "for", "her", "his",
}  # fmt: skip
_FARTHEST = 3


def says_present(words: Sequence[Word], place: int, sides: Collection[int]) -> bool:
    """Say whether a little word tells that something is there: "has one", "the pulses are there"."""
    return is_one(words, place) or is_there(words, place) or is_auxiliary(words, place, sides)


def is_one(words: Sequence[Word], place: int) -> bool:
    """Say whether "one" is no number here: "the left has one", "there isn't one on the right"."""
    if words[place].text != "one":
        return False
    if not (_closes(words, place + 1) or text_at(words, place + 1) in _GOES_ON):
        return False
    before = text_at(words, place - 1)
    return before in {*_HAS, *_NOT, "there"} or (
        before in _IS and text_at(words, place - 2) in {"there", "not"}
    )


def is_knee(words: Sequence[Word], place: int, sides: Collection[int]) -> bool:
    """Say whether "one" stands for the knee, or for what was named: "the right one has no effusion"."""
    ends = _closes(words, place + 1) or text_at(words, place + 1) in _GOES_ON
    if words[place].text == "one" and text_at(words, place - 1) in _SIZES and ends:
        return True  # "a wave, a small one"
    other = [text_at(words, place + step) for step in range(1, 5)] == ["on", "the", "other", "hand"]
    told = other or _is_plain_word(words, place + 1)
    return words[place].text == "one" and place - 1 in sides and told


def _is_plain_word(words: Sequence[Word], place: int) -> bool:
    """Say whether a word follows that makes no number of the "one" before it."""
    text = text_at(words, place)
    return text[:1].isalpha() and text not in _MEASURES and number_at(words, place) is None


def is_there(words: Sequence[Word], place: int) -> bool:
    """Say whether "there" tells that something is found: "the pulses are there", not "nothing is there"."""
    if words[place].text != "there" or text_at(words, place - 1) not in {"is", "are"}:
        return False
    start, _ = sentence_of(words, place)
    return _closes(words, place + 1) and not any(word.text in _NOTHING for word in words[start:place])


def is_able(words: Sequence[Word], place: int) -> bool:
    """Say whether a verb that ends its clause says that something can be done: "on the right she can"."""
    ends = words[place].text in {"can", "could"} and _closes(words, place + 1)
    return ends and text_at(words, place - 1) in {"he", "she", "they", "it", "patient"}


def is_full_range(words: Sequence[Word], place: int) -> bool:
    """Say whether "from" is the abbreviation of a full range: it opens and closes its piece."""
    before = text_at(words, place - 1)
    opens = before in {"", ",", ".", ":", ";", "-", "\n", "knee", "right", "left", "r", "l", "both"}
    opens = opens or before.isdecimal() or before in {"°", "degrees", "deg"}
    return words[place].text == "from" and opens and _closes(words, place + 1)


def empty_label(words: Sequence[Word], place: int) -> int:
    """Return the place after "inspection: normal", where it is not said what was found normal, or 0."""
    if words[place].text not in _LABELS:
        return 0
    after = place + 1
    while text_at(words, after) in {":", "-", "is", "was", "entirely", "completely"}:
        after += 1
    return after + 1 if text_at(words, after) in _WELL else 0


def is_auxiliary(words: Sequence[Word], place: int, sides: Collection[int]) -> bool:
    """Say whether a verb that ends its clause right behind a side says the sign again: "the left does"."""
    if words[place].text not in _AUXILIARIES or not _closes(words, place + 1):
        return False
    if words[place].text in _IS and text_at(words, place + 1) == "," and text_at(words, place + 2) in _PAUSES:
        return False  # "the left is, uh, four"
    side = place - 2 if text_at(words, place - 1) in _KNEE else place - 1
    if side not in sides:
        return False
    return not any(text_at(words, side - step) in _COMPARES for step in range(1, _FARTHEST + 1))


def points_back(words: Sequence[Word], first: int, last: int) -> int | None:
    """Return where a sentence begins that only tells the side of what came before: "that's the left knee"."""
    start = first
    while start > 0 and words[start - 1].text in _POINTING | _LINKING:
        start -= 1
    begin = start
    while begin > 0 and words[begin - 1].text in _PUTS_RIGHT:
        begin -= 1
    opens = begin == 0 or ends_sentence(words[begin - 1])
    last += text_at(words, last) in _KNEE
    closes = last >= len(words) or ends_sentence(words[last])
    return start if opens and closes and words[start].text in _POINTING else None


def bracketed_side(words: Sequence[Word], place: int, sides: Collection[int]) -> int:
    """Return the place after a side alone in brackets, "(R)", or one that a bracket closes, "R)"; or 0."""
    opens = words[place].text in {"(", "["}
    side = place + opens
    closed = side in sides and text_at(words, side + 1) in {")", "]"}
    if not closed or not (opens or (words[side + 1].glued and len(words[side].text) == 1)):
        return 0
    return side + 2


def is_remaining(words: Sequence[Word], place: int, sides: Collection[int]) -> bool:
    """Say whether a word is no side: "no effusion left in the right knee", "tender right there"."""
    if (words[place].text, text_at(words, place + 1)) == ("right", "there"):
        ends = _closes(words, place + 2) or text_at(words, place + 2) in {"over", "on", "at", "in"}
        return ends and text_at(words, place - 1) not in {"the", "on"} and not _opens(words, place)
    if words[place].text == "either":
        start, _ = sentence_of(words, place)
        denied = any(word.text in _DENYING or word.text.endswith("n't") for word in words[start:place])
        return denied and _closes(words, place + 1) and text_at(words, place - 1) not in _ON
    if words[place].text != "left" or text_at(words, place + 1) not in {"in", "on", "at", "over"}:
        return False
    side = place + 2 + (text_at(words, place + 2) in {"the", "his", "her"})
    return side in sides


def numerals(words: Sequence[Word]) -> frozenset[int]:
    """Return the places of the numbers that only count the points of a list that begins with "1."."""
    found: list[int] = []
    for place, word in enumerate(words):
        dot = place + 1 < len(words) and words[place + 1].glued and words[place + 1].text in {".", ")"}
        opens = place == 0 or words[place - 1].text in {"\n", ".", ":"} or bool(found)
        if dot and opens and word.text == str(len(found) + 1):
            found.append(place)
    return frozenset(found)


def is_graded(words: Sequence[Word], place: int) -> bool:
    """Say whether a grade was told before a word in its sentence: "grade two right and zero left"."""
    start, _ = sentence_of(words, place)
    return any(word.text in {"grade", "graded"} for word in words[start:place])


def _opens(words: Sequence[Word], place: int) -> bool:
    """Say whether a clause begins at a word."""
    return place == 0 or ends_sentence(words[place - 1]) or words[place - 1].text in _ENDS


def _closes(words: Sequence[Word], place: int) -> bool:
    """Say whether a clause ends before a word."""
    return place >= len(words) or ends_sentence(words[place]) or words[place].text in _ENDS
