"""One knee of an examination as the rules ask about it: every answer is true, false or unknown."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from fabella.anatomy import Side, other
from fabella.flags.logic import Truth
from fabella.flags.reading import Reading
from fabella.protocol import Protocol
from fabella.record import Context, Examination, Finding, ImageKind, State

AnswerT = TypeVar("AnswerT")


@dataclass(frozen=True, slots=True)
class Knee:
    """One side of an examination; whatever was not examined, not asked or could not be tested is unknown."""

    examination: Examination
    side: Side
    protocol: Protocol
    _known: dict[Callable[["Knee"], Any], Any] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def settled(self, ask: Callable[["Knee"], AnswerT]) -> AnswerT:
        """Return the answer of this knee to a question that many rules ask; it is asked once."""
        if ask not in self._known:
            self._known[ask] = ask(self)
        answer: AnswerT = self._known[ask]
        return answer

    def reading(self, decide: Callable[["Knee"], Reading]) -> Reading:
        """Return how a rule reads this knee; it is decided once, whichever rules rest on it."""
        return self.settled(decide)

    @property
    def across(self) -> "Knee":
        """The other knee of the same patient."""
        return Knee(self.examination, other(self.side), self.protocol)

    @property
    def context(self) -> Context:
        """What brought the patient."""
        return self.examination.context

    @property
    def age_years(self) -> int | None:
        """Age in completed years, as the rules count it."""
        age = self.examination.patient.age_years
        return None if age is None else math.floor(age)

    @property
    def complained_of(self) -> Truth:
        """Whether this knee is complained of; when nobody wrote it, the only one with abnormal findings."""
        if self.context.complaint is not None:
            return self.side in self.context.complaint
        abnormal = {
            each.side for each in self.examination.findings if each.state is State.ABNORMAL and each.side
        }
        return True if abnormal == {self.side} else None

    @property
    def replaced(self) -> Truth:
        """Whether a prosthesis is in this knee: by what was done to it, or by the answer of the patient."""
        return True if self._replaced_on_record else self.said("knee_prosthesis")

    def replaced_within(self, days: float) -> bool:
        """Say whether this knee is known to have been replaced at most ``days`` before the examination."""
        since = self.examination.days_since_operation(self.side)
        return self._replaced_on_record and since is not None and since <= days

    @property
    def _replaced_on_record(self) -> bool:
        done = self.examination.procedure_of(self.side)
        return done is not None and done.name.is_replacement

    def said(self, item: str) -> Truth:
        """Return the answer to a yes-or-no question about the person, or about the knee complained of."""
        answer = self.examination.history_item(item)
        return answer if isinstance(answer, bool) and self._concerned(item, denied=not answer) else None

    def number_said(self, item: str) -> float | None:
        """Return the answer to a question for a number, or None when it is unknown."""
        answer = self.examination.history_item(item)
        if answer is None or isinstance(answer, bool) or not self._concerned(item, denied=False):
            return None
        return float(answer)

    def has(self, sign: str) -> Truth:
        """Say whether a sign is abnormal here (or in the person, for a sign that has no side)."""
        found = self._found(sign)
        return {State.ABNORMAL: True, State.NORMAL: False}.get(found.state) if found and found.state else None

    def is_at_least(self, sign: str, level: str) -> Truth:
        """Say whether a sign reaches a level; abnormal without a level reaches the first one only."""
        found = self._found(sign)
        if found is None or sign not in self.protocol:
            return None
        if found.state is State.NORMAL:
            return False
        if found.state is not State.ABNORMAL:
            return None
        scale, wanted = self.protocol.sign(sign), self.protocol.sign(sign).level(level).rank
        if found.level is None:
            return True if wanted <= 1 else None
        return scale.level(found.level).rank >= wanted

    def measure(self, sign: str) -> float | None:
        """Return the reading of a sign in its unit, or None when it was not taken."""
        found = self._found(sign)
        return None if found is None else found.value

    def recorded(self, sign: str) -> bool:
        """Say whether a question was answered, or a sign tried on this knee, whatever came of it."""
        if self.protocol.sign(sign).is_history:
            return self.examination.history.get(sign) is not None
        found = self._found(sign)
        return found is not None and found.state is not State.NOT_EXAMINED

    @property
    def shown(self) -> frozenset[str]:
        """The lesions that images of this complaint show in this knee, those of limited value too."""
        images = self.examination.images_seen(self.side)
        return frozenset(lesion for each in images for lesion in each.shows or ())

    def has_taken(self, image: ImageKind) -> bool:
        """Say whether an image of this complaint was taken of this knee, read or not."""
        return any(each.image is image for each in self.examination.images_of(self.side))

    def has_read(self, image: ImageKind) -> bool:
        """Say whether an image of this complaint was taken of this knee and read."""
        images = self.examination.images_of(self.side)
        return any(each.image is image and each.shows is not None for each in images)

    def has_limited(self, image: ImageKind) -> bool:
        """Say whether an image of this complaint was read, and is of limited value: it answers nothing."""
        weighed = self.examination.images_of(self.side)
        seen = self.examination.images_seen(self.side)
        return any(each.image is image and each not in weighed for each in seen)

    def _found(self, sign: str) -> Finding | None:
        return self.examination.finding(sign, self.side) or self.examination.finding(sign)

    def _concerned(self, item: str, *, denied: bool) -> bool:
        if item in self.protocol and self.protocol.sign(item).is_person:
            return True
        here = self.complained_of
        return here is True or (here is None and denied)
