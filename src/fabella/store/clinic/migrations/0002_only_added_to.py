"""The databases themselves refuse to change or remove what is only ever added to."""

from collections.abc import Iterable
from typing import Any, ClassVar

from django.db import migrations

from fabella.store import only_added_to
from fabella.store.only_added_to import Kept

SIGNED = "a signed examination takes no entries"

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

POSTGRESQL = (
    (
        "CREATE FUNCTION clinic_signed() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF {_STATUS} = 'signed' THEN RAISE EXCEPTION '{SIGNED}'; END IF; RETURN NEW; END $$"
    ),
    f"{_ON_ENTRY} FOR EACH ROW EXECUTE FUNCTION clinic_signed()",
)


def keep(editor: Any, tables: Iterable[Kept]) -> None:
    """Let tables only be added to; later migrations add theirs by it."""
    only_added_to.forbid_changes(editor, tables, function="clinic_only_added_to")


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    for statement in SQLITE if editor.connection.vendor == "sqlite" else POSTGRESQL:
        editor.execute(statement, params=None)
    keep(editor, KEPT)


class Migration(migrations.Migration):
    """Triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("clinic", "0001_initial")]
    operations: ClassVar = [migrations.RunPython(forbid_changes, elidable=False)]
