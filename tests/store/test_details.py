from datetime import date

import pytest

from fabella.anatomy import Side
from fabella.errors import InputError
from fabella.record import Setting, Sex
from fabella.store.clinic.details import Complaint, PatientDetails, read_patient_details, read_visit_details
from fabella.store.clinic.sheets import age_years
from tests.store.people import TODAY


def test_what_is_typed_about_a_patient_is_read_or_refused_whole() -> None:
    """Right answers are taken, without stray spaces; wrong ones are all listed with their remedy."""
    typed = {"number": " K-7 ", "label": "Ida  Invented", "birth_date": "2020-02-29", "sex": "female"}
    read = read_patient_details(typed, today=TODAY)
    assert read == PatientDetails(
        number="K-7", label="Ida Invented", birth_date=date(2020, 2, 29), sex=Sex.FEMALE
    )
    wrong = {"label": "x" * 201, "birth_date": "2020-02-30", "sex": "femal"}
    with pytest.raises(InputError) as refused:
        read_patient_details(wrong, today=TODAY)
    assert [each.place for each in refused.value.problems] == ["number", "label", "birth_date", "sex"]


@pytest.mark.parametrize("choice", list(Complaint))
def test_which_knee_is_complained_of_is_a_choice_that_leads_back(choice: Complaint) -> None:
    """Right, left, both or neither names its knees, and these name it; nothing typed is unknown."""
    read = read_visit_details({"complaint": choice.value}, today=TODAY)
    assert read.complaint is not None
    assert Complaint.of(read.complaint) is choice
    assert read_visit_details({"complaint": ""}, today=TODAY).complaint is None


def test_what_is_typed_about_a_visit_is_read_or_refused_whole() -> None:
    """Without a day it is today's; a day in the future and an unknown setting are refused together."""
    read = read_visit_details({"setting": "emergency", "complaint": "both"}, today=TODAY)
    assert (read.day, read.setting, read.complaint) == (TODAY, Setting.EMERGENCY, tuple(Side))
    with pytest.raises(InputError) as refused:
        read_visit_details({"day": "2026-11-26", "setting": "ward"}, today=TODAY)
    assert [each.place for each in refused.value.problems] == ["day", "setting"]


@pytest.mark.parametrize(
    ("born", "expected"),
    [
        ("1990-11-25", 36.0),
        ("1990-11-26", 35.0),
        ("2023-11-25", 3.0),
        ("2024-10-25", 2.08),
        ("2026-11-25", 0.0),
    ],
)
def test_age_is_in_whole_years_but_for_small_children(born: str, expected: float) -> None:
    """A birthday counts on its day; below three the age is told in twelfths of a year (by hand)."""
    assert age_years(date.fromisoformat(born), TODAY) == expected
