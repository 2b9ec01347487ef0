"""Three-valued logic: true, false, unknown. What was not examined is unknown, and unknown is never false.

Strong Kleene connectives: an answer is given only when no way of filling in the unknowns could change it.
Source: Kleene SC, Introduction to Metamathematics, 1952, section 64 (from memory).
"""

from collections.abc import Callable

Truth = bool | None
"""True, False, or None for unknown."""


def all_of(*truths: Truth) -> Truth:
    """Return False when any part is false, else unknown when any is unknown, else True."""
    if False in truths:
        return False
    return None if None in truths else True


def any_of(*truths: Truth) -> Truth:
    """Return True when any part is true, else unknown when any is unknown, else False."""
    if True in truths:
        return True
    return None if None in truths else False


def negate(truth: Truth) -> Truth:
    """Return the opposite; the opposite of unknown is unknown."""
    return None if truth is None else not truth


def at_least(count: int, *truths: Truth) -> Truth:
    """Say whether ``count`` or more parts are true; unknown when the unknown ones could still tip it."""
    sure = truths.count(True)
    if sure >= count:
        return True
    return None if sure + truths.count(None) >= count else False


def given(value: float | None, test: Callable[[float], bool]) -> Truth:
    """Apply ``test`` to a value that may be missing; a missing one gives unknown."""
    return None if value is None else test(value)


def agreed(*truths: Truth) -> Truth:
    """Return what several signs of one thing say; unknown when none is known or they disagree."""
    known = {truth for truth in truths if truth is not None}
    return known.pop() if len(known) == 1 else None


def hint(truth: Truth) -> Truth:
    """Let a sign speak by its presence only: absent becomes unknown."""
    return True if truth else None


def denial(truth: Truth) -> Truth:
    """Let a sign speak by its absence only: present becomes unknown."""
    return False if truth is False else None
