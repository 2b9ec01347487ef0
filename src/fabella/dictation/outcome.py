"""What one claim amounts to before its knee is known: findings without a side, answers, or a question."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fabella.dictation.claims import Claim
from fabella.dictation.vocabulary import Class, Describing, Lexicon, SignWord, Tag
from fabella.protocol import Protocol, Sign, Unit
from fabella.record import Answer, Finding, Reason, State

_REASONS = {"tolerated": Reason.PAIN, "guarded": Reason.GUARDING}
_MAY_BE_MISSING = {"pulse", "sensation", "strength", "end_point"}
_NORMAL, _ABNORMAL = "normal", "abnormal"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a claim says of its signs: a question where that is not certain, an aside where it has no use.

    ``idle`` is why it says nothing of them, where that is as it should be.
    """

    findings: tuple[Finding, ...] = ()
    answers: tuple[tuple[str, Answer], ...] = ()
    question: str = ""
    choices: tuple[tuple[str, tuple[Finding, ...]], ...] = ()
    aside: str = ""
    idle: str = ""

    @property
    def is_empty(self) -> bool:
        """Whether nothing came of the claim, and nobody said why."""
        said = self.findings or self.answers or self.question or self.aside
        return not (said or self.idle)


@dataclass(frozen=True, slots=True)
class Judge:
    """Says what the words beside a sign make of it, by the scale that the protocol gives it."""

    protocol: Protocol
    lexicon: Lexicon

    def state(self, claim: Claim, word: SignWord) -> State | None:
        """Return what was said: normal, abnormal, or None when that is not certain."""
        said = [each for each in claim.describing if not each[0].pain]
        denials = claim.denials
        if any(each.grade is not None and (negated or denials) for each, negated in said):
            return None  # "not 2+"
        if denials:
            said = [(each, negated) for each, negated in said if not each.empty]
        states = {self._of_word(each, word, negated=negated) for each, negated in said} - {None}
        if not said:
            return self._bare(word, denials)
        if len(states) != 1:
            return None
        state = next(iter(states))
        if denials and any(each.degree and not each.says for each, _ in said):
            return State.NORMAL if all(each.degree == 1 for each, _ in said) else None
        return _flipped(state) if denials % 2 else state

    def _bare(self, word: SignWord, denials: int) -> State | None:
        if word.kind is Class.ILLNESS or (word.kind is Class.TEST and denials):
            return State.NORMAL if denials % 2 else State.ABNORMAL
        if word.kind is Class.HEALTH and denials and word.group not in _MAY_BE_MISSING:
            return None  # "no gait …": what was denied is in a word that was not understood
        if word.kind is Class.SOUND or denials:
            return State.ABNORMAL if denials % 2 else State.NORMAL
        return None

    def _of_word(self, said: Describing, word: SignWord, *, negated: bool) -> State | None:
        if said.key == "nil" and word.group == "strength" and word.kind is Class.HEALTH:
            return None  # "quads: none" denies what was named before them
        state = self._plain(said, word)
        return _flipped(state) if negated else state

    def _plain(self, said: Describing, word: SignWord) -> State | None:
        if own := word.words.get(said.key, ""):
            if own in {_NORMAL, _ABNORMAL}:
                return State(own)
            return self._rank_state(own, word)
        if word.kind is Class.ILLNESS and said.says == "absent":
            return State.NORMAL  # "foot drop absent", though a power may be absent as well
        if any(said.key == level.id for sign in self._signs(word) for level in sign.scale.levels):
            return self._rank_state(said.key, word)
        if said.says in {"good", "bad"}:
            return State.NORMAL if said.says == "good" else State.ABNORMAL
        if said.grade is not None and word.kind in {Class.HEALTH, Class.SOUND}:
            return None
        if said.key in {"negative", "positive"} and word.kind in {Class.HEALTH, Class.SOUND}:
            return State.NORMAL if said.key == "negative" and word.group == "ligament" else None
        if said.says:
            present = said.says == "present"
            healthy = word.kind in {Class.HEALTH, Class.SOUND}
            return State.NORMAL if present is healthy else State.ABNORMAL
        if said.degree and word.kind is Class.HEALTH:
            return None
        return State.ABNORMAL if said.degree or said.grade else None

    def _rank_state(self, level: str, word: SignWord) -> State:
        ranks = [each.rank for sign in self._signs(word) for each in sign.scale.levels if each.id == level]
        return State.ABNORMAL if ranks and ranks[0] else State.NORMAL

    def _signs(self, word: SignWord) -> list[Sign]:
        return [self.protocol.sign(each) for each in word.to]

    def level(self, claim: Claim, word: SignWord, sign: Sign, state: State) -> str | None:
        """Return the level that was said, or None when it was not graded."""
        levels = {level.id: level.rank for level in sign.scale.levels}
        said = [self._level_of(each, word, sign) for each, negated in claim.describing if not negated]
        if claim.denials and word.kind in {Class.HEALTH, Class.TEST}:
            said.append(word.words.get("absent"))
        if state is State.ABNORMAL:
            said.append(word.level or None)
        fitting = [
            each for each in said if each in levels and bool(levels[each]) is (state is State.ABNORMAL)
        ]
        return fitting[0] if fitting else None

    def _level_of(self, said: Describing, word: SignWord, sign: Sign) -> str | None:
        names = tuple(level.id for level in sign.scale.levels)
        if said.key in word.words:
            return word.words[said.key]
        if said.key in names:
            return said.key
        scale = self.lexicon.scales.get(names, {})
        if said.grade is not None:
            return scale.get(str(said.grade))
        degree = {1: "slight", 2: "moderate", 3: "gross"}.get(said.degree or 0, "")
        return scale.get(degree)

    def grade(self, number: float, sign: Sign) -> str | None:
        """Return the level that a bare number means on a graded scale, or None."""
        names = tuple(level.id for level in sign.scale.levels)
        return self.lexicon.scales.get(names, {}).get(f"{number:g}")


def _flipped(state: State | None) -> State | None:
    return {State.NORMAL: State.ABNORMAL, State.ABNORMAL: State.NORMAL}.get(state) if state else None


def reason_of(claim: Claim) -> Reason:
    """Return why a sign could not be tried."""
    for mod in claim.mods:
        if mod.item.tag is Tag.REASON:
            return Reason(mod.item.value)
    for value, reason in _REASONS.items():
        if claim.marks(value):
            return reason
    return Reason.OTHER


def measured(sign: Sign, value: float, *, method: str | None = None, level: str | None = None) -> Finding:
    """Return a reading; judging it is left to the grading."""
    state = None if level is None else State.ABNORMAL if sign.level(level).rank else State.NORMAL
    unit = sign.scale.measure.unit.value if sign.scale.measure is not None else None
    return Finding(sign=sign.id, state=state, level=level, value=value, unit=unit, method=method)


def converted(value: float, unit: str, wanted: Unit) -> float | None:
    """Return a number in the unit of the protocol, or None when it is of another kind."""
    if unit in {"", wanted.value} or (unit == "deg" and wanted is Unit.CELSIUS):
        return value
    factors = {("mm", "cm"): 0.1, ("cm", "mm"): 10.0, ("min", "h"): 1 / 60, ("h", "min"): 60.0,
        ("inch", "cm"): 2.54, ("inch", "mm"): 25.4,
    }  # fmt: skip
    factor = factors.get((unit, wanted.value))
    return None if factor is None else round(value * factor, 3)


def stated(
    signs: Iterable[str], state: State, level: str | None = None, *, note: str | None = None
) -> tuple[Finding, ...]:
    """Return one finding of this state for each sign."""
    return tuple(Finding(sign=sign, state=state, level=level, note=note) for sign in signs)


def untestable(signs: Iterable[str], reason: Reason) -> tuple[Finding, ...]:
    """Return for each sign that it could not be tried, and why."""
    return tuple(Finding(sign=sign, state=State.UNTESTABLE, reason=reason) for sign in signs)
