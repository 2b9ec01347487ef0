"""Answers are worked out once: much is remembered of what is small, little of what is large."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import lru_cache
from typing import Any

_KEPT = 256
_KEPT_LARGE = 16
"""Of what says that it `is_large`: a whole exam, anew with each mark, would soon take all memory."""


class Remembering:
    """Calls a function of two things once for each pair, and returns the same answer from then on."""

    def __init__(self, function: Callable[[Any, Any], Any]) -> None:
        self._of_small = lru_cache(_KEPT)(function)
        self._of_large = lru_cache(_KEPT_LARGE)(function)

    def __call__(self, one: Hashable, about: Hashable) -> Any:  # whatever the function returns
        """Return what the function makes of both."""
        remembered = self._of_large if getattr(about, "is_large", False) else self._of_small
        return remembered(one, about)

    def forget(self) -> None:
        """Forget every answer."""
        self._of_small.cache_clear()
        self._of_large.cache_clear()
