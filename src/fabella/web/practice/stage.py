"""What is drawn beside a run: the legs as they look now from one side, or a test as it was done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from fabella.anatomy import Side
from fabella.figure import View
from fabella.protocol import load_protocol
from fabella.teach import VIEWS, Act, Look, Run, seen_so_far, still_of
from fabella.teach.said import said_of
from fabella.web.practice.motions import TEST, WALKING, Still, motion_words, tested_stills, walk_stills
from fabella.web.practice.reading import latest_first, moves, tests_of, view_for

BOTH = "both"
"""Both knees at a right angle beside each other, each from its own side."""

_STRIP = 8
"""Key positions of a stride on a page without scripts."""
_REMEMBERED = 512
"""Drawings remembered, some 10 kB each; one takes 5 ms."""

_FROM = {
    "front": "from the front",
    "back": "from behind",
    "right": "from the right side",
    "left": "from the left side",
    "above": "from above",
}
_TABS = {"front": "Front", "back": "Back", "right": "Right side", "left": "Left side", "above": "Above"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """One drawing: key positions as stills; its motion is asked for by ``turn`` and ``view``, if any."""

    caption: str
    stills: tuple[Still, ...]
    turn: int = 0
    view: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tab:
    """Another drawing that can be asked for: its name, and what asks for it."""

    name: str
    show: str
    current: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """What is drawn now; ``key`` stays as long as it is the same drawing, and is empty without one.

    ``words`` are there only for whoever asked for words, and then there are no drawings. Of a stage that is
    ``known`` to whoever asks only the key is told.
    """

    key: str = ""
    known: bool = False
    title: str = ""
    tabs: tuple[Tab, ...] = ()
    drawings: tuple[Drawing, ...] = ()
    words: tuple[str, ...] = ()

    @property
    def moves(self) -> bool:
        """Whether there is something to play."""
        return any(each.view for each in self.drawings)


def stage_of(run: Run, asked: str = "", *, strips: bool = True, drawn: str | None = None) -> Stage:
    """Return what is drawn.

    Parameters
    ----------
    run
        The run so far.
    asked
        A view of the position, or the number of the turn of a test; what cannot be shown is not minded.
    strips
        Whether motions are also shown as stills, for pages without scripts; a script asks for the motion.
    drawn
        The key of what is drawn already, which is then not drawn again; None when nothing is.
    """
    if run.terms.told:
        return Stage(known=drawn is not None)
    look = _look_now(run)
    tests = [str(number) for number in tests_of(run)]
    views = _views(look)
    show = asked if asked in (*views, *tests) else _usual(run, look)
    if not show:
        return Stage(known=drawn == "")
    shown = int(show) if show in tests else 0
    if (key := _key(run, show, shown)) == drawn:
        return Stage(key=key, known=True)
    last = str(shown) if shown else (tests or [""])[0]
    tabs = [Tab(name=_name(each), show=each, current=each == show) for each in views]
    if last:
        tabs.append(Tab(name="Test", show=last, current=last == show))
    title = _name_of(run, shown) if shown else _title(look, show)
    drawings = () if run.in_words else tuple(_drawings(run, look, show, strips=strips))
    return Stage(
        key=key,
        title=title,
        tabs=tuple(tabs),
        drawings=drawings,
        words=tuple(_worded(run, show, look)) if run.in_words else (),
    )


def _key(run: Run, show: str, shown: int) -> str:
    """Tell a drawing from every other of the run: what is shown, in which turns it was seen, and how."""
    turns = _with_other_side(run, shown) if shown else [_turn_of_look(run)]
    return "-".join([show, *map(str, turns), *(["words"] if run.in_words else [])])


def _name_of(run: Run, number: int) -> str:
    return load_protocol().sign(run.turns[number - 1].event.sign or "").name


def _title(look: Look | None, show: str) -> str:
    place = "" if look is None else load_protocol().position(look.position).name
    return f"{place}, {'each from its own side' if show == BOTH else _FROM[_whence(show)]}"


def _drawings(run: Run, look: Look | None, show: str, *, strips: bool) -> Iterator[Drawing]:
    if show.isdecimal():
        yield from tested(run, int(show), strips=strips)
    elif look is not None:
        yield from legs(look, show, turn=_turn_of_look(run), most=_STRIP if strips else 0)


def _look_now(run: Run) -> Look | None:
    """How the legs look, if the patient is where they were looked at last."""
    look = seen_so_far(run.turns)
    return look if look is not None and run.bare and look.position == run.position else None


def _turn_of_look(run: Run) -> int:
    return max(number for number, turn in enumerate(run.turns, 1) if turn.seen.look is not None)


def _views(look: Look | None) -> tuple[str, ...]:
    if look is None:
        return ()
    views = tuple(each.value for each in VIEWS[look.position])
    return (BOTH, *views) if look.position == "knees_90" else views


def _name(show: str) -> str:
    return "Both" if show == BOTH else _TABS[_whence(show)]


def _whence(view: str) -> str:
    """From where a view looks: its last word."""
    return view.rpartition("_")[2]


def _usual(run: Run, look: Look | None) -> str:
    """The drawing of the last thing that was done and is drawn."""
    for number, turn in latest_first(run):
        if moves(turn):
            return str(number)
        if look is None:
            continue
        if turn.event.act is Act.DO and turn.seen.shown is not None:
            view = view_for(turn.event.sign or "", turn.event.side, look.position)
            if view in VIEWS[look.position]:
                return BOTH if look.position == "knees_90" else str(view)
        if turn.seen.look is not None:
            return _views(look)[0]
    return ""


def legs(look: Look, show: str, *, turn: int, most: int) -> Iterator[Drawing]:
    """Yield the legs from one side or both, as they were seen in a turn; a walk in so many stills."""
    views = VIEWS[look.position] if show == BOTH else (View(show),)
    for view in views:
        caption = _FROM[_whence(view)].capitalize()
        if look.position == WALKING:
            stills = walk_stills(look, view, most=most)
            yield Drawing(caption=caption, stills=stills, turn=turn, view=view.value)
        else:
            yield Drawing(caption=caption, stills=(Still(caption="", svg=_drawn(look, view)),))


@lru_cache(maxsize=_REMEMBERED)
def _drawn(look: Look, view: View) -> str:
    return still_of(look, view)


def tested(run: Run, number: int, *, strips: bool) -> Iterator[Drawing]:
    """Yield a test and the same on the other knee if it was done there, the right first; stills or not."""
    for each in _with_other_side(run, number):
        side = run.turns[each - 1].event.side
        stills = tested_stills(run.turns[each - 1], seen_so_far(run.turns[:each])) if strips else ()
        caption = f"{str(side).capitalize()} knee"
        yield Drawing(caption=caption, stills=stills, turn=each, view=TEST)


def _with_other_side(run: Run, number: int) -> list[int]:
    """The turn of a test and the last one of the same on the other knee, if any, the right knee first."""
    event = run.turns[number - 1].event
    same = [each for each in tests_of(run) if run.turns[each - 1].event.sign == event.sign]
    others = [each for each in same if run.turns[each - 1].event.side is not event.side]
    return sorted([number, *others[:1]], key=lambda each: run.turns[each - 1].event.side is Side.LEFT)


def _worded(run: Run, show: str, look: Look | None) -> Iterator[str]:
    """What is drawn in words, as somebody would tell it who sees it."""
    if show.isdecimal():
        for number in _with_other_side(run, int(show)):
            yield motion_words(run, run.turns[number - 1])
    elif look is not None:
        for view in VIEWS[look.position] if show == BOTH else (View(show),):
            yield said_of(look, view)
