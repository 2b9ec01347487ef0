"""Own hands as rows of a page: each sign with both shares drawn, each surprise with its visit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fabella.hands import Against, OwnHands, OwnShare, SignInOwnHands
from fabella.report.hands_words import HandsWords, ShareWords, SignWords
from fabella.report.whiskers import Whisker, percent, side_px
from fabella.stats import Interval
from fabella.store.clinic.own_visits import OwnVisit


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A sensitivity or specificity drawn: own (with its side in pixels) and published, and in words.

    ``knees`` were counted; ``apart`` says whether own and published differ by more than chance.
    """

    knees: int
    apart: bool
    own: Whisker
    side_px: float
    published: Whisker
    words: ShareWords


@dataclass(frozen=True, slots=True, kw_only=True)
class SignRow:
    """One sign in own hands."""

    words: SignWords
    sensitivity: Share
    specificity: Share


@dataclass(frozen=True, slots=True, kw_only=True)
class SurpriseRow:
    """One surprise in words, and the number of its visit."""

    words: str
    visit: int


def sign_rows(hands: OwnHands, words: HandsWords) -> tuple[SignRow, ...]:
    """Return the signs tested in a knee that was looked into, most knees first."""
    both = zip(hands.signs, words.signs, strict=True)
    return tuple(_row(sign, told) for sign, told in both if sign.cells.present + sign.cells.absent)


def surprise_rows(hands: OwnHands, words: HandsWords, visits: Sequence[OwnVisit]) -> tuple[SurpriseRow, ...]:
    """Return the surprises with their visits, the greatest first."""
    by_examination = {each.examination: each.visit.id for each in visits}
    both = zip(hands.surprises, words.surprises, strict=True)
    return tuple(SurpriseRow(words=told, visit=by_examination[each.examination]) for each, told in both)


def _row(sign: SignInOwnHands, told: SignWords) -> SignRow:
    return SignRow(
        words=told,
        sensitivity=_share(sign.sensitivity, sign.cells.present, told.sensitivity),
        specificity=_share(sign.specificity, sign.cells.absent, told.specificity),
    )


def _share(share: OwnShare, knees: int, told: ShareWords) -> Share:
    return Share(
        knees=knees,
        apart=share.against in {Against.LOWER, Against.HIGHER},
        own=_drawn(share.own, told.own),
        side_px=side_px(knees),
        published=_drawn(share.published, told.published),
        words=told,
    )


def _drawn(share: Interval, words: str) -> Whisker:
    low, high = percent(share.low), percent(share.high)
    return Whisker(at=percent(share.estimate), low=low, high=high, words=words, ends="")
