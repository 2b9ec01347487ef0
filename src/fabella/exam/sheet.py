"""A mark sheet: all that was said of one candidate at one station by one examiner, and what of it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from fabella.exam.sheet_events import Act, Missing, SheetEvent, Value
from fabella.exam.stations import Station

Subject = tuple[Act, str]
"""What a statement is about: its kind, and the item where it has one."""

Mark = int | Missing


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetEntry:
    """An event as it arrived: its place in the sheet, from 1 on, the id its device made, and the device."""

    number: int
    key: str
    device: str
    event: SheetEvent


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One of the things that were said; ``key`` is the id of its event, empty where nothing had been said.

    ``number`` is since when it stands there: the place of its event, or of the settlement that chose it.
    """

    key: str
    value: Value
    device: str
    number: int
    is_late: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Dispute:
    """Different things said unseen of each other; the first stands until it is settled.

    A choice that ``is_late`` came after the sheet was finished, from a device that did not know. ``left`` is
    why the lead left it open: nothing stands then; empty where that was not said.
    """

    about: Act
    item: str
    choices: tuple[Choice, ...]
    left: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A mark sheet as it stands.

    Parameters
    ----------
    number
        Of its last event, 0 before any.
    marks
        By item: a mark, or why there is none. An item that is not in it has not been marked.
    grade
        The global rating, None before any.
    comments
        By item; under the empty name what is said of the whole.
    concern
        Why there is a concern for safety; empty where there is none.
    began, ended
        When it was first begun and last finished, by the server's clock as far as the device knew it.
    ended_s
        Seconds from the beginning to the last finish.
    finished
        Whether it is closed: it changes only after it was opened again.
    reopened
        Why it was opened again, each time.
    finishers
        The devices that finished it.
    void
        Why the lead has said that it is lost, or its station was not held; empty where that was not said.
    """

    number: int = 0
    marks: Mapping[str, Mark] = field(default_factory=dict)
    grade: int | None = None
    comments: Mapping[str, str] = field(default_factory=dict)
    concern: str = ""
    began: datetime | None = None
    ended: datetime | None = None
    ended_s: float | None = None
    finished: bool = False
    reopened: tuple[str, ...] = ()
    disputes: tuple[Dispute, ...] = ()
    finishers: tuple[str, ...] = ()
    void: str = ""

    def gaps(self, station: Station) -> tuple[str, ...]:
        """Return the items without mark and without a reason for having none, such as a dispute left open."""
        left = self.left_open
        return tuple(
            each.id for each in station.items if each.id not in self.marks and (Act.MARK, each.id) not in left
        )

    @property
    def left_open(self) -> frozenset[Subject]:
        """What the lead has left open for a reason: nobody waits for it."""
        return frozenset((each.about, each.item) for each in self.disputes if each.left)

    @property
    def is_blank(self) -> bool:
        """Whether nothing was judged on it, though it may have been opened."""
        return not (self.marks or self.grade is not None or self.concern or self.disputes or self.finished)

    @property
    def is_void(self) -> bool:
        """Whether it is void: so the lead said, and nothing came after all."""
        return bool(self.void) and self.is_blank

    @property
    def unsettled(self) -> tuple[Dispute, ...]:
        """Disputes on marks, grade or a concern that are neither settled nor left open for a reason."""
        return tuple(each for each in self.disputes if each.about is not Act.COMMENT and not each.left)


EMPTY = Sheet()
