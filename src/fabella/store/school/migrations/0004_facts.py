"""What debriefed runs showed: kept once for each run, and only ever added to."""

from importlib import import_module
from typing import Any, ClassVar

import django.db.models.deletion
from django.db import migrations, models

_EARLIER = import_module("fabella.store.school.migrations.0003_only_added_to")

SAME = {
    "school_practiceoutcome": "kept.run_id = NEW.run_id",
    "school_practicesign": ("(kept.run_id = NEW.run_id AND kept.sign = NEW.sign AND kept.side = NEW.side)"),
    "school_practicehabit": "(kept.run_id = NEW.run_id AND kept.habit = NEW.habit)",
    "school_practicebelief": "(kept.run_id = NEW.run_id AND kept.lesion = NEW.lesion)",
}
"""Every new table, and what makes two of its rows the same besides their id."""


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    _EARLIER.keep(editor, SAME)


def _id() -> tuple[str, Any]:
    return "id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")


def _run(name: str) -> tuple[str, Any]:
    on_delete = django.db.models.deletion.PROTECT
    return "run", models.ForeignKey(on_delete=on_delete, related_name=name, to="school.practicerun")


def _once(name: str, *fields: str) -> dict[str, Any]:
    return {"constraints": [models.UniqueConstraint(fields=("run", *fields), name=name)]}


class Migration(migrations.Migration):
    """Tables with triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("school", "0003_only_added_to")]
    operations: ClassVar = [
        migrations.CreateModel(
            name="PracticeOutcome",
            fields=[
                _id(),
                ("seconds", models.FloatField()),
                ("at", models.DateTimeField()),
                (
                    "run",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="outcome",
                        to="school.practicerun",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="PracticeSign",
            fields=[
                _id(),
                ("sign", models.CharField(db_index=True, max_length=80)),
                ("side", models.CharField(max_length=5)),
                ("reading", models.CharField(max_length=20)),
                ("abnormal", models.BooleanField(null=True)),
                ("at_s", models.FloatField(null=True)),
                ("seconds", models.FloatField()),
                _run("signs"),
            ],
            options=_once("school_sign_once", "sign", "side"),
        ),
        migrations.CreateModel(
            name="PracticeHabit",
            fields=[
                _id(),
                ("habit", models.CharField(db_index=True, max_length=40)),
                ("kept", models.BooleanField()),
                ("share", models.FloatField(null=True)),
                _run("habits"),
            ],
            options=_once("school_habit_once", "habit"),
        ),
        migrations.CreateModel(
            name="PracticeBelief",
            fields=[
                _id(),
                ("lesion", models.CharField(db_index=True, max_length=80)),
                ("believed", models.FloatField(null=True)),
                ("present", models.BooleanField()),
                _run("beliefs"),
            ],
            options=_once("school_belief_once", "lesion"),
        ),
        migrations.RunPython(forbid_changes, elidable=False),
    ]
