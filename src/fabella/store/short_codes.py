"""Short codes that people read off paper and type: thrown, tidied, and kept as a hash alone."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import scrypt

ALPHABET = "CDFHJKMNPRTVWXY34679"
"""No two of these look alike on paper, and without vowels they make no words."""

LENGTH = 8
"""25 thousand million codes: out of reach for whoever may guess a few dozen a quarter of an hour."""

_SALT = b"fabella short codes"
_COST, _BLOCK = 2**12, 8
"""About ten milliseconds a code, so that a stolen table of hashes is no table of codes on the day."""


def throw_code(dice: Callable[[int], int], *, length: int = LENGTH) -> str:
    """Return a code; ``dice`` gives a number from 0 to below the one it is given, each as likely."""
    return "".join(ALPHABET[dice(len(ALPHABET))] for _ in range(length))


def tidy_code(typed: str) -> str:
    """Return a code however it was typed: small letters, spaces and dashes do no harm."""
    return "".join(each for each in typed.upper() if each.isalnum())


def spaced_code(code: str) -> str:
    """Return a code as it is printed, in two groups."""
    half = len(code) // 2
    return f"{code[:half]} {code[half:]}"


def hash_code(code: str) -> str:
    """Return what is kept of a code; it is the same for the same code, so that it can be found."""
    return scrypt(code.encode(), salt=_SALT, n=_COST, r=_BLOCK, p=1, dklen=32).hex()
