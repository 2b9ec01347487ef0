"""The trail of what the exam lead did."""

from typing import Any, ClassVar

import django.db.models.deletion
from django.db import migrations, models

from fabella.store import only_added_to
from fabella.store.only_added_to import Kept

KEPT = (Kept("exams_examtrace", "trail of an exam"),)


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    only_added_to.forbid_changes(editor, KEPT, function="exams_only_added_to")


class Migration(migrations.Migration):
    """A table, and triggers that stay for good."""

    dependencies: ClassVar = [("exams", "0002_only_added_to")]
    operations: ClassVar = [
        migrations.CreateModel(
            name="ExamTrace",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("what", models.CharField(max_length=80)),
                ("about", models.CharField(max_length=300)),
                ("why", models.CharField(max_length=200)),
                ("by", models.CharField(max_length=150)),
                ("at", models.DateTimeField()),
                (
                    "exam",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="traces", to="exams.exam"
                    ),
                ),
            ],
        ),
        migrations.RunPython(forbid_changes, elidable=False),
    ]
