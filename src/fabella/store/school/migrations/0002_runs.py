"""Practice runs, their events and lessons, in place of a table that nothing was ever written to."""

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    """Tables of practice."""

    dependencies: ClassVar = [
        ("school", "0001_initial"),
    ]

    operations: ClassVar = [
        migrations.CreateModel(
            name="PracticeEvent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("key", models.CharField(max_length=64)),
                ("act", models.CharField(max_length=20)),
                ("event", models.TextField()),
                ("at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="PracticeLesson",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("topic", models.CharField(max_length=20)),
                ("about", models.CharField(max_length=80)),
                ("brier", models.FloatField(null=True)),
                ("log_bits", models.FloatField(null=True)),
                ("at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="PracticeRun",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("student", models.CharField(db_index=True, max_length=150)),
                ("begun", models.DateTimeField()),
                ("recipe", models.TextField()),
                ("minutes", models.FloatField(null=True)),
                ("told", models.BooleanField()),
            ],
        ),
        migrations.DeleteModel(
            name="PracticeSession",
        ),
        migrations.AddField(
            model_name="practicelesson",
            name="run",
            field=models.OneToOneField(
                on_delete=django.db.models.deletion.PROTECT, related_name="lesson", to="school.practicerun"
            ),
        ),
        migrations.AddField(
            model_name="practiceevent",
            name="run",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="events", to="school.practicerun"
            ),
        ),
        migrations.AddConstraint(
            model_name="practiceevent",
            constraint=models.UniqueConstraint(fields=("run", "number"), name="school_event_number"),
        ),
        migrations.AddConstraint(
            model_name="practiceevent",
            constraint=models.UniqueConstraint(fields=("run", "key"), name="school_event_key"),
        ),
    ]
