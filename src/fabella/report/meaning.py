"""What it may mean, in plain words: the causes that fit best, or that no serious one was found."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from fabella.anatomy import Lesion, Side, load_lesions
from fabella.record import Examination
from fabella.report.conclusion_words import NAMED_FROM
from fabella.report.gather import readings_of
from fabella.report.readings import Outcome
from fabella.report.time_words import time_since
from fabella.workup import KneeConclusion, LesionProbability, Urgency, Workup

_IN_PERSON = frozenset({"bone_tumour", "soft_tissue_tumour"})
"""What is named on paper without a number: how likely it is, is told by a person (common practice)."""

_MOST_MEANINGS = 3
_MORE_LIKELY_THAN_NOT = 0.5
_UNFIT_FROM = 0.4
"""Where no lesion fits, a cause is named from here only: its number deserves little trust (judgement)."""

_PRESSING = (Urgency.NOW, Urgency.SAME_DAY)

_IN_TEN = ((0.95, "more than 9 in 10"), (0.10, ""), (0.0, "less than 1 in 10"))
_PLAIN_SCALE = (
    (0.80, "most likely"),
    (0.60, "likely"),
    (0.40, "as likely as not"),
    (0.0, "possible"),
)
"""Plain words for probabilities (judgement); the highest is not certain."""

_THESE_FIT = "We cannot be sure yet. These are the causes that fit best."
_FIRST_THE_TOP = "What stands at the top of this page is checked first, whatever fits best."
_FOUR_TIMES = 4
_LUMP = (
    "About the lump in or near {where}: most lumps like this are harmless. We will talk with you about it."
)
_NOT_YET = "We cannot say yet what this means."
_PUZZLED = "What we found does not fit together well. We would like to look again."
_BOTH = "At an earlier visit more seemed wrong. One check alone does not settle this, so we go by both."
_MORE_TO_CHECK = "We want to check a few more things before you go."


def checked_first(workup: Workup) -> str:
    """Return that more is checked before the patient goes, while something for now is open; else nothing.

    Whoever is seen to at once for something else is not about to go.
    """
    for_now = {each.is_met for each in workup.alarms if each.urgency is Urgency.NOW}
    return _MORE_TO_CHECK if for_now == {False} else ""


def may_mean(workup: Workup, *, urgent: bool, weigh_both: bool = False) -> tuple[str, ...]:
    """Return what it may mean, never as certain; ``urgent`` when the page begins with what cannot wait.

    ``weigh_both`` when an earlier visit told as likely what this one does not, though it lasts: the page then
    says so without a name, and does not reassure.

    Beside what must be seen to today the page says that this is checked first, whatever is likeliest.
    Nobody is told that all is well beside what cannot wait, nor while something that could not wait is not
    excluded and a few more things are checked, nor where nothing of a troubled knee was found normal.
    """
    examined = [] if workup.conclusion is None else [k for k in workup.conclusion.knees if k.findings]
    if not examined:
        return (_NOT_YET,)
    puzzled = (_PUZZLED,) if any(knee.fit.poor for knee in examined) else ()
    unsure = (*((_BOTH,) if weigh_both else ()), *puzzled)
    if meant := tuple(_causes(examined, feared=_feared(workup))):
        pressed = any(each.is_met and each.urgency in _PRESSING for each in workup.alarms)
        return (_THESE_FIT, *meant, *((_FIRST_THE_TOP,) if pressed else ()), *unsure)
    readings = readings_of(workup)
    learned = all(readings.with_outcome(Outcome.NORMAL, k.side) for k in examined if k.symptomatic)
    unsettled = workup.advice is not None and workup.advice.unsettled
    if urgent or unsure or unsettled or checked_first(workup) or not learned:
        return (_NOT_YET, *unsure)
    return tuple(_nothing_stands_out(examined, workup.examination))


def _feared(workup: Workup) -> frozenset[Side]:
    """Return the knees of which a rule about tumours is met or open."""
    return frozenset(each.side for each in workup.alarms if each.side and each.rule.startswith("tumour_"))


def _causes(knees: list[KneeConclusion], *, feared: Collection[Side]) -> Iterator[str]:
    """Yield the causes of each knee; one that both knees have alike is told once."""
    named = {knee.side: tuple(_named(knee, feared=knee.side in feared)) for knee in knees}
    told = [cause for causes in named.values() for cause in causes]
    for side, causes in named.items():
        for cause in causes:
            if told.count(cause) == 1:
                yield cause.format(where=f"your {side} knee")
            elif side is knees[0].side:
                yield cause.format(where="each of your knees")


def _named(knee: KneeConclusion, *, feared: bool) -> Iterator[str]:
    """Yield the likeliest causes; where nothing fits well only what is as likely as not, without a number."""
    lowest = _UNFIT_FROM if knee.fit.poor else NAMED_FROM
    for entry in knee.any_level()[:_MOST_MEANINGS]:
        if entry.probability >= lowest:
            yield _LUMP if not feared and _harmless(entry, knee) else _meaning(entry, fits=not knee.fit.poor)


def _harmless(entry: LesionProbability, knee: KneeConclusion) -> bool:
    """Say whether a growth in the soft tissues is at least four times as likely benign as not (judgement)."""
    levels = {each.level: each.probability for each in knee.lesions if each.lesion == entry.lesion}
    benign, aggressive = levels.get("benign", 0.0), levels.get("aggressive", 1.0)
    return entry.lesion == "soft_tissue_tumour" and benign >= _FOUR_TIMES * aggressive


def _nothing_stands_out(knees: list[KneeConclusion], examination: Examination) -> Iterator[str]:
    """Say that no injury was found, or of a knee that was operated on for its trouble that it does well."""
    troubled = [knee for knee in knees if knee.symptomatic]
    operated = [each for each in troubled if examination.operated_since_onset(each.side) is not False]
    if not operated:
        yield "We did not find signs of a serious injury in what we tested."
        yield f"If {'the trouble goes on' if troubled else 'your knees begin to trouble you'}, come back."
        return
    if any(knee.nothing_listed < _MORE_LIKELY_THAN_NOT for knee in operated):
        yield _NOT_YET
    else:
        yield from (_does_well(knee.side, examination) for knee in operated)
    yield "Come back if it gets worse."


def _does_well(side: Side, examination: Examination) -> str:
    days = examination.days_since_operation(side)
    after = "after an operation" if days is None else f"{time_since(days)} after an operation"
    return f"Your {side} knee is as we expect it to be {after}."


def _meaning(entry: LesionProbability, *, fits: bool) -> str:
    """One cause in ``{where}``: how likely in a word, what it is in plain words, and how many in ten."""
    lesion: Lesion = load_lesions()[entry.lesion]
    if lesion.id in _IN_PERSON:
        return f"There may be {lesion.plain}, in or near {{where}}. We will talk with you about this."
    if not fits:
        return f"We think of this in {{where}}: {lesion.plain}."
    word = next(word for lowest, word in _PLAIN_SCALE if entry.probability >= lowest)
    many = next(many for lowest, many in _IN_TEN if entry.probability >= lowest)
    many = many or f"about {round(entry.probability * 10)} in 10"
    return f"{word.capitalize()} in {{where}}: {lesion.plain} ({many})."
