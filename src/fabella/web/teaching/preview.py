"""A patient as the teacher sees it beforehand: the door, the look, what is found, what is there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.figure import View
from fabella.protocol import load_protocol
from fabella.record import Mechanism
from fabella.stats.written import spaced
from fabella.teach import VIEWS, Act, Cards, Event, Hidden, Recipe, Terms, cards_of, load_curricula, replay
from fabella.teach.drawn import still_of
from fabella.web.practice.playing import drawn

_LOOKS = (("standing", View.FRONT, "standing, from the front"), ("lying", View.ABOVE, "lying, from above"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """Everything there is to know of a patient.

    ``looks`` are drawings as SVG with their captions, ``drawn_from`` the circumstances as name and words.
    """

    cards: Cards
    looks: tuple[tuple[str, str], ...]
    drawn_from: tuple[tuple[str, str], ...]


def preview_of(recipe: Recipe) -> Preview:
    """Return the patient of a recipe as a teacher sees it."""
    hidden = drawn(recipe)
    return Preview(
        cards=cards_of(hidden), looks=tuple(_looks(hidden)), drawn_from=tuple(_drawn_from(recipe, hidden))
    )


def _looks(hidden: Hidden) -> Iterator[tuple[str, str]]:
    events = [Event(act=Act.DO, sign="exposure")]
    events += [Event(act=Act.POSITION, position=position) for position, _, _ in _LOOKS]
    shown = replay(hidden, Terms(), events, protocol=load_protocol()).run.turns[1:]
    for (position, view, caption), turn in zip(_LOOKS, shown, strict=True):
        if turn.seen.look is not None and view in VIEWS[position]:
            yield caption, still_of(turn.seen.look, view)


def _drawn_from(recipe: Recipe, hidden: Hidden) -> Iterator[tuple[str, str]]:
    context = hidden.person.context
    yield "Lesions drawn from", load_curricula()[recipe.curriculum].name
    yield "Seen in", spaced(recipe.setting.value)
    if context.acuity is not None and context.onset_days is not None:
        yield "Began", f"{context.onset_days:g} days ago ({context.acuity.value})"
    yield "How", spaced((context.mechanism or Mechanism.INSIDIOUS).value)
    yield "Seed", str(recipe.seed)
