"""What the store refuses, each for its own reason; the text is fit to be shown."""

from fabella.errors import FabellaError


class Refusal(FabellaError):  # noqa: N818  a name says what is the case
    """A request that was understood and is not granted as things stand."""


class NotThere(Refusal):
    """There is no such thing, or none that this person may know of."""


class NotAllowed(Refusal):
    """The person has no role that allows it."""


class Frozen(Refusal):
    """The record is signed, or not yet."""


class Moved(Refusal):
    """The record has changed since it was looked at."""


class Disputed(Refusal):
    """Two people wrote different things, and nobody has yet said which holds."""


class Unreadable(Refusal):
    """What is kept cannot be read by this program, such as what a newer one has written."""
