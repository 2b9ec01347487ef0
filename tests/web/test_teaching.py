import csv
import re
from dataclasses import replace
from datetime import UTC, datetime
from html import unescape
from io import StringIO
from typing import Any

import pytest
from django.test import Client

from fabella.anatomy import load_lesions
from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.store.accounts.models import Account
from fabella.store.school.bench_models import PatientDifficulty, PracticeClass, PracticeSet, SetPatient
from fabella.store.school.classes import KeptClass, classes_of
from fabella.store.school.sets import make_set_with, patient_of, set_of, sets_of
from fabella.store.school.sums import HabitSum, PatientSum, Sums
from fabella.teach import Difficulty, Topic, draw_patient, read_recipe
from fabella.web.demo.teaching import CODE
from fabella.web.teaching import difficulty as judged
from fabella.web.teaching.spread import WIDTH, spread_of
from fabella.web.teaching.sums_words import sums_words
from fabella.web.visitor import local_clinician

NOW = datetime(2026, 2, 3, tzinfo=UTC)
TEACHER = local_clinician("any")
LOCKED = {
    "lesion1": "medial_meniscus_tear:displaced",
    "age": "24",
    "side": "left",
    "curriculum": "as_they_come",
}
PHRASE = "seven grey herons wade"


def text(answer: Any) -> str:
    """The page as it is read."""
    return unescape(answer.content.decode())


def carried(answer: Any) -> dict[str, str]:
    """What a preview hands on to the next step."""
    form = text(answer).partition('class="sheet keep"')[2].partition("</form>")[0]
    return dict(re.findall(r"name=\"(\w+)\" value=\"(.*?)\">", form.replace("'", "’")))


def preview(client: Client, **typed: str) -> Any:
    """Ask for a patient."""
    return client.post("/teach/patients/new/", {"step": "preview", **LOCKED, **typed})


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Difficulty is no matter of the test, and need not be worked out."""
    monkeypatch.setattr(judged, "measure_difficulty", lambda *_: Difficulty(sureness=0.5, seconds=60))


@pytest.mark.usefixtures("quick")
def test_a_patient_is_built_seen_and_kept(client: Client) -> None:
    """What is asked for comes up, is shown with all there is to find, and is kept in a set made for it."""
    shown = preview(client, alone="yes")
    page = text(shown)
    assert "A 24-year-old" in page
    assert "Left knee: medial meniscus tear (displaced" in page
    assert page.count("<svg") >= 2
    kept = client.post(
        "/teach/patients/new/",
        carried(shown) | {"step": "keep", "set": "new", "set_name": "Locked", "name": "One"},
    )
    assert kept.headers["Location"] == "/teach/sets/1/"
    (patient,) = set_of(TEACHER, 1).patients
    hidden = draw_patient(patient.recipe)
    assert hidden.complaint.lesions == (("medial_meniscus_tear", "displaced"),)
    assert (patient.name, patient.wished) == ("One", (("medial_meniscus_tear", "displaced"),))
    assert "Left knee: medial meniscus tear (displaced" in text(client.get("/teach/patients/1/"))


@pytest.mark.usefixtures("quick")
def test_another_one_like_it_is_another_one(client: Client) -> None:
    """Drawn again, the patient has other dice and still what was asked for; waiting changes nothing."""
    first = carried(preview(client))
    again = carried(client.post("/teach/patients/new/", first | {"step": "again"}))
    waited = carried(client.post("/teach/patients/new/", again | {"step": "look"}))
    assert again["recipe"] != first["recipe"]
    assert waited["recipe"] == again["recipe"]
    for each in (first, again):
        lesions = draw_patient(read_recipe(each["recipe"])).complaint.lesions
        assert ("medial_meniscus_tear", "displaced") in lesions
    changed = text(client.post("/teach/patients/new/", again | {"step": "change"}))
    assert '<option value="medial_meniscus_tear:displaced" selected' in changed


@pytest.mark.usefixtures("quick")
def test_a_knee_without_a_lesion_can_be_built(client: Client) -> None:
    """Somebody who worries about a sound knee is a patient too; a curriculum that has none says so."""
    shown = preview(client, lesion1="", alone="yes", age="30")
    assert draw_patient(read_recipe(carried(shown)["recipe"])).complaint.lesions == ()
    refused = preview(client, lesion1="", alone="yes", age="30", curriculum="ligaments")
    assert refused.status_code == 400
    assert "no knee without a lesion" in text(refused)


@pytest.mark.usefixtures("quick")
def test_a_seed_and_a_curriculum_are_enough(client: Client) -> None:
    """Without lesions the patient is drawn; the same seed is the same patient."""
    typed = {"lesion1": "", "age": "", "side": "", "curriculum": "ligaments", "seed": "4711"}
    one, two = (carried(preview(client, **typed))["recipe"] for _ in range(2))
    assert one == two
    assert (read_recipe(one).seed, read_recipe(one).curriculum) == (4711, "ligaments")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"age": "200"}, "whole number from 4 to 100"),
        ({"lesion1": "flat_tyre"}, "is unknown"),
        ({"lesion2": "medial_meniscus_tear"}, "there already"),
        ({"curriculum": "alphabet"}, "is not known"),
        ({"lesion1": "acl_tear", "age": "24", "curriculum": "front"}, "cannot be in one knee"),
        ({"sex": "other"}, "is not known"),
    ],
)
def test_a_wish_that_cannot_be_granted_says_why(client: Client, typed: dict[str, str], says: str) -> None:
    """Nothing is kept, what was typed stands there still, and the reason stands beside it."""
    answer = preview(client, **typed)
    assert answer.status_code == 400
    assert says in text(answer).replace("Cannot", "cannot").replace("Is ", "is ")
    assert 'name="age"' in text(answer)
    assert not SetPatient.objects.exists()


@pytest.mark.usefixtures("quick")
def test_keeping_says_what_is_missing_and_loses_nothing(client: Client) -> None:
    """Without a name for patient or set the same patient is shown again, and no set is left behind."""
    shown = carried(preview(client))
    for field in ("name", "set_name"):
        sent = {"step": "keep", "name": "x", "set": "new", "set_name": "y", field: " "}
        answer = client.post("/teach/patients/new/", shown | sent)
        assert answer.status_code == 400
        assert re.search(f'id="{field}-wrong">Is missing', answer.content.decode())
        assert carried(answer)["recipe"] == shown["recipe"]
        assert not PracticeSet.objects.exists()


@pytest.mark.usefixtures("quick")
def test_the_name_of_a_set_is_asked_for_only_where_it_is_needed(client: Client) -> None:
    """Without a set it must be given, and the page does not say that it may be left out; later it may be."""
    first = text(preview(client))
    assert "In which set" not in first
    assert re.search(r'<input id="set_name"[^>]* required', first)
    sent = {"step": "keep", "name": "x", "set": "new", "set_name": "Locked"}
    assert client.post("/teach/patients/new/", carried(preview(client)) | sent).status_code == 302
    second = text(preview(client))
    assert "In which set" in second
    assert re.search(r'<input id="set_name"[^>]*>', second)
    assert not re.search(r'<input id="set_name"[^>]* required', second)
    field = second.partition('for="set_name"')[2].partition("<button")[0]
    assert "may be left out" not in field
    again = sent | {"set": "1", "set_name": ""}
    assert client.post("/teach/patients/new/", carried(preview(client)) | again).status_code == 302


def test_a_set_is_put_into_order(demo: Client) -> None:
    """Buttons move a patient, leave it out and take it in again; the address tells no seed."""
    for move, names in (
        ("down:1", ["Gives way on the pitch", "Locked knee, 24 years", "First knees, any"]),
        ("up:3", ["Gives way on the pitch", "First knees, any", "Locked knee, 24 years"]),
        ("out:2", ["First knees, any", "Locked knee, 24 years"]),
        ("in:2", ["First knees, any", "Locked knee, 24 years", "Gives way on the pitch"]),
    ):
        assert demo.post("/teach/sets/1/", {"move": move}).headers["Location"] == "/teach/sets/1/"
        assert [each.name for each in set_of(TEACHER, 1).patients] == names
    assert demo.post("/teach/sets/1/", {"move": "sideways:1"}).status_code == 400
    kept = classes_of(TEACHER)[0]
    assert kept.patients == (1, 2, 3), "the class stays as it was opened"


def test_difficulty_is_worked_out_one_after_the_other(demo: Client) -> None:
    """A page shows what is known and says that more is coming; each asking brings and keeps one more."""
    pages = [text(demo.get("/teach/sets/1/?minutes=10")) for _ in range(3)]
    assert ["Being worked out" in each for each in pages] == [True, True, False]
    assert [each.count("<circle") for each in pages] == [1, 2, 3]
    assert PatientDifficulty.objects.count() == 3
    easy = PatientDifficulty.objects.get(patient_id=2)
    assert 0 < easy.sureness <= 1
    assert "in a station of 10 minutes" in text(demo.get("/teach/patients/1/?minutes=10"))


def test_dots_of_the_chart_stand_where_their_sureness_is() -> None:
    """Each dot lies within its column of 5 % and in the band of its word; dots of one column are stacked."""
    given = [("a", 0.02), ("b", 0.41), ("c", 0.43), ("d", 1.0)]
    found = spread_of((name, Difficulty(sureness=sureness, seconds=1)) for name, sureness in given)
    for (x, _, words), (name, sureness) in zip(found.dots, given, strict=True):
        assert words.startswith(name)
        assert abs(x / WIDTH - sureness) <= 0.05
        word = next(each for each, edge in (("hard", 0.4), ("fair", 0.75), ("easy", 1.0)) if sureness <= edge)
        assert word in words
    heights = [y for _, y, _ in found.dots]
    assert heights[2] > heights[1] == heights[0]
    assert found.text == "4 patients: 1 hard, 2 fair, 1 easy"


def test_cards_are_for_three_people(demo: Client) -> None:
    """Whoever plays learns no lesion, whoever examines nothing but the door, whoever marks all."""
    page = text(demo.get("/teach/patients/1/cards/"))
    plays, examines, marks = (
        re.sub(r"<[^>]+>", " ", each)
        for each in re.findall(r'<section class="card".*?</section>', page, re.DOTALL)
    )
    assert "medial meniscus tear" in marks
    assert "medial meniscus tear" not in plays + examines
    for name in (lesion.name.split(" (")[0] for lesion in load_lesions().values()):
        assert name not in examines
    for each in (plays, examines, marks):
        assert "A 24-year-old man comes to the emergency department with his left knee." in each


def terms(**others: str) -> dict[str, str]:
    """The form of a class."""
    hours = {"opens": "2026-01-01T09:00", "closes": "2126-01-01T09:00"}
    return {"name": "Year 5", "minutes": "5", "told": "yes", "shuffled": "yes"} | hours | others


def test_a_class_is_opened_and_ended(demo: Client) -> None:
    """The terms are kept as chosen, the code stands on the page, and after its end it no longer does."""
    address = demo.post("/teach/sets/1/open/", terms()).headers["Location"]
    kept: KeptClass = classes_of(TEACHER)[0]
    assert address == f"/teach/classes/{kept.id}/"
    assert (kept.terms.minutes, kept.terms.told, kept.shuffled, kept.name) == (5, True, True, "Year 5")
    page = text(demo.get(address))
    assert f"{kept.code[:3]} {kept.code[3:]}" in page
    assert f"http:/{'/'}localhost/class/{kept.code}/" in page
    assert demo.post(address).status_code == 302
    assert kept.code not in text(demo.get(address))
    assert "over since" in text(demo.get("/teach/"))


def test_a_class_that_is_wrong_says_why(demo: Client) -> None:
    """Every problem of the form is told at once, and no class is opened."""
    wrong = terms(name="", opens="soon", closes="", minutes="7")
    answer = demo.post("/teach/sets/1/open/", wrong)
    assert answer.status_code == 400
    assert text(answer).count('class="says"') == 3
    for mistyped in ("0026-11-27T10:00", "9999-12-31T23:59"):
        far = demo.post("/teach/sets/1/open/", terms(closes=mistyped))
        assert (far.status_code, "Is missing or wrong" in far.content.decode()) == (400, True)
    late = demo.post("/teach/sets/1/open/", terms(name="", closes="2020-01-01T10:00"))
    assert "too early" in text(late)
    assert "Is missing; give it a name" in text(late)
    assert PracticeClass.objects.count() == 1


def test_the_sums_can_be_taken_away(demo: Client) -> None:
    """The table holds the numbers of the page, no code, no recipe and no student; a span has the same."""
    page = text(demo.get("/teach/classes/1/"))
    assert "2 of 5 (2 missed)" in page
    answer = demo.get("/teach/classes/1/sums.csv")
    assert answer.headers["Content-Type"].startswith("text/csv")
    rows = list(csv.DictReader(StringIO(answer.content.decode("utf-8-sig"))))
    told = {(each["part"], each["id"], each["measure"]): each["value"] for each in rows}
    assert told["all", "", "counted"] == "5"
    assert told["sign", "effusion_sweep", "missed"] == "2"
    assert told["habit", "consent", "kept"] == "4"
    assert told["lesson", "left_out", "runs"] == "3"
    span = demo.get("/teach/classes/sums.csv").content.decode("utf-8-sig")
    signs = [each for each in rows if each["part"] == "sign"]
    assert signs == [each for each in csv.DictReader(StringIO(span)) if each["part"] == "sign"]
    for secret in (CODE, "seed", "class:", "invented-student"):
        assert secret not in answer.content.decode() + span


def test_a_teacher_reads_first_what_to_teach_next(demo: Client) -> None:
    """Above the tables, in sentences with their counts; and how to find out who needs help with what."""
    page = text(demo.get("/teach/classes/1/"))
    assert page.index("Teach next") < page.index("Signs, those most missed first")
    assert "Of what costs marks the commonest lesson: signs left out (3 of 5 runs)." in page
    assert "Misread oftenest: Sweep test, 2 of 5 knees (2 missed)." in page
    assert "Left out oftenest" not in page  # once is nobody's habit
    assert "only the students see" in page


def test_what_can_harm_is_told_before_what_costs_marks() -> None:
    """However seldom; a class of which nothing may be told has nothing to teach next."""
    few = Sums(
        classes=1,
        withheld=0,
        students=20,
        finishers=20,
        begun=40,
        finished=40,
        counted=40,
        brier=0.5,
        signs=(),
        habits=(HabitSum(habit="both_knees", kept=38, of=40),),
        topics=((Topic.LEFT_OUT, 30), (Topic.NOTHING, 7), (Topic.UNCHECKED, 2), (Topic.CONSENT, 1)),
        patients=(
            PatientSum(name="One", begun=20, finished=20, brier=0.2),
            PatientSum(name="Two", begun=20, finished=20, brier=0.8),
        ),
    )
    assert sums_words(few).teach_next == (
        (
            "What can harm a patient was the lesson of 3 of 40 runs: vessels and nerves not examined (2), "
            "consent, hands and pain before touching (1)."
        ),
        "Of what costs marks the commonest lesson: signs left out (30 of 40 runs).",
        "Hardest patient: Two (mean Brier score 0.80).",
    )
    nothing = replace(few, counted=0, brier=None, habits=(), topics=(), patients=())
    assert sums_words(nothing).teach_next == ()


def test_no_name_is_a_formula_in_the_table(demo: Client) -> None:
    """What a teacher calls a patient is text to a spreadsheet that opens the sums."""
    patient = patient_of(TEACHER, 1)
    made = make_set_with(TEACHER, "Sums", patient.recipe, name="=1+1", now=NOW)
    opens = {"opens": "2026-01-01T00:00", "closes": "2100-01-01T00:00"}
    given = demo.post(f"/teach/sets/{made}/open/", {"name": "Odd", "minutes": "8", **opens})
    table = demo.get(f"{given.headers['Location']}sums.csv").content.decode("utf-8-sig")
    assert {each["name"] for each in csv.DictReader(StringIO(table)) if each["part"] == "patient"} == {
        "'=1+1"
    }


def test_a_span_names_its_days(demo: Client) -> None:
    """Days that hold no class say so; days that are none are told."""
    assert "No class was opened" in text(demo.get("/teach/classes/?from=2001-01-01&until=2001-02-01"))
    wrong = demo.get("/teach/classes/?from=once&until=2001-02-01")
    assert (wrong.status_code, "Is no day" in text(wrong)) == (400, True)
    assert demo.get("/teach/classes/?from=2002-01-01&until=2001-01-01").status_code == 400
    assert demo.get("/teach/classes/sums.csv?from=x").status_code == 400


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.TEACHER])
def test_the_bench_is_for_teachers_alone(demo: Client, role: Role) -> None:
    """No other account opens a page of it or sees that there is one."""
    open_account("one", password=PHRASE, roles=[role])
    demo.force_login(Account.objects.get(name="one"))
    for address in ("/teach/", "/teach/sets/1/", "/teach/patients/1/", "/teach/classes/1/sums.csv"):
        assert demo.get(address).status_code == 403, address
    assert demo.post("/teach/", {"name": "mine"}).status_code == 403
    assert len(sets_of(TEACHER).read) == 1
    assert "/teach/" not in text(demo.get("/practice/"))
