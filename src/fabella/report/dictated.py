"""What was understood of a dictation, in words and as a tree; what is open is numbered in the text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import Field, fields, is_dataclass
from typing import Any

from fabella.dictation import Became, Span, Understood
from fabella.protocol import Kind, Protocol, Sign
from fabella.record import NO_COMPLAINT, Answer, Context, Finding, Patient, State
from fabella.report.wording import NO_BREAK, quantity, signed

FORMAT = "fabella.dictation/1"


def finding_words(finding: Finding, protocol: Protocol) -> str:
    """Return one finding on one line: its name, and what became of it."""
    sign = protocol.sign(finding.sign)
    parts = [_outcome(finding, sign)]
    if finding.value is not None:
        unit = "" if sign.scale.measure is None else sign.scale.measure.unit.value
        parts.append(signed(sign.id, finding.value, unit).replace(NO_BREAK, " "))
    parts += [each for each in (finding.note, finding.method) if each]
    return f"{sign.name}: {', '.join(filter(None, parts))}"


def _outcome(finding: Finding, sign: Sign) -> str:
    match finding.state:
        case None:
            return ""
        case State.NOT_EXAMINED:
            return "not examined"
        case State.UNTESTABLE:
            return f"could not be tested ({str(finding.reason).replace('_', ' ')})"
        case State.NORMAL:
            first = sign.scale.levels[0].words if sign.scale.levels else "normal"
            return "negative" if sign.kind is Kind.TEST and first == "no" else first
    if finding.level is not None and len(sign.scale.levels) > 1:
        return finding.level if finding.level[0].isdigit() else sign.level(finding.level).words
    return "positive" if sign.kind is Kind.TEST else "present" if sign.scale.levels else "abnormal"


def told_words(about: Patient | Context) -> Iterator[str]:
    """Yield a line for each thing that was said about the person or what brought them."""
    for each in fields(about):
        value = getattr(about, each.name)
        if value is not None:
            words = (
                " and ".join(value) or NO_COMPLAINT
                if isinstance(value, tuple)
                else f"{value:g}"
                if isinstance(value, float)
                else str(value)
            )
            yield f"{each.name.replace('_', ' ')}: {words.replace('_', ' ')}"


def answer_words(answer: Answer, sign: Sign) -> str:
    """Return an answer of the history in words, a number with its unit."""
    if isinstance(answer, bool):
        return "yes" if answer else "no"
    unit = "" if sign.scale.measure is None else sign.scale.measure.unit.value
    return quantity(answer, unit).replace(NO_BREAK, " ")


def marked(understood: Understood) -> str:
    """Return the text on one line, with each open place in brackets and numbered."""
    pieces, number = [], 0
    for span in understood.spans:
        words = " ".join(understood.words(span).split("\n"))
        if span.became.is_open:
            number += 1
            words = f"[{number}: {words}]"
        pieces.append(words)
    return "".join(pieces).strip()


def open_words(understood: Understood) -> Iterator[str]:
    """Yield a line for each open place: what it says, why it is open, and the possible answers."""
    for span in understood.open_spans:
        yield f"“{understood.words(span)}”: {_why(span)}"


def _why(span: Span) -> str:
    lead = "not understood: " if span.became is Became.NOT_UNDERSTOOD else ""
    answers = [choice.words for choice in span.choices if choice.words]
    near = f"; did you mean “{span.nearest}”?" if span.nearest else ""
    return f"{lead}{span.why}{near}" + (f" ({' / '.join(answers)})" if answers else "")


def dictation_tree(understood: Understood) -> dict[str, object]:
    """Return everything as plain values; the offsets of the spans count characters of ``text``."""
    return {
        "format": FORMAT,
        "text": understood.text,
        "complete": understood.is_complete,
        "findings": _plain(understood.findings),
        "history": _plain(dict(understood.history)),
        "patient": _plain(understood.patient),
        "context": _plain(understood.context)
        | ({"complaint": NO_COMPLAINT} if understood.context.without_complaint else {}),
        "said_normal": list(understood.said_normal),
        "spans": [{"words": understood.words(span), **_plain(span)} for span in understood.spans],
        "imaging": _plain(understood.imaging),
    }


def _plain(value: Any) -> Any:
    """Return a value without what is unknown, or empty as it is by default, fit for JSON.

    What is unknown by default says something when it is empty: an image that shows nothing.
    """
    if is_dataclass(value):
        pairs = ((each, getattr(value, each.name)) for each in fields(value))
        return {
            each.name: _plain(one) for each, one in pairs if one is not None and not _says_nothing(one, each)
        }
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _says_nothing(value: Any, of: Field[Any]) -> bool:
    return (value is False or value in ("", ())) and value == of.default
