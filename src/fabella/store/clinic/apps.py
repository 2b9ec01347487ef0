"""The clinic as an app of the framework."""

from django.apps import AppConfig


class ClinicConfig(AppConfig):
    """Patients, their visits and the trail."""

    name = "fabella.store.clinic"
    label = "clinic"
    default_auto_field = "django.db.models.BigAutoField"
