"""What a measurement on a visit was held against, in words, with the place in the tables."""

from fabella.anatomy import Side
from fabella.record import Context, Examination, Finding, Origin, Patient
from fabella.web.held import held_against
from fabella.workup import run_workup


def measured(sign: str, right: float, left: float, unit: str) -> Examination:
    """One measurement of both knees of a woman of 30."""
    findings = tuple(
        Finding(sign=sign, side=side, value=value, unit=unit)
        for side, value in ((Side.RIGHT, right), (Side.LEFT, left))
    )
    patient = Patient(label="Ida Invented", age_years=30)
    return Examination(
        id="one", origin=Origin.INVENTED, patient=patient, context=Context(), findings=findings
    )


def test_a_measurement_names_its_norm_and_its_error() -> None:
    """Passive flexion is held against the norm of the difference and an error, each with source and place."""
    workup = run_workup(measured("passive_flexion", 128, 108, "deg"))
    norm, error = held_against(workup.graded)["passive_flexion"]
    assert norm.words.startswith("norm of the difference ")
    assert (norm.measure, norm.part) == ("passive_flexion_side_difference", "norms")
    graded = next(each for each in workup.graded if each.error is not None)
    assert graded.error is not None
    assert error.words.startswith(f"differences above {graded.error.detectable:g}° are real (95%")
    assert (error.measure, error.part) == ("knee_angle", "errors")
    assert all(each.source for each in (norm, error))


def test_an_error_is_printed_with_the_digits_that_tell_a_real_difference() -> None:
    """An index of pressures is read to a hundredth: its error is not cut to a tenth, which many exceed."""
    (error,) = (
        each
        for each in held_against(run_workup(measured("ankle_brachial_index", 1.1, 0.9, "ratio")).graded)[
            "ankle_brachial_index"
        ]
        if each.part == "errors"
    )
    assert error.words.startswith("differences above 0.139 are real (95%")


def test_an_error_that_no_table_has_stands_with_the_sign() -> None:
    """No error of a laxity by hand is published: the yardstick says so and leads to the sign itself."""
    (error,) = held_against(run_workup(measured("valgus_stress_0", 8, 3, "mm")).graded)["valgus_stress_0"]
    assert (error.measure, error.part) == ("", "errors")
    assert error.words.endswith("are real (95%, judgement)")
    assert "none is published" in error.source


def test_what_was_not_measured_is_held_against_nothing() -> None:
    """A grade without a value has no yardstick."""
    finding = Finding(sign="lachman", side=Side.RIGHT, level="2+")
    examination = Examination(id="one", origin=Origin.INVENTED, findings=(finding,))
    assert held_against(run_workup(examination).graded) == {}
