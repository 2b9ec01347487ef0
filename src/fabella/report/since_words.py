"""What has changed since an earlier visit, as a letter says it: in the words of the course, and in few."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from fabella.anatomy import Side
from fabella.evidence import LATEST, edition_ids, load_edition
from fabella.follow import Comparison, Since, comparisons
from fabella.protocol import Protocol, load_protocol
from fabella.record import Examination, State
from fabella.report.change_words import POSITIVE, grades_of, subject
from fabella.report.course_words import BY_CHANCE
from fabella.report.then_and_now import Become, ThenAndNow, then_and_now
from fabella.report.wording import counted, lowered, sentence, written_date
from fabella.workup import Workup

MOST_CHANGES, MOST_SINCE_THE_BEGINNING, MOST_NAMED = 5, 3, 6
"""True changes told since the last visit and since others, and names in a list (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SinceWords:
    """What has changed since one earlier visit; what there is nothing to say about is empty.

    Parameters
    ----------
    since
        Which earlier visit it is.
    day, heading
        The day of that visit, and the same in words.
    operation
        That the knee has been operated on since; empty when it has not.
    worse, better, changed
        True changes, a sentence each; ``changed`` are those of which the number does not tell which way.
    more
        How many more there are, or that there is none.
    regraded
        Grades that differ by no more than examiners do.
    unchanged
        What was looked at both times and is as it was.
    unjudged
        What was looked at both times and cannot be judged, with the reason.
    not_again
        What was abnormal then and has not been looked at again; nothing of a knee operated on since.
    by_chance
        How often an unchanged knee would be told as changed; empty where no change is told.
    """

    since: Since
    day: date
    heading: str
    operation: str
    worse: tuple[str, ...]
    better: tuple[str, ...]
    changed: tuple[str, ...]
    more: str
    regraded: str
    unchanged: str
    unjudged: str
    not_again: str
    by_chance: str


_TRUE = (Become.WORSE, Become.BETTER, Become.CHANGED)


def all_since(workup: Workup, earlier: Sequence[Workup | Examination]) -> tuple[SinceWords, ...]:
    """Return what has changed since the last visit about the same knee, then since others that matter.

    Raises `InputError` for an earlier examination of another patient, without a day or not earlier.
    """
    protocol = load_protocol()
    compared = compared_with(workup, earlier)
    return tuple(since_words(each, workup.examination, protocol=protocol) for each in compared)


def compared_with(workup: Workup, earlier: Sequence[Workup | Examination]) -> Iterator[Comparison]:
    """Return an examination beside the earlier ones that matter, the last one first, by its evidence."""
    before = [each.examination if isinstance(each, Workup) else each for each in earlier]
    tables = workup.edition if workup.edition in edition_ids() else LATEST  # those being edited have no name
    return comparisons(workup.examination, before, edition=load_edition(tables), protocol=load_protocol())


def since_words(comparison: Comparison, examination: Examination, *, protocol: Protocol) -> SinceWords:
    """Return what has changed between an earlier examination and this one.

    Since the last visit about the same knee all of it; since others the true changes alone, and since the
    visit before also what was not looked at again.
    """
    whole, before = comparison.since is Since.LAST, comparison.before_operation
    recent = comparison.since is not Since.BEGINNING
    most = MOST_CHANGES if whole else MOST_SINCE_THE_BEGINNING
    found = tuple(then_and_now(comparison.course, protocol))
    true = sorted((each for each in found if each.kind in _TRUE), key=lambda each: each.kind)

    def told(kind: Become) -> tuple[str, ...]:
        return tuple(sentence(each.change.brief) for each in true[:most] if each.kind is kind)

    def of(kind: Become) -> tuple[ThenAndNow, ...]:
        return tuple(each for each in found if each.kind is kind and whole)

    return SinceWords(
        since=comparison.since,
        day=comparison.day,
        heading=f"Since {written_date(comparison.day)}",
        operation="That was before the operation." if before else "",
        worse=told(Become.WORSE),
        better=told(Become.BETTER),
        changed=told(Become.CHANGED),
        more=_more(len(true), most) if true else _none(found),
        regraded=_regraded(of(Become.REGRADED)),
        unchanged=_unchanged(of(Become.WITHIN_ERROR), of(Become.AS_BEFORE), normal=len(of(Become.NORMAL))),
        unjudged=_unjudged(of(Become.UNJUDGED)),
        not_again=_not_again(comparison, examination, protocol) if recent and not before else "",
        by_chance=BY_CHANCE if true else "",
    )


def _more(true: int, most: int) -> str:
    if true <= most:
        return ""
    is_are = "is" if true - most == 1 else "are"
    return f"{counted(true - most, 'more true change')} {is_are} in the course."


def _none(found: Sequence[ThenAndNow]) -> str:
    return f"{'No true change in what' if found else 'Nothing'} was looked at both times."


def _regraded(found: Sequence[ThenAndNow]) -> str:
    if not found:
        return ""
    return sentence(
        f"{_few([each.inside(each.change.head) for each in found])}: within what examiners differ by"
    )


def _unchanged(within: Sequence[ThenAndNow], before: Sequence[ThenAndNow], *, normal: int) -> str:
    names: dict[str, list[ThenAndNow]] = {}
    for each in within:
        names.setdefault(each.subject, []).append(each)
    same = [_with_grade(each.inside(each.name), each.grade) for each in before]
    parts = (
        f"{_few([*map(_of_both, names.values())])}: within measurement error" if names else "",
        f"as before: {_few(same)}" if same else "",
        f"{counted(normal, 'sign')} {'was' if normal == 1 else 'were'} normal both times" if normal else "",
    )
    return " ".join(filter(None, map(sentence, parts)))


def _of_both(found: Sequence[ThenAndNow]) -> str:
    """Return what a measurement is about, once for both knees."""
    first, name = found[0].side, found[0].inside(found[0].name)
    if len(found) == 1 or first is None:
        return name
    return name.replace(f"the {first} knee", "both knees").replace(f"the {first}", "both sides")


def _unjudged(found: Sequence[ThenAndNow]) -> str:
    heads: dict[str, list[str]] = {}
    for each in found:
        why = each.change.verdict.why_not or each.change.verdict.short
        heads.setdefault(why, []).append(each.inside(each.change.head))
    return " ".join(sentence(f"{_few(each)}: {why}") for why, each in heads.items())


def _not_again(comparison: Comparison, examination: Examination, protocol: Protocol) -> str:
    left = [
        _with_grade(
            lowered(subject(protocol.sign(each.sign), each.side)), grades_of(each, protocol=protocol)[0]
        )
        for each in comparison.course.grades
        if not each.steps
        and each.points[0].state is State.ABNORMAL
        and not _is_seen(examination, each.sign, each.side)
    ]
    return sentence(_few(left))


def _with_grade(name: str, grade: str) -> str:
    """Return what was found with its grade; the name is enough of a sign that is only there or not."""
    return name if grade == POSITIVE else f"{name} {grade}"


def _is_seen(examination: Examination, sign: str, side: Side | None) -> bool:
    """Say whether an examination tells anything of a sign."""
    found = examination.finding(sign, side)
    return found is not None and (found.value is not None or found.state is not State.NOT_EXAMINED)


def _few(names: Sequence[str]) -> str:
    """Return a list of names, the first of a long one, with how many more there are."""
    more = len(names) - MOST_NAMED
    return "; ".join((*names[:MOST_NAMED], f"{more} more") if more > 0 else names)
