"""Words that a data file lists by kind, and how many of them something said begins with."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from fabella.dictation.words import split


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """The names of each kind as their words, and how many the longest of all has."""

    names: Mapping[str, frozenset[tuple[str, ...]]]
    most: int

    def length(self, said: Sequence[str], kind: str) -> int:
        """Return how many words the longest name has with which ``said`` begins, 0 for none."""
        names = self.names[kind]
        most = min(len(said), self.most)
        return next((length for length in range(most, 0, -1) if tuple(said[:length]) in names), 0)

    def end(self, said: Sequence[str], place: int, kind: str) -> int:
        """Return the place behind the longest name of a kind that begins at a word, or 0."""
        length = self.length(said[place : place + self.most], kind)
        return place + length if length else 0


@cache
def load_listed(file: str) -> Listed:
    """Return what ``data/<file>.toml`` lists; articles count like any word."""
    text = files("fabella.dictation").joinpath("data", f"{file}.toml").read_text("utf-8")
    rows: Mapping[str, Sequence[str]] = tomllib.loads(text)
    names = {
        kind: frozenset(tuple(word.text for word in split(name)) for name in each)
        for kind, each in rows.items()
    }
    return Listed(names=names, most=max(len(name) for each in names.values() for name in each))
