"""The databases themselves refuse to change or remove what is only ever added to."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

from django.db import migrations

SIGNED = "a signed examination takes no entries"


@dataclass(frozen=True, slots=True)
class Kept:
    """A table that is only added to, what a refusal calls it, and what makes two of its rows the same."""

    table: str
    words: str
    same: str

    def sqlite(self) -> Iterator[str]:
        """Yield its triggers.

        A row that would take the place of another is refused too: by default no trigger hears of that.
        """
        refuse = f"BEGIN SELECT RAISE(ABORT, '{self.words}: only ever added to'); END"
        for event in ("UPDATE", "DELETE"):
            yield f"CREATE TRIGGER {self.table}_no_{event.lower()} BEFORE {event} ON {self.table} {refuse}"
        same = f"SELECT 1 FROM {self.table} kept WHERE kept.id = NEW.id OR {self.same}"  # noqa: S608
        head = f"CREATE TRIGGER {self.table}_no_replace BEFORE INSERT ON {self.table}"
        yield f"{head} WHEN EXISTS ({same}) {refuse}"

    def postgresql(self) -> Iterator[str]:
        """Yield its trigger."""
        yield (
            f"CREATE TRIGGER {self.table}_kept BEFORE UPDATE OR DELETE OR TRUNCATE ON {self.table} "
            f"FOR EACH STATEMENT EXECUTE FUNCTION clinic_only_added_to('{self.words}')"
        )


_NUMBERED = "(kept.visit_id = NEW.visit_id AND kept.number = NEW.number)"
KEPT = (
    Kept("clinic_entry", "entries", "kept.operation = NEW.operation"),
    Kept("clinic_amendment", "amendments", _NUMBERED),
    Kept("clinic_signature", "signatures", _NUMBERED),
    Kept("clinic_trace", "the trail", "kept.number = NEW.number"),
)

_STATUS = "(SELECT status FROM clinic_visit WHERE id = NEW.visit_id)"
_ON_ENTRY = "CREATE TRIGGER clinic_entry_signed BEFORE INSERT ON clinic_entry"
SQLITE = (f"{_ON_ENTRY} WHEN {_STATUS} = 'signed' BEGIN SELECT RAISE(ABORT, '{SIGNED}'); END",)

_FUNCTION = "CREATE FUNCTION {}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {} END $$"
POSTGRESQL = (
    _FUNCTION.format("clinic_only_added_to", "RAISE EXCEPTION '%: only ever added to', TG_ARGV[0];"),
    _FUNCTION.format(
        "clinic_signed", f"IF {_STATUS} = 'signed' THEN RAISE EXCEPTION '{SIGNED}'; END IF; RETURN NEW;"
    ),
    f"{_ON_ENTRY} FOR EACH ROW EXECUTE FUNCTION clinic_signed()",
)


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    if editor.connection.vendor == "sqlite":
        statements = (*SQLITE, *(each for kept in KEPT for each in kept.sqlite()))
    else:
        statements = (*POSTGRESQL, *(each for kept in KEPT for each in kept.postgresql()))
    for statement in statements:
        editor.execute(statement, params=None)


class Migration(migrations.Migration):
    """Triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("clinic", "0001_initial")]
    operations: ClassVar = [migrations.RunPython(forbid_changes, elidable=False)]
