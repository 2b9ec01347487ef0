import csv
from pathlib import Path

from fabella.teach.curves import WHO, accuracy, curve_points
from tests.teach.patients import patient, reasoner

TABLE = Path(__file__).parents[2] / "docs" / "practice_curves.csv"


def test_both_students_begin_alike_and_each_minute_has_a_point() -> None:
    """Before anything is asked both know the same; there is a point for each of them, patient and minute."""
    patients = [patient(seed, curriculum="first") for seed in range(2)]
    points = list(curve_points(patients, minutes=3, reasoner=reasoner()))
    assert len(points) == 2 * len(WHO) * 4
    for seed in range(2):
        ideal, random = (
            next(each for each in points if (each.who, each.seed, each.minute) == (who, seed, 0))
            for who in WHO
        )
        assert ideal.log == random.log
    sensitivity, specificity = accuracy(points, "acl_tear")
    assert all(share is None or 0 <= share <= 1 for share in (sensitivity, specificity))


def test_the_table_shows_that_following_the_information_helps() -> None:
    """In the documented runs the ideal student does better from the third minute on, by every measure."""
    rows = list(csv.DictReader(TABLE.read_text("utf-8").splitlines()))
    by = {(row["student"], int(row["minute"])): row for row in rows}
    for minute in range(3, 11):
        ideal, random = by["ideal", minute], by["random", minute]
        assert float(ideal["right"]) > float(random["right"])
        assert float(ideal["given"]) > float(random["given"])
        assert float(ideal["log_bits"]) < float(random["log_bits"])
    last = by["ideal", 10]
    assert 0.01 <= (1 - float(last["acl_tear_sensitivity"])) / float(last["acl_tear_specificity"]) <= 0.48
