"""What may stand in a cell of a table that a spreadsheet opens."""

from __future__ import annotations

_BEGINS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def no_formula(text: str) -> str:
    """Return a text so that no spreadsheet takes it for a formula: one that might be is quoted."""
    return f"'{text}" if text.startswith(_BEGINS_A_FORMULA) else text
