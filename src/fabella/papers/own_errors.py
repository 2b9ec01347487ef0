"""The error of measurement in words: whose it is, what is added for it, and who took fewer stations."""

from __future__ import annotations

from math import isnan

from fabella.assess import Decision, ErrorOf, Results, Rules
from fabella.papers.words import known, sems_words
from fabella.report.wording import counted


def added_words(rules: Rules) -> str:
    """Return what rules add to each pass mark, such as ``1 standard error of measurement of all stations``.

    Empty for nothing.
    """
    if not rules.sem_multiple:
        return ""
    whose = "all stations" if rules.error_of is ErrorOf.ALL else "the stations taken"
    return f"{sems_words(rules.sem_multiple)} of {whose}"


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
