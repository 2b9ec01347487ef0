"""What is drawn beside a run: the legs as they look now from one side, or a test as it was done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fabella.anatomy import Side
from fabella.figure import View
from fabella.protocol import load_protocol
from fabella.report.wording import lowered
from fabella.teach import VIEWS, Act, Look, Run, Turn, seen_so_far, still_of
from fabella.web.practice.motions import TEST, WALKING, Still, test_stills, walk_stills
from fabella.web.practice.reading import moved, tests_of, view_for

BOTH = "both"
"""Both knees at a right angle beside each other, each from its own side."""

_NAMES = {
    View.FRONT: "from the front",
    View.BACK: "from behind",
    View.RIGHT: "from the right side",
    View.LEFT: "from the left side",
    View.ABOVE: "from above",
    View.RIGHT_ANGLE_RIGHT: "from the right side",
    View.RIGHT_ANGLE_LEFT: "from the left side",
}
_TABS = {
    View.FRONT: "Front",
    View.BACK: "Back",
    View.RIGHT: "Right side",
    View.LEFT: "Left side",
    View.ABOVE: "Above",
    View.RIGHT_ANGLE_RIGHT: "Right side",
    View.RIGHT_ANGLE_LEFT: "Left side",
}


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

    ``words`` are there only for whoever asked for words, and then there are no drawings.
    """

    key: str = ""
    title: str = ""
    tabs: tuple[Tab, ...] = ()
    drawings: tuple[Drawing, ...] = ()
    words: tuple[str, ...] = ()

    @property
    def moves(self) -> bool:
        """Whether there is something to play."""
        return any(each.view for each in self.drawings)


def stage_of(run: Run, asked: str = "", *, strips: bool = True) -> Stage:
    """Return what is drawn.

    Parameters
    ----------
    run
        The run so far.
    asked
        A view of the position, or the number of the turn of a test; what cannot be shown is not minded.
    strips
        Whether motions are also shown as several stills, for pages without scripts.
    """
    if run.terms.told:
        return Stage()
    look = _look_now(run)
    tests = [str(number) for number in tests_of(run)]
    views = _views(look)
    show = asked if asked in (*views, *tests) else _usual(run, look)
    if not show:
        return Stage()
    shown = int(show) if show in tests else 0
    last = str(shown) if shown else (tests or [""])[0]
    tabs = [Tab(name=_name(each), show=each, current=each == show) for each in views]
    if last:
        name = load_protocol().sign(run.turns[int(last) - 1].event.sign or "").name
        tabs.append(Tab(name=name, show=last, current=last == show))
    title: str = ""
    drawings: tuple[Drawing, ...] = ()
    if shown:
        title, drawings = tabs[-1].name, tuple(tested(run, shown, strips=strips))
    elif look is not None:
        place = load_protocol().position(look.position).name
        end = "each from its own side" if show == BOTH else _NAMES[View(show)]
        title, drawings = (
            f"{place}, {end}",
            tuple(legs(look, show, turn=_turn_of_look(run), most=8 if strips else 1)),
        )
    return Stage(
        key=f"{show}-{shown or _turn_of_look(run)}-{len(drawings)}{'w' if run.in_words else ''}",
        title=title,
        tabs=tuple(tabs),
        drawings=() if run.in_words else drawings,
        words=tuple(_worded(run, shown)) if run.in_words else (),
    )


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
    return "Both" if show == BOTH else _TABS[View(show)]


def _usual(run: Run, look: Look | None) -> str:
    """The drawing of the last thing that was done and is drawn."""
    for number in range(len(run.turns), 0, -1):
        turn = run.turns[number - 1]
        if moved(turn) is not None:
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
        caption = _NAMES[view].capitalize()
        if look.position == WALKING:
            stills = walk_stills(look, view, most=most)
            yield Drawing(caption=caption, stills=stills, turn=turn, view=view.value)
        else:
            yield Drawing(caption=caption, stills=(Still(caption="", svg=still_of(look, view)),))


def tested(run: Run, number: int, *, strips: bool) -> Iterator[Drawing]:
    """Yield a test, and the same on the other knee if it was done there, the right knee first."""
    event = run.turns[number - 1].event
    same = [each for each in tests_of(run) if run.turns[each - 1].event.sign == event.sign]
    others = [each for each in same if run.turns[each - 1].event.side is not event.side]
    for each in sorted([number, *others[:1]], key=lambda each: run.turns[each - 1].event.side is Side.LEFT):
        side = run.turns[each - 1].event.side
        stills = test_stills(run.turns[each - 1], seen_so_far(run.turns[:each]))
        caption = f"{str(side).capitalize()} knee"
        yield Drawing(caption=caption, stills=stills if strips else stills[:1], turn=each, view=TEST)


def _worded(run: Run, shown: int) -> Iterator[str]:
    if not shown:
        yield "What there is to be seen is told when you look for it."
        return
    event = run.turns[shown - 1].event
    done: dict[Side | None, Turn] = {}
    for each in tests_of(run):
        turn = run.turns[each - 1]
        if turn.event.sign == event.sign:
            done.setdefault(turn.event.side, turn)
    done[event.side] = run.turns[shown - 1]
    for side in Side:
        if side in done:
            yield f"{lowered(load_protocol().sign(event.sign or '').name).capitalize()}: {moved(done[side])}"
