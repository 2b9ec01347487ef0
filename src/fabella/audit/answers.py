"""The history of a published case: stated answers first, then what the story plainly says."""

from __future__ import annotations

from typing import Final

from fabella.anatomy import Side
from fabella.audit.cases import CaseAnswer, PublishedCase
from fabella.audit.entries import Entries
from fabella.audit.motion import first_number
from fabella.audit.names import named
from fabella.audit.phrase import Draft, Drafts, LeftOut, measured
from fabella.audit.stories import FORCES, code_of, hints_of
from fabella.audit.values import ABNORMAL, NORMAL, Polarity, polarity
from fabella.audit.words import plain
from fabella.protocol import Protocol, Sign
from fabella.record import NO_INJURY, Answer, Mechanism, State

_AT_INJURY: Final = "unable_to_weight_bear_at_injury"
_NOW: Final = "unable_to_weight_bear"
_SOON_HOURS: Final = (
    ("immediate", 0.0),
    ("at once", 0.0),
    ("instant", 0.0),
    ("minutes", 0.0),
    ("overnight", 12.0),
    ("next day", 24.0),
    ("delayed", 24.0),
)
_A_DAY_HOURS: Final = 24.0
_FEVER_C: Final = 38.0  # common practice
_A_TEMPERATURE: Final = 30.0


class Answers:
    """The answers of one case while they are gathered; what cannot be one is put where it belongs."""

    def __init__(self, case: PublishedCase, protocol: Protocol, entries: Entries) -> None:
        self.answers: dict[str, Answer] = {}
        self.findings: list[Draft] = []
        self.sides: dict[str, tuple[Side, ...]] = {}
        self.unread: list[LeftOut] = []
        self.set_aside: list[LeftOut] = []
        self._case = case
        self._protocol = protocol
        self._entries = entries
        for item, answer in case.history:
            self._state(item, answer)

    def take(self, draft: Draft, said: str, sides: tuple[Side, ...] = ()) -> None:
        """Take a finding that is a question of the history of these ``sides``; a stated answer stands."""
        if sides and draft.sign not in self.answers:
            self.sides[draft.sign] = sides
        reading, sign = draft.reading, self._protocol.sign(draft.sign)
        answer: Answer | None = reading.value
        if reading.value is None and reading.state in {State.NORMAL, State.ABNORMAL} and not sign.has_measure:
            answer = reading.state is State.ABNORMAL
        if answer is None:
            why = "it is a question of the history, and the value answers it not"
            self.unread.append(LeftOut(sign=draft.sign, value=said, why=why))
        elif self.answers.setdefault(draft.sign, answer) != answer:
            self.set_aside.append(LeftOut(sign=draft.sign, value=said, why="the history says otherwise"))

    def join(self, mechanism: Mechanism | None) -> None:
        """Add what the story says and the mechanism implies, and put weight bearing where it belongs.

        Where nothing was injured, or nobody knows, being unable to bear weight is about now and not about
        then.
        """
        stated = set(self.answers)
        self._listen(mechanism)
        if mechanism in FORCES:
            self.answers.setdefault("fall_or_blunt_trauma", True)
        if _AT_INJURY in self.answers and (mechanism is None or mechanism in NO_INJURY):
            unable = self.answers.pop(_AT_INJURY)
            if sides := self.sides.get(_AT_INJURY):
                self.sides[_NOW] = sides
            self.findings.append(Draft(_NOW, ABNORMAL if unable else NORMAL))
        if mechanism in NO_INJURY and "swelling_onset_hours" not in stated:
            sudden = self.answers.pop("swelling_onset_hours", None)  # it counts from an injury
            if isinstance(sudden, float) and sudden <= _A_DAY_HOURS:
                self.answers.setdefault("maximal_within_a_day", True)
        if self.answers.get("swelling_noticed") is False and "swelling_onset_hours" in self.answers:
            del self.answers["swelling_noticed"]

    def _listen(self, mechanism: Mechanism | None) -> None:
        """Add what the story says, but for what has another meaning with or without an injury."""
        said = hints_of(self._case.mechanism, self._case.onset_days) if self._case.mechanism else {}
        if mechanism not in NO_INJURY:  # it is asked of a complaint that no injury began
            said.pop("maximal_within_a_day", None)
        if mechanism not in {None, *NO_INJURY} and said.get("other_joints_painful"):
            del said["other_joints_painful"]  # they were hurt in the same accident
        for item, answer in said.items():
            if self._protocol.sign(item).is_history:
                self.answers.setdefault(item, answer)
            elif answer is True:  # what the story denies was not therefore examined
                self.findings.append(Draft(item, ABNORMAL))

    def _state(self, item: str, answer: CaseAnswer) -> None:
        sign = self._item(item)
        if sign is None:
            why = "the item of the history is not known"
            self.unread.append(LeftOut(sign=item, value=str(answer), why=why))
            return
        drafts = self._drafts(sign, answer)
        if not drafts:
            why = "the answer is not understood"
            self.unread.append(LeftOut(sign=item, value=str(answer), why=why))
        for draft in drafts:
            if self._protocol.sign(draft.sign).is_history:
                self.take(draft, str(answer))
            else:
                self.findings.append(draft)

    def _item(self, item: str) -> Sign | None:
        """Return the question, or the sign, that an item of a case's history is called after."""
        if item in self._protocol and self._protocol.sign(item).is_history:
            return self._protocol.sign(item)
        if code := code_of("history", item):
            return self._protocol.sign(code)
        meant = named(item, self._entries)
        if meant is None or len(meant.entries) != 1 or len(meant.entries[0].to) != 1:
            return None
        return self._protocol.sign(meant.entries[0].to[0])

    def _drafts(self, sign: Sign, answer: CaseAnswer) -> Drafts:
        if isinstance(answer, bool):
            return self._yes_or_no(sign, yes=answer)
        text = plain(answer) if isinstance(answer, str) else f"{answer:g}"
        number = first_number(text)
        if sign.has_measure:
            return self._number(sign, text)
        if sign.id == "fever" and number is not None and number >= _A_TEMPERATURE:
            return (Draft(sign.id, ABNORMAL if number >= _FEVER_C else NORMAL),)
        kind = polarity(text)
        if number is not None and kind is None:
            return self._yes_or_no(sign, yes=number > 0)
        if kind is None:
            return ()
        return self._yes_or_no(sign, yes=kind not in {Polarity.ABSENT, Polarity.GOOD})

    def _yes_or_no(self, sign: Sign, *, yes: bool) -> Drafts:
        if sign.id == "swelling_onset_hours":
            return (Draft("swelling_noticed", ABNORMAL if yes else NORMAL),)
        if sign.is_history and sign.has_measure:
            return ()
        return (Draft(sign.id, ABNORMAL if yes else NORMAL),)

    def _number(self, sign: Sign, text: str) -> Drafts:
        reading = measured(sign, text)
        if reading is None and sign.id == "swelling_onset_hours":
            hours = next((hours for word, hours in _SOON_HOURS if word in text), None)
            reading = None if hours is None else measured(sign, f"{hours:g} h")
        return () if reading is None else (Draft(sign.id, reading),)
