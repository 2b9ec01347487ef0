"""What a class misses, in words for its page, and as rows for a table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.protocol import load_protocol
from fabella.report.wording import counted
from fabella.stats.written import spaced
from fabella.store.school.sums import FEWEST, PatientSum, SignSum, Sums
from fabella.teach import Topic
from fabella.teach.wording import habit_words
from fabella.web.practice.record_file import table

_SHOWN = 15
"""Signs on the page; the table to take away has all."""

_KEPT = 0.8
"""Share of runs from which a habit is kept well enough not to be named first (judgement)."""
_HARMS = (Topic.FORBIDDEN, Topic.MISSED_ALARM, Topic.UNCHECKED, Topic.CONSENT, Topic.PAIN)
_TOPICS = {
    Topic.FORBIDDEN: "Contraindicated manoeuvres",
    Topic.MISSED_ALARM: "What cannot wait",
    Topic.UNCHECKED: "Vessels and nerves not examined",
    Topic.CONSENT: "Consent, hands and pain before touching",
    Topic.PAIN: "Manoeuvres that hurt too much",
    Topic.BOTH_KNEES: "Both knees",
    Topic.MISREAD: "Reading signs",
    Topic.LEFT_OUT: "Signs left out",
    Topic.COURTESY: "Courtesy",
    Topic.TOO_SURE: "Being too sure",
    Topic.TOO_UNSURE: "Being too unsure",
    Topic.ORDER: "Order",
    Topic.NOTHING: "Nothing in particular",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SignLine:
    """One sign: its name, and counts of knees in words."""

    name: str
    left_out: str
    wrong: str
    not_recorded: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HabitLine:
    """One habit: its words, how often it was kept, and the share (0..1) of it."""

    words: str
    kept: str
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SumsWords:
    """The sums of a class, or of several, as they are read.

    ``teach_next`` tells in a few sentences what the rest amounts to. ``withheld`` says why nothing is summed
    up, or what is left out of it; empty when all is there.
    """

    numbers: tuple[tuple[str, str], ...]
    withheld: str
    teach_next: tuple[str, ...]
    signs: tuple[SignLine, ...]
    more_signs: int
    habits: tuple[HabitLine, ...]
    topics: tuple[tuple[str, int], ...]
    patients: tuple[tuple[PatientSum, str], ...]


def sums_words(sums: Sums) -> SumsWords:
    """Return sums in words."""
    return SumsWords(
        numbers=tuple(_numbers(sums)),
        withheld=_withheld(sums),
        teach_next=tuple(_teach_next(sums)),
        signs=tuple(map(_sign, sums.signs[:_SHOWN])),
        more_signs=max(0, len(sums.signs) - _SHOWN),
        habits=tuple(
            HabitLine(
                words=_habit(each.habit),
                kept=f"{each.kept} of {each.of}",
                share=each.kept / each.of,
            )
            for each in sums.habits
        ),
        topics=tuple((_TOPICS[topic], times) for topic, times in sums.topics),
        patients=tuple((each, _score(each.brier)) for each in sums.patients),
    )


def sums_table(sums: Sums) -> str:
    """Return sums as CSV: one row for each number, with what it is of."""
    return table(("part", "id", "name", "measure", "value"), _rows(sums))


def _numbers(sums: Sums) -> Iterator[tuple[str, str]]:
    yield "Students who began", str(sums.students)
    yield "Students who finished a patient", str(sums.finishers)
    yield "Runs finished, of those begun", f"{sums.finished} of {sums.begun}"
    yield "Runs summed up", str(sums.counted)
    if sums.brier is not None:
        yield "Mean Brier score (0 is best)", _score(sums.brier)


def _teach_next(sums: Sums) -> Iterator[str]:
    """Yield what to teach next: what harms, the commonest lesson, habit, sign, and the hardest patient."""
    harms = [(_TOPICS[topic], times) for topic, times in sums.topics if topic in _HARMS]
    if harms:
        told = ", ".join(f"{words[:1].lower()}{words[1:]} ({times})" for words, times in harms)
        times = sum(n for _, n in harms)
        yield f"What can harm a patient was the lesson of {times} of {sums.counted} runs: {told}."
    marks = [
        (topic, times) for topic, times in sums.topics if topic not in _HARMS and topic is not Topic.NOTHING
    ]
    if marks:
        topic, times = marks[0]
        what = _TOPICS[topic]
        share = f"{times} of {sums.counted} runs"
        yield f"Of what costs marks the commonest lesson: {what[:1].lower()}{what[1:]} ({share})."
    if sums.habits and (habit := sums.habits[0]).kept < _KEPT * habit.of:
        yield f"Kept least: {_habit(habit.habit)} ({habit.kept} of {habit.of} runs)."
    read = [each for each in sums.signs if each.wrong]
    if read:
        worst = max(read, key=lambda each: each.wrong)
        knees = f"{worst.wrong} of {worst.right + worst.wrong} knees{_kinds(worst)}"
        yield f"Misread oftenest: {load_protocol().name_of(worst.sign)}, {knees}."
    out = [each for each in sums.signs if each.left_out > 1]
    if out:
        most = max(out, key=lambda each: each.left_out)
        yield f"Left out oftenest: {load_protocol().name_of(most.sign)} (in {counted(most.left_out, 'run')})."
    scored = [each for each in sums.patients if each.brier is not None]
    if len(scored) > 1:
        hardest = max(scored, key=lambda each: each.brier or 0.0)
        yield f"Hardest patient: {hardest.name} (mean Brier score {_score(hardest.brier)})."


def _withheld(sums: Sums) -> str:
    if not sums.counted:
        return (
            f"What was missed is summed up once {FEWEST} students have finished a patient and read its "
            "debrief: with fewer, a sum would tell of somebody."
        )
    if sums.withheld:
        classes = "One class is" if sums.withheld == 1 else f"{sums.withheld} classes are"
        return f"{classes} not in the sums: fewer than {FEWEST} of its students finished."
    return ""


def _kinds(each: SignSum) -> str:
    kinds = [
        f"{count} {word}"
        for count, word in ((each.missed, "missed"), (each.overcalled, "overcalled"))
        if count
    ]
    return f" ({', '.join(kinds)})" if kinds else ""


def _sign(each: SignSum) -> SignLine:
    read = each.right + each.wrong
    return SignLine(
        name=load_protocol().name_of(each.sign),
        left_out=str(each.left_out) if each.left_out else "–",
        wrong=f"{each.wrong} of {read}{_kinds(each)}" if read else "–",
        not_recorded=str(each.not_recorded) if each.not_recorded else "–",
    )


def _habit(habit: str) -> str:
    return habit_words(habit, kept=True).rstrip(".")


def _score(brier: float | None) -> str:
    return "–" if brier is None else f"{brier:.2f}"


def _rows(sums: Sums) -> Iterator[tuple[str, str, str, str, object]]:
    for measure in ("classes", "students", "finishers", "begun", "finished", "counted"):
        yield "all", "", "", measure, getattr(sums, measure)
    if sums.brier is not None:
        yield "all", "", "", "mean Brier score", round(sums.brier, 4)
    for patient in sums.patients:
        yield "patient", "", patient.name, "begun", patient.begun
        yield "patient", "", patient.name, "finished", patient.finished
        if patient.brier is not None:
            yield "patient", "", patient.name, "mean Brier score", round(patient.brier, 4)
    protocol = load_protocol()
    for sign in sums.signs:
        name = protocol.name_of(sign.sign)
        for measure in ("left_out", "right", "wrong", "missed", "overcalled", "not_recorded"):
            yield "sign", sign.sign, name, spaced(measure), getattr(sign, measure)
    for habit in sums.habits:
        words = _habit(habit.habit)
        yield "habit", habit.habit, words, "kept", habit.kept
        yield "habit", habit.habit, words, "of", habit.of
    for topic, times in sums.topics:
        yield "lesson", topic.value, _TOPICS[topic], "runs", times
