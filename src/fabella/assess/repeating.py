"""Whether what was decided once follows again, as of another version of the program."""

from __future__ import annotations

import json
from typing import Any, Final

NEAR: Final = 1e-5
"""How far numbers may lie apart [in their own unit], which are written with six decimals."""


def is_repeated(kept: str, again: str) -> bool:
    """Say whether all that kept results say is said again by others, both as by `write_results`.

    What others say beyond, as those of a later version may, does not matter.
    """
    return _is_same(json.loads(kept), json.loads(again))


def _is_same(kept: Any, again: Any) -> bool:
    if isinstance(kept, dict):
        return isinstance(again, dict) and all(
            name in again and _is_same(value, again[name]) for name, value in kept.items()
        )
    if isinstance(kept, list):
        same_length = isinstance(again, list) and len(kept) == len(again)
        return same_length and all(map(_is_same, kept, again))
    if _is_number(kept) and _is_number(again):
        return bool(abs(kept - again) <= NEAR)
    return bool(kept == again)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
