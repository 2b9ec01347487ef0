"""What a debrief says, line by line, for page and terminal alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fabella.anatomy import Side, load_lesions
from fabella.protocol import load_protocol
from fabella.report.cannot_wait import Matter, Urgent, matters_of, urgent_matters
from fabella.report.wording import NO_BREAK, listed, lowered, sentence
from fabella.stats.written import percentage
from fabella.teach.debriefed import Debrief
from fabella.teach.wording import (
    bits_words,
    clock_words,
    conduct_words,
    lesion_words,
    result_words,
    share_words,
    sign_words,
)

FALSE_ALARMS = "Would have had to be ruled out, and was not there"
"""Heads the rules that all there was to find would have met, though the knee has nothing of the kind."""
_SHOWN = 6
_DEGREES = ("did not hurt", "hurt a little", "hurt", "hurt too much")


@dataclass(frozen=True, slots=True, kw_only=True)
class StepWords:
    """One moment: what was learned, what could be believed after it, and what the student said by then."""

    clock: str
    what: str
    chances: str
    believed: str


def knee_words(found: Debrief, side: Side) -> str:
    """Return what one knee had."""
    named = [lesion_words(lesion, level) for lesion, level in found.present.get(side, ())]
    return listed(named) if named else "nothing that the model lists"


def conduct_lines(found: Debrief, *, kept: bool) -> Iterator[str]:
    """Yield the points of conduct that were kept, or that were not."""
    for check in found.conduct:
        if check.kept is kept:
            yield " ".join(filter(None, (conduct_words(check), share_words(check))))


def hurt_lines(found: Debrief) -> Iterator[str]:
    """Yield what hurt, and what ought not to have been done."""
    names = {each.id: each.name for each in load_protocol().contraindications}
    for hurt in found.hurts:
        why = ""
        if hurt.forbidden:
            known = "" if hurt.known else ", of which you had found nothing yet"
            why = f"; not to be done with {listed([lowered(names[each]) for each in hurt.forbidden])}{known}"
        what = sign_words(hurt.sign, hurt.side)
        yield f"{clock_words(hurt.at_s)} {what}: {_DEGREES[hurt.degree]}{why}."
    if found.guarded_from_s is not None:
        yield (
            f"{clock_words(found.guarded_from_s)} From here on the knee guarded, because it had been hurt: "
            "what is tested after that may look firmer than it is."
        )


def missed_lines(found: Debrief, *, true: bool) -> Iterator[str]:
    """Yield each matter that was not raised: those of which a rule was true, or those of which none was."""
    urgent = urgent_matters(tuple(each.alarm for each in found.missed))
    was_true = {(each.alarm.rule, each.alarm.side) for each in found.missed if each.true}
    told: list[Urgent] = []
    for side in (*Side, None):
        here = [one for one, each in zip(urgent, found.missed, strict=True) if each.alarm.side is side]
        for matter in matters_of(here):
            rules = (matter.told, *matter.also)
            if any((each.rule, side) in was_true for each in rules) is true:
                told += rules
    for matter in matters_of([each for each in urgent if each in told]):
        yield " ".join(_matter_sentences(matter))


def _matter_sentences(matter: Matter) -> Iterator[str]:
    yield sentence(f"{matter.told.place}: {matter.told.name}")
    if matter.because:
        yield sentence(f"because: {'; '.join(matter.because)}")
    if matter.also:
        yield sentence(f"also met: {'; '.join(each.name for each in matter.also)}")


def unchecked_lines(found: Debrief) -> Iterator[str]:
    """Yield what had to be examined below such a knee, whatever it would have shown, and was not."""
    for each in found.unchecked:
        because = load_lesions()[each.lesion].name
        yield f"{sign_words(each.sign, each.side)}: with {because}, whatever it shows."


def left_out_lines(found: Debrief) -> Iterator[str]:
    """Yield what was not done and would have told most."""
    lesions, protocol = load_lesions(), load_protocol()
    for out in found.left_out[:_SHOWN]:
        result = result_words(protocol.sign(out.sign), out.would)
        would = "" if out.would is None else f" would have been {result};"
        moved = f"{lesions[out.lesion].name} {percentage(out.now)}{NO_BREAK}→{NO_BREAK}{percentage(out.then)}"
        yield f"{sign_words(out.sign, out.side)} ({out.bits:.2f} bits, {out.seconds} s):{would} {moved}"


def worth_lines(found: Debrief) -> Iterator[tuple[str, tuple[tuple[str, str], ...]]]:
    """Yield each lesion with what the findings were worth for it: bits, and the sign with what it was."""
    lesions = load_lesions()
    for lesion, reasons in found.worth.items():
        if reasons:
            yield (
                lesions[lesion].name,
                tuple(
                    (bits_words(reason.weight_bits), _as_it_was(reason.sign, abnormal=reason.abnormal))
                    for reason in reasons[:_SHOWN]
                ),
            )


def _as_it_was(sign_id: str, *, abnormal: bool) -> str:
    """Return a sign with what it was: a no to pain before the injury is no pain."""
    protocol = load_protocol()
    name = protocol.name_of(sign_id)
    levels = protocol.sign(sign_id).scale.levels if sign_id in protocol else ()
    if not levels:
        return name
    was = (
        levels[abnormal].words if len(levels) == len(("no", "yes")) else "abnormal" if abnormal else "normal"
    )
    return f"{name}: {was}"


def believed_steps(found: Debrief) -> Iterator[StepWords]:
    """Yield the moments at which anything that could be believed moved, and what was said at the end."""
    lesions, last = load_lesions(), ""
    for moment in found.moments:
        chances = _named(sorted(moment.chances.items(), key=lambda each: -each[1])[:3])
        if chances == last and moment.sign is not None:
            continue
        last = chances
        if moment.sign is not None:
            what = sign_words(moment.sign, moment.side)
        else:
            what = "At the door" if not moment.at_s and not moment.believed else "You said"
        believed = ", ".join(f"{lesions[lesion].name} {p:.0%}" for lesion, p in moment.believed.items())
        yield StepWords(clock=clock_words(moment.at_s), what=what, chances=chances, believed=believed)


def ideal_steps(found: Debrief) -> Iterator[StepWords]:
    """Yield what would have told most, moment by moment, with what could be believed of what was there."""
    present = {lesion for knee in found.present.values() for lesion, _ in knee}
    for step in found.ideal:
        shown = {lesion: p for lesion, p in step.chances.items() if lesion in present} or step.chances
        what, chances = load_protocol().sign(step.sign).name, _named(list(shown.items())[:2])
        yield StepWords(clock=clock_words(step.at_s), what=what, chances=chances, believed="")


def _named(chances: Iterable[tuple[str, float]]) -> str:
    lesions = load_lesions()
    return ", ".join(f"{lesions[lesion].name} {percentage(p)}" for lesion, p in chances)
