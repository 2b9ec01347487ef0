"""What an analysis of an exam says, in words: methods, outcomes, flags, and what a number rests on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from itertools import starmap
from math import isnan
from types import MappingProxyType
from typing import Final

from fabella.assess import About, Basis, Coverage, CutMethod, Flag, Outcome, Reason, Results
from fabella.exam import Station
from fabella.report.wording import counted, sentence
from fabella.stats import Interval

METHODS: Final[Mapping[CutMethod, str]] = MappingProxyType(
    {
        CutMethod.BORDERLINE_REGRESSION: "borderline regression",
        CutMethod.BORDERLINE_GROUP_MEAN: "borderline group, mean",
        CutMethod.BORDERLINE_GROUP_MEDIAN: "borderline group, median",
        CutMethod.CONTRASTING_INTERSECTION: "contrasting groups, crossing curves",
        CutMethod.CONTRASTING_LOGISTIC: "contrasting groups, logistic",
        CutMethod.CONTRASTING_LEAST_LOSS: "contrasting groups, fewest errors",
        CutMethod.ANGOFF: "Angoff",
        CutMethod.HOFSTEE: "Hofstee",
        CutMethod.COHEN: "Cohen",
        CutMethod.FIXED: "fixed beforehand",
    }
)
SOURCES: Final[Mapping[CutMethod, str]] = MappingProxyType(
    {
        CutMethod.BORDERLINE_REGRESSION: (
            "At each station the score is regressed on the global rating by least squares; the pass mark is "
            "the line at the borderline grade, that of the exam their weighted mean, its error from "
            "resampled candidates. Wood, Humphrey-Murto and Norman 2006 Adv Health Sci Educ 11:115-122."
        ),
        CutMethod.BORDERLINE_GROUP_MEAN: (
            "At each station the pass mark is the mean score of the performances graded borderline. Common "
            "practice."
        ),
        CutMethod.BORDERLINE_GROUP_MEDIAN: (
            "At each station the pass mark is the median score of the performances graded borderline. Common "
            "practice."
        ),
        CutMethod.CONTRASTING_INTERSECTION: (
            "At each station the pass mark is where the normal curves of those graded above borderline and "
            "of the others cross. Livingston and Zieky 1983 ETS-RR-83-38."
        ),
        CutMethod.CONTRASTING_LOGISTIC: (
            "At each station the pass mark is the score with even chances of a grade above borderline. "
            "Livingston and Zieky 1983 ETS-RR-83-38."
        ),
        CutMethod.CONTRASTING_LEAST_LOSS: (
            "At each station the pass mark is the score that disagrees least with grades above borderline. "
            "Livingston and Zieky 1983 ETS-RR-83-38."
        ),
        CutMethod.ANGOFF: (
            "Judges estimated what share of the marks a candidate who just deserves to pass would earn; the "
            "pass mark is their mean. Angoff 1971 (from memory)."
        ),
        CutMethod.HOFSTEE: (
            "Judges named the lowest and highest pass mark and failure rate they accept; the pass mark is "
            "where the curve of failures meets the line between them. Hofstee 1983 (from memory)."
        ),
        CutMethod.COHEN: (
            "The pass mark is a share of what the best candidates scored; it moves with the cohort. Taylor "
            "2011 Med Teach 33:e678-82."
        ),
        CutMethod.FIXED: "The pass mark was fixed beforehand.",
    }
)
OUTCOMES: Final[Mapping[Outcome, str]] = MappingProxyType(
    {Outcome.PASS: "passed", Outcome.FAIL: "did not pass", Outcome.INSUFFICIENT: "not decided"}
)
RULES: Final[Mapping[Reason, str]] = MappingProxyType(
    {
        Reason.BELOW_PASS_MARK: "score below the pass mark",
        Reason.TOO_FEW_PASSED: "too few stations passed",
        Reason.CRITICAL: "critical items failed",
        Reason.TOO_FEW_TAKEN: "too few stations taken",
    }
)
_FLAGS: Final = {
    "no_sheet": (
        "no sheet at a station that others of the circuit have: a sheet lost, a name misspelt, or somebody "
        "taken off the timetable?"
    ),
    "marked_apart": "marked twice at one station, one after the other: two people of one name?",
    "written_alike": "names that differ only in capitals or blanks: the same person?",
    "extrapolated": "all grades lie on one side of borderline: the pass mark lies beyond what was seen",
    "few_borderline": "few performances were graded borderline",
    "small_cohort": "fewer than 50 candidates: read the interval first, the pass mark second",
    "not_rising": "higher grades do not go with higher scores",
    "outside_scores": "the pass mark lies outside the scores seen",
    "curved": "scores do not rise evenly with the grades",
    "no_line": "too few grades or scores for a line",
    "no_group": "nobody was graded borderline",
    "no_crossing": "the two groups' curves do not cross between their means",
    "separated": "a gap parts the two groups: any score in it would do",
    "uneven": "the two groups are of very different size, which moves the pass mark",
    "fails_exceed_most": "more fail than the judges accept even at the lowest pass mark",
    "fails_below_least": "fewer fail than the judges expect even at the highest pass mark",
    "on_a_jump": "the pass mark is a score that somebody has: a shade more and they fail",
    "raises_alpha": "the exam is more consistent without it: look at it, do not drop it unseen",
    "circuits_differ": (
        "more than 30% of the variance lies between circuits, which may be chance where candidates are few"
    ),
    "too_easy": "nearly everybody has it",
    "too_hard": "less than a fifth of its marks were earned",
    "misleads": "those who had it did worse in the rest, which may be chance where sheets are few",
    "discriminates_little": "it hardly told strong from weak, which may be chance where sheets are few",
    "often_not_observed": "often not seen by the examiner",
    "marks_alike": "marks lie at most half as far apart as those of the other examiners",
    "drifts": "marks move through the day",
}
_WHAT = {About.EXAM: "exam", About.EXAMINER: "examiner", About.CANDIDATE: "candidate"}
_MOST_NAMED = 12  # candidates or examiners of one flag, beyond whom the rest are counted
_DECIDING = 6  # digits of a percent to which scores and pass marks are compared
CAUTION: Final = (
    "A difference between circuits, or between examiners who share no candidates, is the examiners' only if "
    "candidates were allotted at random."
)


def flag_words(flags: Iterable[Flag], names: Mapping[str, str] = MappingProxyType({})) -> list[str]:
    """Return flags in words, those that say the same together, in the order in which they first come.

    Such as ``few performances were graded borderline – station S3; station S5``; ``names`` are the words for
    codes of stations, and of items as ``station/item``.
    """
    about: dict[str, dict[str, list[str]]] = {}
    for each in flags:
        whose, item = each.code, ""
        if each.about in (About.STATION, About.ITEM):
            whose, _, item = each.code.partition("/")
            whose = names.get(whose, f"station {whose}")
        else:
            whose = f"{_WHAT[each.about]} {whose}".rstrip()
        items = about.setdefault(each.says, {}).setdefault(whose, [])
        if item:
            items.append(names.get(each.code, item))
    return [f"{_FLAGS[says]} – {'; '.join(_first_few(found))}" for says, found in about.items()]


def _first_few(found: Mapping[str, list[str]]) -> list[str]:
    told = list(starmap(_named, found.items()))
    people = tuple(f"{_WHAT[each]} " for each in (About.CANDIDATE, About.EXAMINER))
    if len(told) <= _MOST_NAMED or not told[-1].startswith(people):
        return told
    return [*told[:_MOST_NAMED], f"and {len(told) - _MOST_NAMED} more"]


def _named(whose: str, items: list[str]) -> str:
    return f"{whose}: {', '.join(items)}" if items else whose


def refusal_words(refusal: str) -> str:
    """Return why something was not worked out as a sentence, such as ``Stations have one examiner each.``."""
    place, _, rest = refusal.partition(": ")
    return sentence(effect_words(f"{place} {rest}" if rest else place))


def names_of(stations: Iterable[Station]) -> dict[str, str]:
    """Return words for the codes of stations and of their items, by which reports call them."""
    found = {}
    for station in stations:
        title = station_name(station)
        found[station.id] = title
        for item in station.items:
            found[f"{station.id}/{item.id}"] = f"“{item.words}”"
    return found


def station_name(station: Station) -> str:
    """Return how a station is called: number and title, or the title alone."""
    return f"{station.id} {station.title}" if station.id[:1].isdecimal() else station.title


def outcomes_words(results: Results) -> str:
    """Return how many candidates have each outcome."""
    outcomes = [each.outcome for each in results.decisions]
    return ", ".join(f"{outcomes.count(each)} {OUTCOMES[each]}" for each in Outcome if each in outcomes)


def gone_words(have: Coverage) -> list[str]:
    """Return how many marks are missing, by why; what was not done counts as 0 and is not missing."""
    return [f"{n} {word.replace('_', ' ')}" for word, n in have.missing.items() if n and word != "not_done"]


def basis_words(basis: Basis) -> str:
    """Return what a number rests on, such as ``REML, 322 sheets, 8 left out``."""
    left = f", {basis.dropped:,} left out" if basis.dropped else ""
    method = METHODS[CutMethod(basis.estimator)] if basis.estimator in list(CutMethod) else basis.estimator
    return f"{method}, {counted(basis.n, basis.of.removesuffix('s'))}{left}"


def sems_words(multiple: float) -> str:
    """Return a multiple of the error of measurement, such as ``1.5 standard errors of measurement``."""
    return f"{multiple:g} standard error{'' if multiple == 1 else 's'} of measurement"


def range_words(interval: Interval, *, digits: int = 1) -> str:
    """Return the ends of an interval, such as ``42.1 to 48.4``; empty when it has none, as a fixed number."""
    if isnan(interval.low) or interval.low == interval.high:
        return ""
    return f"{known(interval.low, digits=digits)} to {known(interval.high, digits=digits)}"


def known(value: float, *, digits: int = 2) -> str:
    """Return a number with a true minus sign, or a dash where there is none."""
    return "–" if isnan(value) else _true_minus(f"{_rounded(value, digits):.{digits}f}")


def beside(score: float, bar: float, *, digits: int = 1) -> tuple[str, str]:
    """Return a score and what it had to reach, with as many digits as it takes that a score below is read so.

    Such as ``59.98`` and ``60.02``, which are not both 60.0; what decides is compared to six digits.
    """
    told, to_reach = round(score, _DECIDING), round(bar, _DECIDING)
    for more in range(digits, _DECIDING):
        shown = known(told, digits=more), known(to_reach, digits=more)
        if shown[0] != shown[1] or not told < to_reach:
            return shown
    return known(told, digits=_DECIDING), known(to_reach, digits=_DECIDING)


def with_sign(value: float, *, digits: int = 1) -> str:
    """Return a difference with its sign, such as ``+2.7`` or ``−24.3``; what rounds to 0 has none."""
    told = _rounded(value, digits)
    return _true_minus(f"{told:+.{digits}f}" if told else f"{told:.{digits}f}")


def _rounded(value: float, digits: int) -> float:
    """Return a number as it is printed, 0 for what rounds to −0."""
    return float(f"{value:.{digits}f}") + 0.0


def _true_minus(number: str) -> str:
    return number.replace("-", "−")


def effect_words(text: str) -> str:
    """Return a text with the effects of a design in words, ``station*circuit`` as ``station by circuit``."""
    return re.sub(r"(?<=\w):(?=\w)", " within ", re.sub(r"(?<=\w)\*(?=\w)", " by ", text))


def share_words(share: float) -> str:
    """Return a share in percent, or a dash where there is none."""
    return "–" if isnan(share) else f"{100 * share:.0f}%"
