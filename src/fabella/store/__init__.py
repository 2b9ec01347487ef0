"""Where it is kept: patients in the clinic, practice in the school, exams and accounts, each apart."""

from fabella.store.actor import Actor, Role
from fabella.store.refusals import Disputed, Frozen, Moved, NotAllowed, NotThere, Refusal, Unreadable

__all__ = ["Actor", "Disputed", "Frozen", "Moved", "NotAllowed", "NotThere", "Refusal", "Role", "Unreadable"]
