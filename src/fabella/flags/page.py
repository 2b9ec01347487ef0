"""Every rule as one Markdown page, made from the data so that it cannot grow stale."""

from collections.abc import Iterator

from fabella.flags.rule import Rule, Rules, Since, Urgency

_HEAD = """\
# What cannot wait

Made from `rules.toml` by `fabella.flags.page`; do not edit.

Explicit rules, read on both knees before and independently of any probability: with every accuracy table
missing the alarms are the same. Each criterion is true, false or unknown; what was not examined, not asked
or could not be tested is unknown, never false. A rule is **met**, or it **cannot be excluded**: it concerns
this knee and the unknown criteria could still make it positive, or it is met but nobody wrote down whether it
concerns this knee. A rule that nothing connects with the knee is silent. An exclusion silences a rule only
when it is known to hold. A known explanation, such as a leg raised straight or a hip that turns freely, takes
away what keeps a rule open, and never what was found. An open rule is left out beside a met one that asks for
the same at least as urgently.

History belongs to the knee complained of; where nobody wrote down which that is, what it would meet in either
knee cannot be excluded. Where nobody wrote down how or when it began, what presses and would be met had the
knee been twisted yesterday is asked about. "Acute" without a number of days stands for at most 14 days, and
in an emergency department for the days of the fracture rules (judgement). A fresh injury lies within 14 days,
a recent one within 6 weeks (judgement). Ages count in completed years. Sources marked *from memory* were not
re-read; *common practice* and *judgement* have no paper behind them. Local protocols decide what is done.
In pregnancy an action that asks for films says what rays mean at the knee and at the hip; before the hip of a
woman of 12 to 55 is filmed it says to ask (common practice).

Child safeguarding is always part of the examiner's task; of it these rules know no more than bruises that no
knock explains, and a bone broken in a small child that nothing explains."""

URGENCY_WORDS = {
    Urgency.NOW: "Now",
    Urgency.SAME_DAY: "The same day",
    Urgency.WITHIN_48_HOURS: "Within 48 hours",
    Urgency.WITHIN_2_WEEKS: "Within 2 weeks",
    Urgency.ROUTINE_BUT_DO_NOT_MISS: "Not urgent, not to be missed",
}
"""How soon, as the heading of the rules of an urgency."""


def as_markdown(rules: Rules) -> str:
    """Return the page, ending in a line break."""
    return "\n".join(_lines(rules)) + "\n"


def _lines(rules: Rules) -> Iterator[str]:
    yield _HEAD
    for urgency, words in URGENCY_WORDS.items():
        yield f"\n## {words}"
        for rule in rules.values():
            if rule.urgency is urgency:
                yield from _rule(rule)
    yield "\n## Published criteria that raise no alarm\n"
    yield "| Rule and criterion | Why |"
    yield "|---|---|"
    for left_out in rules.left_out:
        yield f"| {', '.join(left_out.rows)} | {left_out.why} |"


def _rule(rule: Rule) -> Iterator[str]:
    yield f"\n### {rule.name} (`{rule.id}`)\n"
    yield f"Applies: {rule.applies} Excludes: {rule.excludes}\n"
    yield f"Met by: {rule.combine}.\n"
    yield "| Criterion | While it is unknown |"
    yield "|---|---|"
    for criterion in rule.criteria:
        yield f"| {criterion.words} | {criterion.ask} |"
    yield f"\nAction: {rule.action}\n"
    for young in rule.of_the_young:
        yield f"Left out from {young.under_years} years on: “{young.passage.strip()}”\n"
        if young.whole:
            yield f"Under {young.under_years} years, for “{young.whole}”: {young.becomes}\n"
    for window in rule.windows:
        since = "onset" if window.since is Since.ONSET else "the operation"
        yield f"More than {window.days:g} days after {since}, for “{window.within}”: {window.late}\n"
    yield f"Source: {rule.source}{_reference(rule)}{' *(from memory)*' if rule.recalled else ''}."
    if rule.orders:
        yield f"\nOrders: {', '.join(f'`{each}`' for each in rule.orders)}."
    for each in rule.withholds:
        yield f"\nWithholds: `{each.deed}`: {each.why}."
    if rule.answered_by:
        yield f"\nSilent once read: {', '.join(f'`{each}`' for each in rule.answered_by)}."
    if rule.settled_by:
        yield f"\nNot held open beside: {', '.join(f'`{each}`' for each in rule.settled_by)}."
    if rule.decides:
        yield f"\nCarries: {', '.join(rule.decides)}."


def _reference(rule: Rule) -> str:
    if not rule.doi_or_pmid:
        return ""
    return f" (PMID {rule.doi_or_pmid})" if rule.doi_or_pmid.isdecimal() else f" ({rule.doi_or_pmid})"
