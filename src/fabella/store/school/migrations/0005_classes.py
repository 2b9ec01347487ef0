"""The teacher's bench and classes: tables that are only added to."""

from importlib import import_module
from typing import Any, ClassVar

import django.db.models.deletion
from django.db import migrations, models

_EARLIER = import_module("fabella.store.school.migrations.0003_only_added_to")

SAME = {
    "school_practiceset": "kept.name = NEW.name",
    "school_setpatient": "",
    "school_setorder": "",
    "school_patientdifficulty": "",
    "school_practiceclass": "kept.code = NEW.code",
    "school_classend": "kept.of_id = NEW.of_id",
    "school_classrun": "kept.run_id = NEW.run_id",
}
"""Every new table, and what makes two of its rows the same besides their id."""


def forbid_changes(_: Any, editor: Any) -> None:
    """Add the triggers that fit the database."""
    _EARLIER.keep(editor, SAME)


def _id() -> tuple[str, Any]:
    return "id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")


def _belongs(name: str, to: str, back: str, kind: Any = models.ForeignKey) -> tuple[str, Any]:
    on_delete = django.db.models.deletion.PROTECT
    return name, kind(on_delete=on_delete, related_name=back, to=f"school.{to}")


def _text(name: str, length: int, **more: Any) -> tuple[str, Any]:
    return name, models.CharField(max_length=length, **more)


_AT: tuple[str, Any] = ("at", models.DateTimeField())


class Migration(migrations.Migration):
    """Tables with triggers that stay for good: there is no way back."""

    dependencies: ClassVar = [("school", "0004_facts")]
    operations: ClassVar = [
        migrations.CreateModel(
            name="PracticeSet",
            fields=[_id(), _text("name", 80, unique=True), _text("maker", 120), _AT],
        ),
        migrations.CreateModel(
            name="SetPatient",
            fields=[
                _id(),
                _text("name", 80),
                ("recipe", models.TextField()),
                ("wished", models.TextField()),
                _AT,
                _belongs("of", "practiceset", "patients"),
            ],
        ),
        migrations.CreateModel(
            name="SetOrder",
            fields=[_id(), ("patients", models.TextField()), _AT, _belongs("of", "practiceset", "orders")],
        ),
        migrations.CreateModel(
            name="PatientDifficulty",
            fields=[
                _id(),
                ("minutes", models.FloatField(null=True)),
                _text("edition", 40),
                ("sureness", models.FloatField()),
                ("seconds", models.FloatField()),
                _AT,
                _belongs("patient", "setpatient", "difficulties"),
            ],
        ),
        migrations.CreateModel(
            name="PracticeClass",
            fields=[
                _id(),
                _text("name", 80),
                _text("code", 12, unique=True),
                ("patients", models.TextField()),
                ("minutes", models.FloatField(null=True)),
                ("told", models.BooleanField()),
                ("shuffled", models.BooleanField()),
                ("opens", models.DateTimeField()),
                ("closes", models.DateTimeField()),
                _text("maker", 120),
                _AT,
                _belongs("of", "practiceset", "classes"),
            ],
        ),
        migrations.CreateModel(
            name="ClassEnd",
            fields=[_id(), _AT, _belongs("of", "practiceclass", "end", models.OneToOneField)],
        ),
        migrations.CreateModel(
            name="ClassRun",
            fields=[
                _id(),
                _belongs("of", "practiceclass", "runs"),
                _belongs("patient", "setpatient", "runs"),
                _belongs("run", "practicerun", "in_class", models.OneToOneField),
            ],
            options={
                "indexes": [models.Index(fields=["of", "patient"], name="school_class_patient")],
            },
        ),
        migrations.RunPython(forbid_changes, elidable=False),
    ]
