import pytest
from django.apps import apps
from django.db import connections

from fabella.store.router import ALIASES, CLINIC, SCHOOL, Router, home
from tests.store.people import new_visit

pytestmark = pytest.mark.usefixtures("database")


def test_every_table_stands_in_its_own_database_only() -> None:
    """No table of patients, students or accounts exists in another's database."""
    for model in apps.get_models():
        table, own = model._meta.db_table, home(model._meta.app_label)
        there = [alias for alias in ALIASES if table in connections[alias].introspection.table_names()]
        assert there == [own], table


def test_patients_and_students_are_read_and_written_apart() -> None:
    """The router sends each model to its database, without being told."""
    router = Router()
    homes = {model.__name__: router.db_for_write(model) for model in apps.get_models()}
    assert homes["Patient"] == homes["Visit"] == homes["Entry"] == homes["Trace"] == CLINIC
    assert homes["PracticeRun"] == SCHOOL
    assert homes["Account"] == homes["Session"] == "default"
    assert all(router.db_for_read(model) == homes[model.__name__] for model in apps.get_models())


def test_nothing_points_from_one_database_into_another() -> None:
    """No relation between two models crosses databases, and the router allows none."""
    models = {each.__name__: each for each in apps.get_models()}
    for model in models.values():
        for field in model._meta.get_fields():
            if field.is_relation and field.related_model and not isinstance(field.related_model, str):
                assert home(field.related_model._meta.app_label) == home(model._meta.app_label)
    assert not Router().allow_relation(models["Patient"](), models["PracticeRun"]())


def test_what_is_kept_in_the_clinic_is_in_no_other_database() -> None:
    """After a visit has begun, the databases of school and accounts hold nothing that they did not before."""
    new_visit()
    for alias in set(ALIASES) - {CLINIC}:
        with connections[alias].cursor() as cursor:
            for table in connections[alias].introspection.table_names():
                cursor.execute(f"SELECT * FROM {table}")  # noqa: S608  names from the database itself
                assert "Ada Invented" not in str(cursor.fetchall())
