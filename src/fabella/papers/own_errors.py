"""The error of measurement in words: of whoever took every station, and of whoever took fewer."""

from __future__ import annotations

from math import isnan

from fabella.assess import Decision, ErrorOf, Results
from fabella.papers.words import known
from fabella.report.wording import counted


def held_to_words(results: Results) -> str:
    """Return by which error those are judged who did not take every station; empty where everybody did."""
    others = results.with_other_error
    if not others:
        return ""
    who = counted(len(others), "candidate")
    if results.rules.error_of is ErrorOf.ALL:
        return f"By the rules it is the same for all, also where other stations were taken ({who})."
    low, high = (f(each.sem for each in others) for f in (min, max))
    least, most = known(low), known(high)
    span = f"{least}%" if least == most else f"{least} to {most}%"
    return f"Where fewer stations were taken ({who}) it is that of those: {span}."


def error_words(results: Results, decision: Decision) -> str:
    """Return the error of a score, such as ``±4.4%``; with its stations where others were held, too."""
    if isnan(decision.sem):
        return ""
    told = f"±{decision.sem:.1f}%"
    if decision not in results.with_other_error:
        return told
    is_of_exam = results.rules.sem is not None and results.rules.error_of is ErrorOf.ALL
    held = results.scores.station.shape[1] if is_of_exam else len(results.alpha.stations)
    taken = counted(decision.stations_taken, "station")
    return f"{told} over {taken}, where all {held} give ±{results.sem:.1f}%"
