"""Own hands in words: each sign against the published one, what examining added, and what surprised."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.anatomy import Lesions
from fabella.hands import ABSENT, PRESENT, Against, Method, OwnHands, OwnShare, SignInOwnHands, Surprise, Told
from fabella.protocol import Protocol
from fabella.report.reason_words import bare_reason
from fabella.report.wording import counted, listed, sentence, written_date
from fabella.stats import Interval
from fabella.stats.written import percentage, spaced
from fabella.workup import Reason

METHODS = {
    Method.OPEN_OPERATION: "open operation",
    Method.ARTHROSCOPY: "arthroscopy",
    Method.HISTOLOGY: "histology",
    Method.LABORATORY: "laboratory",
    Method.MRI: "MRI",
    Method.CT: "CT",
    Method.ULTRASOUND: "ultrasound",
    Method.RADIOGRAPH: "radiograph",
    Method.COURSE: "later course",
}
_AGAINST = {
    Against.TOO_FEW: "too few to compare",
    Against.ALIKE: "as published",
    Against.LOWER: "lower than published",
    Against.HIGHER: "higher than published",
}
FAIRNESS = (
    "Knees that nobody looked into are taken as like those with the same finding that somebody did. Who goes "
    "on to a scan or an operation is chosen, so that what was merely counted flatters a sensitivity and "
    "wrongs a specificity. A scan is no perfect judge either."
)
"""What must be known to read the numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareWords:
    """A sensitivity or specificity: ``28 of 32``, ``85% (78 to 91)``, ``83% (78 to 87)``, ``alike``."""

    counted: str
    own: str
    published: str
    against: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignWords:
    """One sign in own hands; ``beside`` says what was tried in vain or never looked into, or nothing."""

    sign: str
    name: str
    tells: str
    sensitivity: ShareWords
    specificity: ShareWords
    source: str
    beside: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandsWords:
    """Everything that own hands say.

    ``span`` says from how many knees; ``told`` what the probabilities were worth, a sentence each;
    ``bins`` the calibration, a row of (told, came true) each; ``surprises`` a sentence or two each.
    """

    span: str
    signs: tuple[SignWords, ...]
    told: tuple[str, ...]
    bins: tuple[tuple[str, str], ...]
    surprises: tuple[str, ...]


def hands_words(hands: OwnHands, *, protocol: Protocol, lesions: Lesions) -> HandsWords:
    """Return own hands in words."""
    return HandsWords(
        span=_span(hands),
        signs=tuple(_sign(each, protocol, lesions) for each in hands.signs),
        told=() if hands.told is None else tuple(_told(hands.told)),
        bins=()
        if hands.told is None
        else tuple(
            (f"{each.low:.0%} to {each.high:.0%}", f"{_of(each.came_true, each.n)}, {_seen(each.came_true)}")
            for each in hands.told.bins
        ),
        surprises=tuple(surprise_words(each, protocol=protocol, lesions=lesions) for each in hands.surprises),
    )


def found_words(lesion: str, found: str, lesions: Lesions) -> str:
    """Return what was seen of a lesion: ``anterior cruciate ligament tear (complete)``, ``no … tear``."""
    name = lesions[lesion].name
    if found == ABSENT:
        return f"no {name}"
    levels = lesions[lesion].levels
    told = "" if found == PRESENT or len(levels) == 1 else lesions[lesion].level(found).words
    return f"{name} ({told})" if told else name


def surprise_words(surprise: Surprise, *, protocol: Protocol, lesions: Lesions) -> str:
    """Return one surprise: what was seen, what had been told, and what had spoken the wrong way."""
    day = f", {written_date(surprise.examined_on)}" if surprise.examined_on else ""
    seen = f"{METHODS[surprise.method]} of {written_date(surprise.seen_on)}"
    there = found_words(surprise.lesion, surprise.found, lesions)
    said = sentence(
        f"{surprise.side} knee{day}: {seen} showed {there}, told as {percentage(surprise.probability)} "
        f"({percentage(surprise.before)} before examining)"
    )
    spoke = listed([_reason(each, protocol) for each in surprise.misled])
    way = "for" if surprise.found == ABSENT else "against"
    return f"{said} {sentence(f'what spoke {way} it: {spoke}')}" if spoke else said


def _reason(reason: Reason, protocol: Protocol) -> str:
    if reason.sign not in protocol:
        return spaced(reason.sign)
    return bare_reason(protocol.sign(reason.sign), abnormal=reason.abnormal)


def _span(hands: OwnHands) -> str:
    given = counted(hands.examinations, "examination")
    if not hands.confirmed:
        return f"{given}; nothing has been said yet of what was found inside."
    return f"{given}; {counted(hands.confirmed, 'knee')} looked into."


def _sign(each: SignInOwnHands, protocol: Protocol, lesions: Lesions) -> SignWords:
    cells = each.cells
    beside = [
        f"{counted(cells.unknown, 'more knee')} tested and not looked into" if cells.unknown else "",
        f"could not be tested in {cells.untestable} with it" if cells.untestable else "",
    ]
    return SignWords(
        sign=each.sign,
        name=protocol.sign(each.sign).name,
        tells=listed([lesions[lesion].name for lesion in each.used.targets], last="or"),
        sensitivity=_share_words(each.sensitivity, cells.positive_present, cells.present),
        specificity=_share_words(each.specificity, cells.negative_absent, cells.absent),
        source=each.used.source,
        beside="; ".join(filter(None, beside)),
    )


def _share_words(share: OwnShare, right: int, of: int) -> ShareWords:
    return ShareWords(
        counted=f"{right} of {of}",
        own=_share(share.own),
        published=_share(share.published),
        against=_AGAINST[share.against],
    )


def _share(share: Interval) -> str:
    value, low, high = map(percentage, (share.estimate, share.low, share.high))
    ends = f"{low.removesuffix('%')} to {high.removesuffix('%')}"
    return value if low == high == value else f"{value} ({ends})"


def _seen(share: Interval) -> str:
    """Return a share that was counted, of which all and none can be said."""
    return f"{share.estimate:.0%} ({100 * share.low:.0f} to {100 * share.high:.0f})"


def _of(share: Interval, n: int) -> str:
    return f"{round(share.estimate * n)} of {n}"


def _told(told: Told) -> Iterator[str]:
    yield (
        f"{counted(told.knees, 'knee')} looked into, {counted(told.statements, 'lesion')} looked for: each "
        "is held against the probability that was told of it."
    )
    after, before = told.brier.brier, told.before
    way = "lowered" if after <= before else "raised"
    sure = told.gain is not None and (told.gain.low > 0 or told.gain.high < 0)
    yield (
        f"Examining {way} the mean squared error of the probabilities (Brier score) from {before:.3f} to "
        f"{after:.3f}{'' if sure else ', which may be chance'}."
    )
    if told.level_told:
        yield (
            "Where a lesion was told as likelier than not and its degree was seen, the likeliest degree was "
            f"right in {told.level_right} of {told.level_told}."
        )
