"""The part of the page about the collected patients: totals by round, ranks by group, what they are worth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fabella.audit.collected import FIRST_READINGS, by_round
from fabella.audit.groups import by_group
from fabella.audit.page_parts import share_words, table, totals
from fabella.audit.validation import CaseResult, Validation, share

_FAR = 10
"""A right lesion that stands behind this place is as good as not thought of."""

_HEAD = """\
## {count} more patients, collected in {rounds} rounds

`fabella validate --collected` lists them case by case with their sources. The first round was written down
before the chain was run on it, by people who knew the program, and the eighth, the ninth and the tenth by
people who knew the form of a case but not what the program calls its signs; the eleventh by one who had also
seen how the earlier rounds are kept; the others by people who had never seen it.
When the chain read a round for the first time, the right lesion was

{first_readings}

Those were the clean tests. Since then the words and the faults of these rounds have been used to improve the
reading and the tables (of the eighth only the reading of words and a rule of what cannot wait, that of a
small child who limps; of the ninth only the reading of words and the rules about a leg without blood;
of the tenth only the reading of words and the rules about a clot, a leg without blood, a growth plate and a
knee that stays swollen; of the eleventh only the reading of words; never a number of the model): their
figures of today, below, are **no clean test**.
Many of these patients are rare; the later rounds are what was left to find, often abstracts with three or
four findings. The ninth holds more that is common, and its higher figure may be no more than that; at the
first reading 4 of its 6 red flags were raised, and the two that were not were both a popliteal artery in a
leg without an injury. Of the 40 patients of the tenth five were left out before the chain was run, as whoever
gathered them advised (one finding and no more), and six after it, when they were found to stand in the third
round already; with those six it would have been first in 13 and among the first three in 18 of 35. Seven of
the 29 have a single finding. At the first reading 3 of its 8 red flags were raised, and the five that were
not were an infected bursa, a tuberculous joint, a clot, a popliteal artery without an injury, and a fracture
through a growth plate. The eleventh round comes from abstracts and short pages, after more than a hundred
searches of what the others had left: eight of the 24 have two findings, and one has a single one. Counted
at the first reading was the diagnosis that a patient was published for; with what else would be accepted,
such as the worn joint beside a cyst, the right lesion was first in 13 and among the first three in 16. Then 2
of its 3 red flags were raised, and the one that was not was a tumour that a fall brought to light; the two
false alarms were patellae that slip out whenever the knee bends, read as out of place for good.
Two patients of the eighth round, too, were later found to stand in an earlier one and were taken out; its
first reading stands as it was written down, with them.

The first two rows leave out the patients whose diagnosis is not in the model. More names of diagnoses are
known now than when the earlier rounds were first read, and what the gatherer of a patient would
accept as well now counts. A *red flag* is here what cannot wait at all: an infection, a vessel, a tumour
that is malignant or destroys bone, a child's hip, a nerve after an injury, a compartment, a clot, a bleed in
haemophilia; a fracture alone is urgent (one in the ninth round and one in the tenth were marked as a red flag
before they were read, and have stayed so)."""

_GROUPS = """\
### By group of diagnoses

Where the chain is strong and where it is weak: the place of the right lesion, all rounds together."""


def collected_part(validation: Validation) -> Iterator[str]:
    """Yield the lines about the collected patients, without a list of them."""
    rounds = by_round(validation)
    first_readings = "\n".join(map(_first_reading, FIRST_READINGS))
    yield _HEAD.format(count=len(validation.results), rounds=len(rounds), first_readings=first_readings)
    yield ""
    yield from table(("", *(f"{name} round" for name in rounds), "all"), _totals(rounds, validation))
    yield from ("", _GROUPS, "")
    columns = ("", "first", "among the first three", f"behind the {_FAR}th place")
    yield from table(columns, _ranks(validation))


def _first_reading(name: str) -> str:
    then = FIRST_READINGS[name]
    return (
        f"- {name} round: first in {share_words(then.first)},"
        f" among the first three in {share_words(then.top_three)}."
    )


def _totals(rounds: Mapping[str, Validation], validation: Validation) -> Iterator[tuple[str, ...]]:
    """Yield a row for each total."""
    each = [dict(totals(one)) for one in (*rounds.values(), validation)]
    for name in each[0]:
        yield (name, *(share_words(one[name]) for one in each))


def _ranks(validation: Validation) -> Iterator[tuple[str, ...]]:
    """Yield a row for each group."""
    for name, group in by_group(validation).items():
        far = share(sum(map(_is_far, group.results)), len(group.results))
        yield (name, *map(share_words, (group.first, group.top_three, far)))


def _is_far(result: CaseResult) -> bool:
    return result.rank is None or result.rank > _FAR
