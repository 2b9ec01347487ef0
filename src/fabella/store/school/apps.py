"""The school as an app of the framework."""

from django.apps import AppConfig


class SchoolConfig(AppConfig):
    """Practice, without a patient in it."""

    name = "fabella.store.school"
    label = "school"
    default_auto_field = "django.db.models.BigAutoField"
