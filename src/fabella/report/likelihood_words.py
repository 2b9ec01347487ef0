"""Probabilities in words and numbers: one scale, defined once.

Several published scales tie words to numbers, and they do not agree (from memory: Kent 1964, Studies in
Intelligence; Mosteller and Youtz 1990, Statistical Science; the calibrated language of climate assessments,
Mastrandrea 2010). The bounds below are a judgement of ours. The number always stands beside the word.
"""

from __future__ import annotations

from dataclasses import dataclass

from fabella.report.wording import NO_BREAK
from fabella.stats.written import percent_of, percentage

SCALE: tuple[tuple[int, str], ...] = (
    (95, "almost certainly"),
    (80, "very likely"),
    (60, "likely"),
    (40, "as likely as not"),
    (20, "possibly"),
    (5, "unlikely"),
    (0, "very unlikely"),
)
"""Lowest percentage at which each word is used (judgement); no word stands for certainty."""

WEIGHT_ENDS_BITS = 5.0
"""Weights of 32 to 1 and more stand at the end of their scale."""

_WHOLE_FROM = 9.95  # factors from here are said without a decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """A probability as written: its word, its percentage, and its 90 % interval."""

    word: str
    percent: str
    interval: str

    @property
    def short(self) -> str:
        """Percentage and interval: ``87% (90% interval 80 to 93%)``."""
        return f"{self.percent} (90% interval {self.interval})" if self.interval else self.percent


def word_for(probability: float) -> str:
    """Return the word for a probability (0..1), chosen by the percentage that will be printed beside it."""
    percent = percent_of(probability)
    return next(word for lowest, word in SCALE if percent >= lowest)


def short(percent: str) -> str:
    """Return a percentage for a narrow place: ``>99%`` for ``over 99%``."""
    return percent.replace("over ", ">").replace("under ", "<")


def chance(probability: float, *, low: float | None = None, high: float | None = None) -> Chance:
    """Return a probability in words and numbers.

    Parameters
    ----------
    probability
        0 to 1.
    low, high
        Ends of its 90 % interval, 0 to 1; None leaves the interval out.
    """
    interval = "" if low is None or high is None else _interval(probability, low, high)
    return Chance(word=word_for(probability), percent=percentage(probability), interval=interval)


def _interval(probability: float, low: float, high: float) -> str:
    """Both ends; where they round to the same, so that neither says more than the percentage beside it.

    An end is "over 99" or "under 1" where the percentage beside it is: 97 to 99% would leave it out.
    """
    first, last = percentage(low), percentage(high)
    if percent_of(low) != percent_of(high):
        beside = percentage(probability)
        ends = (
            each if each == beside else f"{percent_of(end)}%" for each, end in ((first, low), (last, high))
        )
        first, last = ends
    return first if first == last else f"{first.removesuffix('%')} to {last}"


def odds_words(bits: float) -> str:
    """Return a weight (change of the log2 odds) as what it does to the odds: ``× 3.2``, ``÷ 2.1``."""
    factor = 2 ** abs(bits)
    words = f"{factor:.0f}" if factor >= _WHOLE_FROM else f"{factor:.1f}"
    return f"{'÷' if bits < 0 else '×'}{NO_BREAK}{words}"


def weight_at(bits: float) -> float:
    """Return where a weight lies on a scale of 0 to 100 whose middle says nothing, ends 5 bits away."""
    return round(50 + 50 * min(max(bits / WEIGHT_ENDS_BITS, -1), 1), 2)
