"""Findings as reasons: what was found, how far it moves the odds, and what that rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from fabella.anatomy import Side
from fabella.anatomy import other as other_side
from fabella.protocol import Protocol, Sign
from fabella.report.imaging_words import seen_on
from fabella.report.likelihood_words import odds_words, weight_at
from fabella.report.phrases import load_phrases, said_in_history, said_normal, said_present
from fabella.report.readings import Outcome, Readings
from fabella.report.story import number_told
from fabella.report.wording import YES_OR_NO, described, listed, lowered, sentence
from fabella.stats.written import spaced
from fabella.workup import Grounding, Reason

_BITS_DIGITS = 3
_WEIGHS_BITS = 0.25  # a reason that moves the odds by less than a fifth is not worth a word (judgement)
_BROUGHT_WEIGHS_BITS = 0.1  # what the lesion brings is, though others leave it little to say (judgement)
_FINDINGS_ON_THE_OTHER_KNEE = 2  # from here on a side mixed up is worth a thought (judgement)
_ABSENCE_WEIGHS_BITS = 0.5  # in a few words, what was not there is worth one only from here on (judgement)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonWords:
    """One finding, or one image, as a reason.

    Parameters
    ----------
    sign, words
        The sign or image, and what was found.
    weight_bits
        Change of the log2 odds of the lesion.
    odds, at
        The same as a factor of the odds, and its place on a scale of 0 to 100 whose middle says nothing.
    rests, sources
        What the weight rests on (published, derived, judgement), and the sources in short.
    abnormal
        Whether it was abnormal, or there.
    brought
        Whether the lesion by itself often brings it.
    """

    sign: str
    words: str
    weight_bits: float
    odds: str
    at: float
    rests: str
    sources: str
    abnormal: bool = True
    brought: bool = False


_Weighed = TypeVar("_Weighed", Reason, ReasonWords)


def leading(reasons: Sequence[_Weighed], most: int) -> tuple[_Weighed, ...]:
    """Return the findings to name first: what was there, then what was not and weighs much.

    A colleague believes in a torn ligament for its soft end point, not for a limp that was missing.
    """
    worth = [each for each in reasons if abs(each.weight_bits) >= _worth_a_few_words(each)]
    return tuple(sorted(worth, key=lambda each: not each.abnormal)[:most])


def _worth_a_few_words(reason: Reason | ReasonWords) -> float:
    if not reason.abnormal:
        return _ABSENCE_WEIGHS_BITS
    return _BROUGHT_WEIGHS_BITS if reason.brought else _WEIGHS_BITS


def speaking_for(reasons: Sequence[Reason]) -> tuple[Reason, ...]:
    """Return the findings to tell for a lesion: none that it does not bring and that only lowers others.

    Nobody understands a deformity as a reason for a clot, nor pain at night for pain behind the patella.
    """
    return tuple(each for each in reasons if not each.explained_otherwise)


def speaking_against(reasons: Sequence[Reason], protocol: Protocol) -> tuple[Reason, ...]:
    """Return the findings to tell against a lesion: none that it brings itself and something explains better.

    Nobody understands a quick swelling held against a torn tendon. Nor is what is known of the whole person
    ever held against a lesion of the knee: an anticoagulant, gout or a fever speaks for what it brings, and
    whoever has it may have an infected joint as well.
    """
    return tuple(
        each
        for each in reasons
        if not (each.explained_otherwise or (each.abnormal and _is_of_person(each, protocol)))
    )


def _is_of_person(reason: Reason, protocol: Protocol) -> bool:
    return not reason.image and protocol.sign(reason.sign).is_person


def reason_words(
    reasons: Sequence[Reason], side: Side, readings: Readings, protocol: Protocol
) -> tuple[ReasonWords, ...]:
    """Return the findings that are worth a word as reasons, the strongest first."""
    return tuple(
        ReasonWords(
            sign=each.sign,
            words=as_reason(each, side, readings, protocol),
            weight_bits=round(each.weight_bits, _BITS_DIGITS),
            odds=odds_words(each.weight_bits),
            at=weight_at(each.weight_bits),
            rests=listed(_kinds(each.grounding)),
            sources="; ".join(each.sources),
            abnormal=each.abnormal,
            brought=each.brought,
        )
        for each in sorted(reasons, key=lambda each: -abs(each.weight_bits))
        if abs(each.weight_bits) >= (_BROUGHT_WEIGHS_BITS if each.brought else _WEIGHS_BITS)
    )


def _kinds(grounding: Grounding) -> list[str]:
    shares = (
        ("published", grounding.published),
        ("derived", grounding.derived),
        ("judgement", grounding.judgement),
    )
    return [kind for kind, share in shares if share]


def as_reason(reason: Reason, side: Side, readings: Readings, protocol: Protocol) -> str:
    """Return a finding as a reason: in full when abnormal or measured, else as normal or absent.

    An image was one that shows the lesion, or does not.
    """
    if reason.image:
        return seen_on(reason.sign, shown=reason.abnormal)
    return _found(reason.sign, side, readings, protocol, abnormal=reason.abnormal)


def look_again(side: Side, readings: Readings, protocol: Protocol) -> str:
    """Return the findings of one knee that disagree, and why, a sentence each; empty when none do.

    So does a complaint of one knee with the findings of the other: the wrong side may have been pressed. And
    so does trouble told of a knee where nobody complains.
    """
    abnormal = {each.sign for each in readings.with_outcome(Outcome.ABNORMAL, side)}
    told = [*_side_in_doubt(side, readings), *_complaint_in_doubt(readings, protocol)]
    for each in readings.at_odds:
        if each.side is side:
            one, other = (
                _found(sign, side, readings, protocol, abnormal=sign in abnormal) for sign in each.signs
            )
            told.append(sentence(f"{one}, yet {other}: {each.why}"))
    return " ".join(told)


def _side_in_doubt(side: Side, readings: Readings) -> list[str]:
    beyond = other_side(side)
    sound = readings.complaint == (side,) and readings.examined(side) and not readings.abnormal(side)
    if not sound or readings.abnormal(beyond) < _FINDINGS_ON_THE_OTHER_KNEE:
        return []
    return [f"The {side} knee is complained of, yet only the {beyond} has findings: is the side right?"]


def _complaint_in_doubt(readings: Readings, protocol: Protocol) -> list[str]:
    """Return what the history tells of a knee though nobody complains; it is weighed for neither knee."""
    if readings.complaint != ():
        return []
    told = [
        said_in_history(item) or lowered(protocol.sign(item).name)
        for item, answer in readings.answers.items()
        if answer is not False and protocol.sign(item).is_trouble
    ]
    return [f"Nobody complains, yet of a knee is told {listed(told)}: of which?"] if told else []


def _found(sign_id: str, side: Side, readings: Readings, protocol: Protocol, *, abnormal: bool) -> str:
    if sign_id not in protocol:
        return spaced(sign_id)
    sign = protocol.sign(sign_id)
    answer = readings.answers.get(sign.id)
    if answer is not None and not isinstance(answer, bool):
        return number_told(sign, answer)
    reading = readings.find(sign.id, side) or readings.find(sign.id, None)
    seen = reading is not None and reading.outcome is not Outcome.NOT_EXAMINED
    if reading is not None and seen and (abnormal or reading.value is not None):
        return described(replace(reading, note=""), beside=False)
    if reading is not None and reading.outcome is Outcome.ABNORMAL:  # how these legs are made
        return f"{described(replace(reading, note=''), beside=False)}, within normal limits"
    return bare_reason(sign, abnormal=abnormal)


def bare_reason(sign: Sign, *, abnormal: bool) -> str:
    """Return a finding as a reason where no more is known of it than whether it was abnormal."""
    name = said_in_history(sign.id) or lowered(sign.name)
    if abnormal:
        return name if sign.is_history else _bare_abnormal(sign)
    return said_normal(sign.id) or f"{'no' if sign.is_history else 'normal'} {name}"


def _bare_abnormal(sign: Sign) -> str:
    """Return what was there, or the name of a graded sign with its result: ``Lachman abnormal``."""
    there = said_present(sign.id)
    told = load_phrases().abnormal.get(sign.id, lowered(sign.name))
    if len(sign.scale.levels) == YES_OR_NO:
        return told
    return there or f"{told}{',' if ',' in told else ''} abnormal"


def grounding_words(grounding: Grounding) -> str:
    """Return what the conclusion rests on, as one phrase; empty when nothing is known."""
    shares = (
        ("published numbers", round(grounding.published * 100)),
        ("numbers worked out from published ones", round(grounding.derived * 100)),
        ("judgement", round(grounding.judgement * 100)),
    )
    said = [(words, share) for words, share in shares if share]
    if len(said) == 1:
        return f"{said[0][0]} alone"
    return listed([f"{words} ({share}%)" for words, share in said])
