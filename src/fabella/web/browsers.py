"""A browser in plain words, as it calls itself: enough for somebody to know their own tablet again.

What a browser says of itself is common practice and nothing to rely on: no decision rests on it.
"""

from __future__ import annotations

from typing import Final

_SYSTEMS: Final = (
    ("iPhone", "an iPhone"),
    ("iPad", "an iPad"),
    ("Android", "an Android device"),
    ("CrOS", "a computer with ChromeOS"),
    ("Windows", "a computer with Windows"),
    ("Macintosh", "a Mac or an iPad"),  # a tablet that asks for pages as on a desk calls itself so
    ("Linux", "a computer with Linux"),
)
_FAMILIES: Final = (
    ("Firefox/", "Firefox"),
    ("FxiOS/", "Firefox"),
    ("Edg", "Edge"),
    ("Chrome/", "Chrome or one like it"),
    ("CriOS/", "Chrome or one like it"),
    ("Safari/", "Safari"),
)
"""By the first part that is in it (common practice): many call themselves by the others' names too."""


def browser_words(calls_itself: str) -> str:
    """Return what kind of browser and device calls itself so; a program that is none is told as one."""
    family = next((words for part, words in _FAMILIES if part in calls_itself), "")
    system = next((words for part, words in _SYSTEMS if part in calls_itself), "")
    if not family:
        return f"A browser or program on {system}" if system else "A browser or program of another kind"
    return f"{family} on {system}" if system else family
