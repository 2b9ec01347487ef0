"""Pictures on which something was measured, which are only ever added to, and not once a visit is signed."""

from importlib import import_module
from typing import Any, ClassVar

import django.db.models.deletion
from django.db import migrations, models

from fabella.store.only_added_to import Kept

_EARLIER = import_module("fabella.store.clinic.migrations.0002_only_added_to")
_TABLE = "clinic_measuredpicture"
_BEFORE = f"CREATE TRIGGER {_TABLE}_signed BEFORE INSERT ON {_TABLE}"
_STATUS = "(SELECT status FROM clinic_visit WHERE id = NEW.visit_id)"
_REFUSE = f"BEGIN SELECT RAISE(ABORT, '{_EARLIER.SIGNED}'); END"


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    is_file = editor.connection.vendor == "sqlite"
    editor.execute(
        f"{_BEFORE} WHEN {_STATUS} = 'signed' {_REFUSE}"
        if is_file
        else f"{_BEFORE} FOR EACH ROW EXECUTE FUNCTION clinic_signed()",
        params=None,
    )
    same = "((kept.visit_id = NEW.visit_id AND kept.number = NEW.number) OR kept.operation = NEW.operation)"
    _EARLIER.keep(editor, [Kept(_TABLE, "measured pictures", same)])


class Migration(migrations.Migration):
    """A table with triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("clinic", "0004_confirmations")]
    operations: ClassVar = [
        migrations.CreateModel(
            name="MeasuredPicture",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("operation", models.CharField(max_length=64, unique=True)),
                ("payload", models.TextField()),
                ("picture", models.BinaryField()),
                ("author", models.CharField(max_length=80)),
                ("shown", models.CharField(max_length=120)),
                ("device", models.CharField(max_length=40)),
                ("at", models.DateTimeField()),
                (
                    "visit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="measured_pictures",
                        to="clinic.visit",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("visit", "number"), name="clinic_measuredpicture_number")
                ],
            },
        ),
        migrations.RunPython(forbid_changes, elidable=False),
    ]
