"""What a workup says, in the short words of a terminal; the numbers are those of the workup."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fabella.anatomy import Lesions, Side, load_lesions
from fabella.protocol import Protocol, load_protocol
from fabella.report.likelihood_words import short
from fabella.report.phrases import said_in_history
from fabella.report.readings import Outcome, Readings
from fabella.report.reason_words import as_reason
from fabella.report.story import number_told
from fabella.report.wording import described, listed, lowered
from fabella.stats.written import percentage, spaced
from fabella.workup import Combination, Grounding, Outlook, Reason

CAUTION = "This informs a clinician; local protocols and the judgement of licensed practice decide."

_HURTS = ("", "uncomfortable", "painful", "very painful")


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Names for signs, lesions and levels."""

    protocol: Protocol
    lesions: Lesions

    def sign(self, sign_id: str) -> str:
        """Return the name of a sign, for the middle of a sentence."""
        return lowered(self.protocol.name_of(sign_id))

    def signs(self, sign_ids: Sequence[str]) -> str:
        """Return the names of signs as a list in prose."""
        return listed([self.sign(each) for each in sign_ids])

    def lesion(self, lesion_id: str) -> str:
        """Return the name of a lesion."""
        return self.lesions[lesion_id].name if lesion_id in self.lesions else spaced(lesion_id)

    def level(self, lesion_id: str, level_id: str) -> str:
        """Return the words for a level of a lesion; empty for the only level of a lesion."""
        levels = self.lesions[lesion_id].levels if lesion_id in self.lesions else ()
        words = {each.id: each.words for each in levels}
        return "" if len(levels) == 1 else words.get(level_id, spaced(level_id))

    def combination(self, combination: Combination) -> str:
        """Return lesions that are present together, with their levels."""
        parts = []
        for lesion, level in combination.lesions:
            words = self.level(lesion, level)
            parts.append(f"{self.lesion(lesion)} ({words})" if words else self.lesion(lesion))
        if not parts:
            return "none of the lesions considered"
        return " + ".join(parts) if parts[1:] else f"{parts[0]} alone"

    def reason(self, reason: Reason, side: Side, readings: Readings) -> str:
        """Return a finding as a reason: in full when abnormal or measured, else as normal or absent."""
        return as_reason(reason, side, readings, self.protocol)

    def unused(self, sign_ids: Sequence[str], side: Side, readings: Readings) -> str:
        """Return what was found and entered nowhere; what was normal needs no word."""
        return "; ".join(filter(None, (self._found(each, side, readings) for each in sign_ids)))

    def _found(self, sign_id: str, side: Side, readings: Readings) -> str:
        reading = readings.find(sign_id, side) or readings.find(sign_id, None)
        if reading is not None and reading.outcome in {Outcome.ABNORMAL, Outcome.UNJUDGED}:
            return described(replace(reading, note=""), beside=False)
        answer = readings.answers.get(sign_id, False)
        if answer is True:
            return said_in_history(sign_id) or self.sign(sign_id)
        return "" if answer is False else number_told(self.protocol.sign(sign_id), answer)

    def outlook(self, outlook: Outlook) -> str:
        """Return what an outcome would do, such as ``ACL tear 42% to 78%``."""
        now, then = short(percentage(outlook.now)), short(percentage(outlook.then))
        return f"{self.lesion(outlook.lesion)} {now} → {then}"


def load_words() -> Words:
    """Return the names of the packaged protocol and lesions."""
    return Words(protocol=load_protocol(), lesions=load_lesions())


def grounding_words(grounding: Grounding) -> str:
    """Return what a number rests on, such as ``40% published, 60% judgement``."""
    shares = {
        "published": grounding.published,
        "derived": grounding.derived,
        "judgement": grounding.judgement,
    }
    said = [f"{round(share * 100)}% {kind}" for kind, share in shares.items() if round(share * 100)]
    return ", ".join(said) or "the prior alone"


def cost_words(minutes: float, hurts: int) -> str:
    """Return what a step costs, such as ``20 s, painful``."""
    seconds = round(minutes * 60)
    time = f"{seconds} s" if seconds < 2 * 60 else f"{round(minutes)} min"
    return f"{time}, {_HURTS[hurts]}" if hurts else time
