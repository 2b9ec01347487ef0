"""Own hands as a page in the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType

from fabella.cli.drawing import heading, labelled, listing, paragraph
from fabella.cli.words import CAUTION
from fabella.hands import MIN_KNEES, OwnHands
from fabella.report.hands_words import FAIRNESS, HandsWords, ShareWords, SignWords
from fabella.report.wording import listed

SURPRISES, NAMED = 10, 5


def audit_page(hands: OwnHands, words: HandsWords) -> Iterator[RenderableType]:
    """Yield the page part by part."""
    yield paragraph(words.span, indent=0, style="bold")
    if hands.unmatched:
        yield paragraph(
            f"What was seen after {_some(hands.unmatched)} is not used: no such examination was given.",
            mark="!",
        )
    if hands.foreknown:
        yield paragraph(
            f"Left out, as the knee had been looked into before: {_some(hands.foreknown)}.",
            mark="!",
        )
    if words.signs:
        yield ""
        yield heading("Each sign in these hands")
        yield paragraph(
            "Counted in knees looked into; best estimate (90% interval), which starts from the published "
            "value and is moved by these knees; published (95% interval). "
            f"Fewer than {MIN_KNEES} knees are not compared.",
            style="dim",
        )
    for sign in words.signs:
        yield ""
        yield paragraph(f"{sign.name}: {sign.tells}", style="bold")
        yield labelled(_rows(sign), indent=4)
    yield from listing("What the probabilities were worth", words.told)
    if words.bins:
        yield labelled((("told", "came true (95% interval)"), *words.bins), indent=4)
    yield from listing("Surprises", words.surprises[:SURPRISES])
    if len(words.surprises) > SURPRISES:
        yield paragraph(f"and {len(words.surprises) - SURPRISES} more, in the answer of --json.")
    yield ""
    yield paragraph(f"{FAIRNESS} {CAUTION}", indent=0, style="dim")


def _some(names: Sequence[str]) -> str:
    more = len(names) - NAMED
    return listed([*names[:NAMED], f"{more} more"] if more > 0 else names)


def _rows(sign: SignWords) -> tuple[tuple[str, str], ...]:
    return (
        ("sensitivity", _share(sign.sensitivity)),
        ("specificity", _share(sign.specificity)),
        ("", sign.beside),
        ("source", sign.source),
    )


def _share(share: ShareWords) -> str:
    return f"{share.counted}; {share.own}; published {share.published}: {share.against}"
