"""A debrief in words and drawn lines, computed away from the server's threads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.anatomy import Side, load_lesions
from fabella.protocol import load_protocol
from fabella.report.likelihood_words import percentage
from fabella.report.wording import NO_BREAK, listed, lowered
from fabella.teach import Debrief, Event, Lesson, Recipe, RunFacts, Terms, debrief, facts_of
from fabella.teach.wording import (
    CAUTION,
    bits_words,
    conduct_words,
    lesion_words,
    lesson_words,
    rarity_words,
    share_words,
)
from fabella.web.practice.chart import Panel, panels_of
from fabella.web.practice.lines import Line, clock_words, lines_of, sign_words
from fabella.web.practice.playing import played
from fabella.web.practice.replaying import Replayed, Truth, replayed, truth_of

_SHOWN = 6
_DEGREES = ("did not hurt", "hurt a little", "hurt", "hurt too much")
_WHO = {"student": "You", "findings": "The model on your findings", "ideal": "The ideal examiner"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a debrief is made from; the same is made once."""

    recipe: Recipe
    terms: Terms
    events: tuple[Event, ...]
    earlier: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One moment: what was learned, what could be believed after it, and what the student said by then."""

    clock: str
    what: str
    chances: str
    believed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How good a differential was; 0 is best."""

    who: str
    brier: float
    log_bits: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Summed:
    """A debrief as it is read, in the order of its page."""

    present: tuple[tuple[str, str], ...]
    rarest: str
    truth: Truth
    in_words: bool
    lesson: Lesson
    lesson_words: str
    time: str
    timeline: tuple[Line, ...]
    kept: tuple[str, ...]
    not_kept: tuple[str, ...]
    hurts: tuple[str, ...]
    missed: tuple[str, ...]
    false_alarms: tuple[str, ...]
    left_out: tuple[str, ...]
    misread: tuple[Replayed, ...]
    worth: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    panels: tuple[Panel, ...]
    steps: tuple[Step, ...]
    ideal: tuple[Step, ...]
    ideal_time: str
    scores: tuple[Score, ...]
    edition: str
    caution: str
    failures: tuple[str, ...]
    facts: RunFacts


def sum_up(asked: Asked) -> Summed:
    """Return the debrief of a run in words."""
    encounter = played(asked.recipe, asked.terms, asked.events)
    found = debrief(encounter, earlier=dict(asked.earlier))
    protocol = load_protocol()
    return Summed(
        present=tuple((f"{side.value.title()} knee", _lesions(found, side)) for side in Side),
        rarest="" if found.rarest is None else rarity_words(found.rarest),
        truth=truth_of(encounter),
        in_words=encounter.run.in_words,
        lesson=found.lesson,
        lesson_words=lesson_words(found.lesson, protocol=protocol),
        time=clock_words(found.seconds),
        timeline=lines_of(encounter.run),
        kept=tuple(_conduct(found, kept=True)),
        not_kept=tuple(_conduct(found, kept=False)),
        hurts=tuple(_hurts(found)),
        missed=tuple(_missed(found, true=True)),
        false_alarms=tuple(_missed(found, true=False)),
        left_out=tuple(_left_out(found)),
        misread=replayed(encounter, found.misread),
        worth=tuple(_worth(found)),
        panels=panels_of(found),
        steps=tuple(_steps(found)),
        ideal=tuple(_ideal(found)),
        ideal_time=clock_words(found.ideal_seconds),
        scores=tuple(
            Score(who=_WHO[who], brier=each.brier, log_bits=each.log) for who, each in found.scores.items()
        ),
        edition=found.workup.edition,
        caution=CAUTION,
        failures=tuple(found.workup.failures),
        facts=facts_of(encounter, found),
    )


def _lesions(found: Debrief, side: Side) -> str:
    named = [lesion_words(lesion, level) for lesion, level in found.present.get(side, ())]
    return listed(named) if named else "nothing that the model lists"


def _conduct(found: Debrief, *, kept: bool) -> Iterator[str]:
    for check in found.conduct:
        if check.kept is kept:
            yield " ".join(filter(None, (conduct_words(check), share_words(check))))


def _hurts(found: Debrief) -> Iterator[str]:
    names = {each.id: each.name for each in load_protocol().contraindications}
    for hurt in found.hurts:
        why = ""
        if hurt.forbidden:
            known = "" if hurt.known else ", which could not be known yet"
            why = f"; not to be done with {listed([lowered(names[each]) for each in hurt.forbidden])}{known}"
        what = sign_words(hurt.sign, hurt.side)
        yield f"{clock_words(hurt.at_s)} {what}: {_DEGREES[hurt.degree]}{why}."


def _missed(found: Debrief, *, true: bool) -> Iterator[str]:
    for each in found.missed:
        if each.true is true:
            yield f"{each.alarm.name}: {'; '.join(criterion.words for criterion in each.alarm.met)}."


def _left_out(found: Debrief) -> Iterator[str]:
    lesions, protocol = load_lesions(), load_protocol()
    for out in found.left_out[:_SHOWN]:
        levels = {each.id: each.words for each in protocol.sign(out.sign).scale.levels}
        would = f" would have been {levels.get(out.would, out.would)};" if out.would else ""
        moved = f"{lesions[out.lesion].name} {percentage(out.now)}{NO_BREAK}→{NO_BREAK}{percentage(out.then)}"
        yield f"{sign_words(out.sign, out.side)} ({out.bits:.2f} bits, {out.seconds} s):{would} {moved}"


def _worth(found: Debrief) -> Iterator[tuple[str, tuple[tuple[str, str], ...]]]:
    lesions, protocol = load_lesions(), load_protocol()
    for lesion, reasons in found.worth.items():
        if reasons:
            yield (
                lesions[lesion].name,
                tuple(
                    (bits_words(reason.weight_bits), protocol.sign(reason.sign).name)
                    if reason.sign in protocol
                    else (bits_words(reason.weight_bits), reason.sign.replace("_", " "))
                    for reason in reasons[:_SHOWN]
                ),
            )


def _steps(found: Debrief) -> Iterator[Step]:
    lesions, last = load_lesions(), ""
    for moment in found.moments:
        top = sorted(moment.chances.items(), key=lambda each: -each[1])[:3]
        chances = ", ".join(f"{lesions[lesion].name} {percentage(chance)}" for lesion, chance in top)
        if chances == last and moment.sign is not None:
            continue
        last = chances
        if moment.sign is not None:
            what = sign_words(moment.sign, moment.side)
        else:
            what = "At the door" if not moment.at_s and not moment.believed else "You said"
        believed = ", ".join(
            f"{lesions[lesion].name} {chance:.0%}" for lesion, chance in moment.believed.items()
        )
        yield Step(clock=clock_words(moment.at_s), what=what, chances=chances, believed=believed)


def _ideal(found: Debrief) -> Iterator[Step]:
    lesions = load_lesions()
    present = {lesion for knee in found.present.values() for lesion, _ in knee}
    for step in found.ideal:
        shown = {lesion: p for lesion, p in step.chances.items() if lesion in present} or dict(step.chances)
        chances = ", ".join(
            f"{lesions[lesion].name} {percentage(p)}" for lesion, p in list(shown.items())[:2]
        )
        what = load_protocol().sign(step.sign).name
        yield Step(clock=clock_words(step.at_s), what=what, chances=chances, believed="")
