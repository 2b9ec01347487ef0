"""Why nobody was let in by the sign-on: in words with a remedy, and for the server's log what was found."""

from __future__ import annotations

from fabella.errors import FabellaError


class Refused(FabellaError):  # noqa: N818  a name says what is the case
    """Nobody is let in: ``says`` is shown, ``found`` goes to the log of whoever runs the server.

    A browser may have brought what was found, so that there it stays on one line: what is no letter or sign
    is written out.
    """

    status = 403

    def __init__(self, says: str, *, found: str = "") -> None:
        super().__init__(says)
        self.found = "".join(each if each.isprintable() else ascii(each)[1:-1] for each in found)


class Silent(Refused):
    """The provider does not answer, or not as agreed."""

    status = 502

    def __init__(self, found: str) -> None:
        super().__init__(
            "The hospital’s sign-on does not answer, or not as agreed. Please try again in a few minutes; if "
            "it lasts, tell whoever runs this server. Nothing was lost.",
            found=found,
        )


class Unanswered(Silent):
    """The provider does not answer, and it is not for what a browser brought."""


class TooOften(Refused):
    """Too many codes came from one address that the provider did not take."""

    status = 429

    def __init__(self) -> None:
        super().__init__(
            "There were too many attempts that the hospital’s sign-on did not take. Please wait a quarter of "
            "an hour, or ask whoever runs this server.",
            found="too many codes from one address",
        )


class Untrusted(Refused):
    """The provider's answer is not one for this server and this attempt."""

    def __init__(self, found: str) -> None:
        super().__init__(
            "The answer of the hospital’s sign-on does not hold, so nobody was let in. Please begin again; "
            f"if it comes again, tell whoever runs this server what was found: {found}.",
            found=found,
        )


class ClocksDiffer(Refused):
    """The answer is of another time than ours."""

    def __init__(self, found: str) -> None:
        super().__init__(
            "The hospital’s sign-on and this server do not agree on the time, so nobody was let in. Please "
            "tell whoever runs this server to compare its clock.",
            found=found,
        )


class Stale(Refused):
    """The attempt is not known: used before, too old, or begun in another browser."""

    status = 400

    def __init__(self) -> None:
        super().__init__(
            "This sign-on was used before, was begun in another browser, or took too long. Please begin "
            "again. Nothing was lost."
        )
