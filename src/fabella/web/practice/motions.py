"""Motions as they are sent: key positions and nothing about them, made once for each."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import lru_cache

from fabella.figure import Motion, View, motion_svg, motion_tree
from fabella.figure import walk as walking
from fabella.store.refusals import NotThere
from fabella.teach import VIEWS, Encounter, Look, Run, Turn, motion_of, seen_so_far, walk_of
from fabella.teach.looks import look_at

TEST, WALKING = "test", "walking"
"""What stands for a view in the address of a test, and the position in which everything moves."""

_REMEMBERED = 128
"""Motions remembered as they are sent, up to 100 kB each; a walk takes some 60 ms to draw."""
_AT_HAND = 4
"""Motions remembered with every point, for stills and the motion itself are asked for one after the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Still:
    """One key position as SVG; the caption says which, and nothing of what is to be seen."""

    caption: str
    svg: str


@lru_cache(maxsize=_AT_HAND)
def walk_motion(look: Look, view: View) -> Motion:
    """Return the stride of somebody who was seen walking."""
    return walking(walk_of(look), view)


@lru_cache(maxsize=_AT_HAND)
def tested_motion(turn: Turn, look: Look | None) -> Motion | None:
    """Return what was done in a turn as a motion; None where nothing moves."""
    return motion_of(turn, look)


def motion_words(run: Run, turn: Turn) -> str:
    """Return in words what moved in a turn of a run, for whoever asked for words; empty where nothing did."""
    motion = tested_motion(turn, seen_so_far(run.turns[: run.turns.index(turn) + 1]))
    return "" if motion is None else motion.words


@lru_cache(maxsize=_REMEMBERED)
def walk_stills(look: Look, view: View, *, most: int) -> tuple[Still, ...]:
    """Return so many key positions of a stride, evenly spread; the last is not the first again."""
    if not most:
        return ()
    motion = walk_motion(look, view)
    keys = [
        min(range(len(motion.keys_pct)), key=lambda key: abs(motion.keys_pct[key] - 100 * step / most))
        for step in range(most)
    ]
    return tuple(
        Still(caption=f"{number} of {most}", svg=_still(motion, key)) for number, key in enumerate(keys, 1)
    )


@lru_cache(maxsize=_REMEMBERED)
def tested_stills(turn: Turn, look: Look | None) -> tuple[Still, ...]:
    """Return a test before it is done and at its end, and at its middle where that is a third position."""
    motion = tested_motion(turn, look)
    if motion is None:
        return ()
    last = len(motion.sheets) - 1
    named = {0: "before"}
    if last > 1:
        named[last // 2] = "on the way"
    if last:
        named[last] = "at the end"
    return tuple(Still(caption=name, svg=_still(motion, key)) for key, name in named.items())


def _still(motion: Motion, key: int) -> str:
    """One key position, without drawing the others."""
    return motion_svg(replace(motion, sheets=motion.sheets[key : key + 1], keys_pct=(0.0,)))


def motion_text(encounter: Encounter, number: int, view: str) -> str:
    """Return a motion of a run as JSON: key positions, and no words.

    Parameters
    ----------
    encounter
        The run with its patient.
    number
        The turn in which somebody was seen walking or a test was done, from 1; once the run is over 0 is the
        patient walking, whether that was seen or not.
    view
        A view of the walk, or ``test``.

    Raises
    ------
    NotThere
        Where nothing moves, or nothing is drawn because findings are told.
    """
    text = _asked(encounter, number, view)
    if text is None:
        raise NotThere("Nothing moves there.")
    return text


def _asked(encounter: Encounter, number: int, view: str) -> str | None:
    run = encounter.run
    if number > len(run.turns) or (run.terms.told and not run.finished):
        return None
    if view == TEST:
        return _tested_text(run.turns[number - 1], seen_so_far(run.turns[:number])) if number else None
    look = seen_so_far(run.turns[:number])
    if number == 0 and run.finished:
        look = look_at(encounter.hidden, WALKING)
    if look is None or look.position != WALKING or view not in VIEWS[WALKING]:
        return None
    return _walk_text(look, View(view))


@lru_cache(maxsize=_REMEMBERED)
def _tested_text(turn: Turn, look: Look | None) -> str | None:
    motion = tested_motion(turn, look)
    return None if motion is None else _written(motion)


@lru_cache(maxsize=_REMEMBERED)
def _walk_text(look: Look, view: View) -> str:
    return _written(walk_motion(look, view))


def _written(motion: Motion) -> str:
    tree = motion_tree(motion)
    del tree["words"]
    return json.dumps(tree, separators=(",", ":"))
