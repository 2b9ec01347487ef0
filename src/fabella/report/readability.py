"""How hard a text is to read: the Flesch-Kincaid grade.

Source: Kincaid JP et al. 1975, Research Branch Report 8-75 (from memory).
"""

from __future__ import annotations

import re

PAGE_GRADE = 4.0
"""Highest grade of a whole patient's page as we write it: a reading age of about 9 or 10 (judgement)."""


def reading_grade(text: str) -> float | None:
    """Return the US school grade at which a text can be read; None when it holds no word."""
    sentences = [each for each in re.split(r"[.!?:;]+(?:\s|$)|\n", text) if re.search(r"\w", each)]
    words = re.findall(r"[A-Za-z0-9'’-]+", text)
    if not words or not sentences:
        return None
    beats = sum(map(syllables, words))
    return 0.39 * len(words) / len(sentences) + 11.8 * beats / len(words) - 15.59


def syllables(word: str) -> int:
    """Return the groups of vowels in a word; a silent final e and a silent -ed do not count."""
    letters = re.sub(r"[^a-z]", "", word.casefold())
    groups = len(re.findall(r"[aeiouy]+", letters))
    if re.search(r"[^aeiouy]e$", letters) and not re.search(r"[^aeiouy]le$", letters):
        groups -= 1
    if re.search(r"[^aeioutd]ed$", letters):
        groups -= 1
    return max(groups, 1)
