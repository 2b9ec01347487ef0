"""What is understood of a dictated text, as the tests of single principles ask it."""

from fabella.anatomy import Side
from fabella.dictation import Understood, understand
from fabella.protocol import load_protocol
from fabella.record import State

PROTOCOL = load_protocol()
RIGHT, LEFT = Side.RIGHT, Side.LEFT
NORMAL, ABNORMAL = State.NORMAL, State.ABNORMAL


def read(text: str) -> Understood:
    """What is understood of a text."""
    return understand(text, protocol=PROTOCOL)


def found(text: str, side: Side | None) -> dict[str, object]:
    """The findings of one knee: the reading of each sign, or its level, or its state."""
    return {
        each.sign: each.value if each.value is not None else each.level or each.state
        for each in read(text).findings
        if each.side is side
    }
