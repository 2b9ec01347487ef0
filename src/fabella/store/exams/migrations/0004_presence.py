"""Which candidates are not there on the day."""

from typing import Any, ClassVar

import django.db.models.deletion
from django.db import migrations, models

from fabella.store import only_added_to
from fabella.store.only_added_to import Kept

KEPT = (Kept("exams_exampresence", "presence of candidates"),)


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    only_added_to.forbid_changes(editor, KEPT, function="exams_only_added_to")


class Migration(migrations.Migration):
    """A table, and triggers that stay for good."""

    dependencies: ClassVar = [("exams", "0003_trail")]
    operations: ClassVar = [
        migrations.CreateModel(
            name="ExamPresence",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("candidate", models.CharField(max_length=80)),
                ("presence", models.CharField(max_length=12)),
                ("at_min", models.FloatField(null=True)),
                ("why", models.CharField(max_length=200)),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
                (
                    "exam",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="presences",
                        to="exams.exam",
                    ),
                ),
            ],
        ),
        migrations.RunPython(forbid_changes, elidable=False),
    ]
