"""Own hands: how good a clinician's examination is, learned from what scans and operations showed later."""

from fabella.hands.auditing import audit
from fabella.hands.confirmation import ABSENT, FORMAT, PRESENT, Confirmation, Method
from fabella.hands.hands_alone import by_hands
from fabella.hands.reading import read_confirmation, write_confirmation
from fabella.hands.result import Against, Cells, OwnHands, OwnShare, SignInOwnHands, Surprise, Told
from fabella.hands.shares import MIN_KNEES

__all__ = [
    "ABSENT",
    "FORMAT",
    "MIN_KNEES",
    "PRESENT",
    "Against",
    "Cells",
    "Confirmation",
    "Method",
    "OwnHands",
    "OwnShare",
    "SignInOwnHands",
    "Surprise",
    "Told",
    "audit",
    "by_hands",
    "read_confirmation",
    "write_confirmation",
]
