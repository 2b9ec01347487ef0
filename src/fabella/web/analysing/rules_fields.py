"""Every rule of an exam that a page asks for: its words, its unit and range, and where it comes from."""

from __future__ import annotations

from typing import Final

from fabella.assess import ErrorOf, Rounding, StationsRule, Unreached
from fabella.papers.words import METHODS
from fabella.web.analysing.rule_field import Kind, RuleField, RuleGroup

METHOD: Final = RuleGroup(
    legend="Pass mark",
    fields=(
        RuleField(
            name="method",
            label="How it is set",
            kind=Kind.CHOICE,
            choices=tuple((each.value, words) for each, words in METHODS.items()),
            hint="Usual: borderline regression. The analysis shows the others beside it, wherever they have"
            " what they need.",
        ),
        RuleField(
            name="fixed_cut",
            label="Pass mark fixed beforehand [%]",
            optional=True,
            hint="Only for a mark that was decided otherwise; it says nothing about these stations.",
        ),
    ),
)
JUDGED: Final = RuleGroup(
    legend="Cohen and contrasting groups",
    folded=True,
    fields=(
        RuleField(
            name="cohen_share",
            label="Cohen: share of the best score [%]",
            low=1,
            of=100,
            hint="Usual: 60, as first described; modified, an earlier trusted pass mark over the 90th"
            " percentile of its exam. Taylor 2011 Med Teach 33:e678-82.",
        ),
        RuleField(
            name="cohen_percentile",
            label="Cohen: who is best, as a percentile",
            low=1,
            hint="Usual: 95; 90 in the modified form. Taylor 2011.",
        ),
        RuleField(
            name="cohen_guessing",
            label="Cohen: score that guessing gives [%]",
            hint="Usual: 0, for nobody guesses at a station that is watched. Taylor 2011.",
        ),
        RuleField(
            name="false_pass",
            label="Fewest errors: what a wrong pass costs",
            low=0.01,
            high=1000,
            hint="Usual: 1. Only its ratio to the next counts: 2 beside 1 raises the pass mark. Livingston"
            " and Zieky 1983 ETS-RR-83-38.",
        ),
        RuleField(
            name="false_fail",
            label="Fewest errors: what a wrong failure costs",
            low=0.01,
            high=1000,
            hint="Usual: 1. Livingston and Zieky 1983.",
        ),
    ),
)
PASSING: Final = RuleGroup(
    legend="Who passes",
    fields=(
        RuleField(
            name="sem_multiple",
            label="Standard errors of measurement added to the pass mark",
            high=5,
            hint="Usual: 0. Above it fewer pass wrongly and more fail wrongly: policy, no statistics.",
        ),
        RuleField(
            name="sem",
            label="That standard error, if known better [%]",
            optional=True,
            hint="Empty: that of alpha. Against a pass mark the absolute error of a generalizability study"
            " is the right one, over all stations of the exam. Brennan 2001 (from memory).",
        ),
        RuleField(
            name="error_of",
            label="Whose standard error",
            kind=Kind.CHOICE,
            choices=(
                (ErrorOf.TAKEN.value, "each candidate’s own, of the stations taken"),
                (ErrorOf.ALL.value, "that of all stations, for everybody"),
            ),
            hint="Usual: each one’s own; who took fewer stations has a larger one, over 6 of 8 by 15 %. The"
            " second look goes by it, too. Brennan 2001 (from memory).",
        ),
        RuleField(
            name="stations",
            label="Stations that must be passed",
            kind=Kind.CHOICE,
            choices=(
                (StationsRule.NONE.value, "any number"),
                (StationsRule.PREDICTED.value, "as many as predicted at the pass mark"),
                (StationsRule.FIXED.value, "a fixed number"),
            ),
            hint="Usual: any number. It keeps a strong station from paying for weak ones; predicted by"
            " regression on the whole score. Homer 2023 Med Teach 45:1163-1169.",
        ),
        RuleField(
            name="stations_needed",
            label="How many, if fixed",
            kind=Kind.WHOLE,
            high=1000,
            optional=True,
            hint="In proportion for whoever took fewer stations (ours).",
        ),
        RuleField(
            name="rounding",
            label="A part of a station is rounded",
            kind=Kind.CHOICE,
            choices=(
                (Rounding.DOWN.value, "down"),
                (Rounding.NEAREST.value, "to the nearest"),
                (Rounding.UP.value, "up"),
            ),
            hint="Usual: to the nearest, halves up (ours); declare it beforehand, for it decides about some.",
        ),
        RuleField(
            name="most_critical_failed",
            label="Critical items that may be failed",
            kind=Kind.WHOLE,
            high=1000,
            optional=True,
            hint="Empty: they do not decide. An item is failed only if the examiner saw it left out (ours).",
        ),
    ),
)
MISSING: Final = RuleGroup(
    legend="What is missing",
    fields=(
        RuleField(
            name="most_prorated",
            label="Share of a sheet that may be filled in [%]",
            of=100,
            hint="Usual: 10 (ours). A missing mark is filled in from the same kind of item; beyond this the"
            " sheet has no score. It is never 0.",
        ),
        RuleField(
            name="items_prorated",
            label="Items filled in whatever their share",
            kind=Kind.WHOLE,
            high=100,
            hint="Usual: 1: of eight items one is more than 10 %, and filling it in errs less than losing the"
            " station (ours, simulated).",
        ),
        RuleField(
            name="largest_prorated",
            label="Share of a sheet that those items may be worth [%]",
            of=100,
            hint="Usual: 25 (ours): one item that is worth more is not filled in.",
        ),
        RuleField(
            name="unreached",
            label="Items that the bell came before",
            kind=Kind.CHOICE,
            choices=(
                (Unreached.MISSING.value, "are missing like any other"),
                (Unreached.NOT_DONE.value, "count as not done"),
            ),
            hint="Usual: missing (ours). Counting them as not done makes speed part of what is examined.",
        ),
        RuleField(
            name="least_stations",
            label="Share of the stations that is enough to decide [%]",
            of=100,
            hint="Usual: 80 (ours). Whoever took fewer is not decided about, and never fails by it.",
        ),
    ),
)
ERRORS: Final = RuleGroup(
    legend="Errors and second look",
    folded=True,
    fields=(
        RuleField(
            name="review_sems",
            label="A second look within so many standard errors of the pass mark",
            high=5,
            hint="Usual: 1, about two thirds of the errors of measurement (normal curve).",
        ),
        RuleField(
            name="resamples",
            label="How often candidates are drawn again for the error of the pass mark",
            kind=Kind.WHOLE,
            low=200,
            high=20_000,
            hint="Usual: 2000, which fixes each end of its interval to some 2 % of its width (normal curve).",
        ),
        RuleField(
            name="within_circuits",
            label="Draw them within their circuits",
            kind=Kind.TICK,
            hint="Usual: off. For circuits of which every exam has the same (ours).",
        ),
    ),
)
GROUPS: Final = (METHOD, PASSING, MISSING, JUDGED, ERRORS)
FIELDS: Final = {each.name: each for group in GROUPS for each in group.fields}
