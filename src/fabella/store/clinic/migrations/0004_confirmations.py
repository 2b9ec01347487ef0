"""What was found after a visit was signed, which is only ever added to."""

from importlib import import_module
from typing import Any, ClassVar

import django.db.models.deletion
from django.db import migrations, models

from fabella.store.only_added_to import Kept

_EARLIER = import_module("fabella.store.clinic.migrations.0002_only_added_to")


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    same = "(kept.visit_id = NEW.visit_id AND (kept.number = NEW.number OR kept.replaces = NEW.replaces))"
    _EARLIER.keep(editor, [Kept("clinic_confirmation", "what was found later", same)])


class Migration(migrations.Migration):
    """A table with triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("clinic", "0003_signed_papers")]
    operations: ClassVar = [
        migrations.CreateModel(
            name="Confirmation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("replaces", models.PositiveIntegerField(null=True)),
                ("payload", models.TextField(blank=True)),
                ("reason", models.TextField(blank=True)),
                ("author", models.CharField(max_length=80)),
                ("shown", models.CharField(max_length=120)),
                ("device", models.CharField(max_length=40)),
                ("at", models.DateTimeField()),
                (
                    "visit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="confirmations",
                        to="clinic.visit",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("visit", "number"), name="clinic_confirmation_number"),
                    models.UniqueConstraint(
                        fields=("visit", "replaces"), name="clinic_confirmation_replaces"
                    ),
                ],
            },
        ),
        migrations.RunPython(forbid_changes, elidable=False),
    ]
