"""The database itself refuses to change or remove a practice run."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django.db import migrations

from fabella.store import only_added_to
from fabella.store.only_added_to import Kept

SAME = {
    "school_practicerun": "",
    "school_practiceevent": (
        "(kept.run_id = NEW.run_id AND (kept.number = NEW.number OR kept.key = NEW.key))"
    ),
    "school_practicelesson": "kept.run_id = NEW.run_id",
}
"""Every table, and what makes two of its rows the same besides their id."""


def keep(editor: Any, tables: Mapping[str, str]) -> None:
    """Let tables only be added to; later migrations add theirs by it."""
    kept = [Kept(table, "practice", same) for table, same in tables.items()]
    only_added_to.forbid_changes(editor, kept, function="school_only_added_to")


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    keep(editor, SAME)


class Migration(migrations.Migration):
    """Triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("school", "0002_runs")]
    operations: ClassVar = [migrations.RunPython(forbid_changes, elidable=False)]
