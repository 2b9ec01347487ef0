"""Which database holds what: patients, students, candidates and accounts never share one."""

from __future__ import annotations

from typing import Any

CLINIC, SCHOOL, EXAMS, ACCOUNTS = "clinic", "school", "exams", "default"
ALIASES = (ACCOUNTS, CLINIC, SCHOOL, EXAMS)

NAMES = {ACCOUNTS: "accounts", CLINIC: "clinic", SCHOOL: "school", EXAMS: "exams"}
"""What the databases are called outside the framework."""

_HOMES = {"clinic": CLINIC, "school": SCHOOL, "exams": EXAMS}


def home(app_label: str) -> str:
    """Return the alias of the database in which an app lives; accounts and sessions are the default's."""
    return _HOMES.get(app_label, ACCOUNTS)


class Router:
    """Sends every model to its own database, and lets nothing reach across."""

    def db_for_read(self, model: Any, **_: Any) -> str:
        """Return where a model is read."""
        return home(model._meta.app_label)  # noqa: SLF001  the documented way

    def db_for_write(self, model: Any, **_: Any) -> str:
        """Return where a model is written."""
        return home(model._meta.app_label)  # noqa: SLF001

    def allow_relation(self, one: Any, other: Any, **_: Any) -> bool:
        """Say whether two things may point at each other."""
        return home(one._meta.app_label) == home(other._meta.app_label)  # noqa: SLF001

    def allow_migrate(self, alias: str, app_label: str, **_: Any) -> bool:
        """Say whether an app's tables belong in a database."""
        return home(app_label) == alias
