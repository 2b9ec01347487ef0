"""How a share or a probability is written, never surer than it is and alike with its ends; an id as words."""

from __future__ import annotations

_SUREST, _FAINTEST = 99, 1
_FEWEST, _MOST = 2, 3  # decimals of a share


def percent_of(probability: float) -> int:
    """Return a probability (0..1) as a whole percentage from 1 to 99."""
    return min(max(round(probability * 100), _FAINTEST), _SUREST)


def percentage(probability: float) -> str:
    """Return a probability (0..1) as a whole percentage that never says 0 or 100."""
    if probability > _SUREST / 100:
        return f"over {_SUREST}%"
    if probability < _FAINTEST / 100:
        return f"under {_FAINTEST}%"
    return f"{percent_of(probability)}%"


def share_words(value: float | None, low: float | None = None, high: float | None = None) -> str:
    """Return a share (0 to 1; a coefficient from -1) with its ends, alike in decimals.

    Two decimals, or three where any is so exact. None is not known: ``…`` beside a known end, else left out.
    """
    known = [each for each in (value, low, high) if each is not None]
    exact = any(abs(round(each, _FEWEST) - each) >= 0.5 * 10**-_MOST for each in known)
    decimals = _MOST if exact else _FEWEST
    shown = (_shown(each, f".{decimals}f").replace("-", "−") for each in (value, low, high))
    return _with_ends(*shown)


def number_words(value: float | None, low: float | None = None, high: float | None = None) -> str:
    """Return a number of any size with its ends: ``3.6 (1.5 to 12)``; None as in `share_words`."""
    return _with_ends(*(_shown(each, "g") for each in (value, low, high)))


def percent_words(value: float | None, low: float | None = None, high: float | None = None) -> str:
    """Return a published share (0..1) as a percentage with its ends: ``24.3% (18 to 31%)``.

    None is not known; a single end is left out.
    """
    ends = "" if low is None or high is None else f"{100 * low:.3g} to {100 * high:.3g}%"
    return ends if value is None else f"{100 * value:.3g}%{f' ({ends})' if ends else ''}"


def spaced(name: str) -> str:
    """Return an id as words."""
    return name.replace("_", " ")


def _with_ends(value: str, low: str, high: str) -> str:
    """Return a number with its ends, what is not known being empty."""
    between = f"{low or '…'} to {high or '…'}" if low or high else ""
    return f"{value} ({between})" if value and between else value or between


def _shown(value: float | None, form: str) -> str:
    return "" if value is None else f"{value:{form}}"
