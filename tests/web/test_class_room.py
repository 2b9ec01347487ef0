import re
import secrets
from dataclasses import dataclass
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.test import Client

from fabella.anatomy import load_lesions
from fabella.store import Role
from fabella.store.accounts.keeping import open_account
from fabella.store.accounts.models import Account
from fabella.store.school.bench_models import ClassRun
from fabella.store.school.called_in import MOST_A_DAY
from fabella.store.school.classes import KeptClass, class_of, end_class, open_class
from fabella.store.school.models import PracticeRun
from fabella.store.school.sets import add_patient, make_set, set_of
from fabella.teach import Recipe, Terms, draw_patient
from fabella.web.attempts import CODES_FOR_AN_ADDRESS
from fabella.web.demo.teaching import CODE
from fabella.web.visitor import local_clinician
from tests.store.people import NOW
from tests.web.test_practice import COURTESIES, everything, press, send
from tests.web.test_practice_record import LAPSE, remembered

TEACHER = local_clinician("any")
PHRASE = "seven grey herons wade"
SEED = 271828182
ROOM = f"/class/{CODE}/"
LONG = timedelta(days=36500)


@pytest.fixture
def ward(client: Client) -> Client:
    """A browser nobody knows: there is an account, so that being at this machine is not enough."""
    open_account("tim", password=PHRASE, roles=[Role.TEACHER])
    return client


def given(*recipes: Recipe) -> KeptClass:
    """A class that is open for long, with patients of these recipes."""
    made = make_set(TEACHER, "A telling set", now=NOW)
    for recipe in recipes:
        add_patient(TEACHER, made, recipe, name="A telling name", now=NOW)
    opened = open_class(
        TEACHER,
        made,
        name="Year 4",
        terms=Terms(minutes=None),
        shuffled=False,
        opens=NOW - LONG / 2,
        closes=NOW + LONG,
        now=NOW,
        dice=secrets.randbelow,
    )
    return class_of(TEACHER, opened)


def begin(client: Client, kept: KeptClass) -> str:
    """Enter the code, call the next patient in, and return the address of the run."""
    room = client.post("/class/", {"code": f"{kept.code[:3].lower()} {kept.code[3:]}"})
    assert room.headers["Location"] == f"/class/{kept.code}/"
    return str(client.post(f"/class/{kept.code}/").headers["Location"])


def browser() -> Client:
    """Another browser."""
    return Client(SERVER_NAME="localhost")


def text(answer: Any) -> str:
    """Everything that was sent."""
    return unescape(answer.content.decode() + str(answer.headers))


def test_a_student_without_an_account_plays_to_the_debrief(ward: Client) -> None:
    """By the code alone a run is begun, played with and without scripts, finished and debriefed."""
    kept = given(Recipe(seed=5, curriculum="first"), Recipe(seed=6))
    run = begin(ward, kept)
    assert run == "/practice/runs/1/"
    assert "Year 4" in text(ward.get(run))
    for sign in COURTESIES:
        assert press(ward, run, {"act": "do", "sign": sign}).status_code == 302
    assert send(ward, run, {"act": "believe", "beliefs": [["acl_tear", 0.5]]}).status_code == 200
    assert "Go on" in text(ward.get(f"/class/{kept.code}/"))
    assert press(ward, run, {"act": "finish"}).headers["Location"] == f"{run}debrief/"
    debrief = text(ward.get(f"{run}debrief/"))
    assert "One thing to practise next" in debrief
    assert f'href="/class/{kept.code}/"' in debrief
    room = text(ward.get(f"/class/{kept.code}/"))
    assert "Debrief" in room
    assert "the next patient" in room
    assert begin(ward, kept) == "/practice/runs/2/"


def test_nothing_of_a_class_tells_what_is_hidden(ward: Client) -> None:
    """Nothing sent before the debrief holds a lesion, a seed or the names that the teacher gave."""
    recipe = Recipe(seed=SEED, curriculum="hard")
    kept = given(recipe)
    own = {lesion for knee in draw_patient(recipe).knees.values() for lesion, _ in knee.lesions}
    assert len(own) >= 2
    sent = [ward.get("/class/"), ward.get(f"/class/{kept.code}/")]
    run = begin(ward, kept)
    sent += [ward.get(run), ward.get(f"/class/{kept.code}/")]
    events = everything()
    for at in range(0, len(events), 50):
        sent.append(send(ward, run, *events[at : at + 50]))
        sent.append(ward.get(f"{run}now/"))
    sent += [ward.get(f"/class/{kept.code}/"), ward.get(f"{run}debrief/"), ward.get(run)]
    everywhere = "".join(re.sub(r"<option.*?</select>", "", text(each), flags=re.DOTALL) for each in sent)
    assert not set(re.findall(r"\w+", everywhere)) & set(load_lesions())
    names = [load_lesions()[lesion].name.split(" (")[0] for lesion in own]
    for secret in (str(SEED), "recipe", "seed", "A telling name", "A telling set", *names):
        assert secret not in everywhere
    send(ward, run, {"act": "finish"})
    debrief = text(ward.get(f"{run}debrief/"))
    assert all(name in debrief for name in names), "what was looked for is what the debrief tells"


def test_a_class_run_is_that_browsers_alone(ward: Client) -> None:
    """Another student of the class, its teacher and whoever has no pass find no run by any address."""
    kept = given(Recipe(seed=5), Recipe(seed=6))
    run = begin(ward, kept)
    other, teacher, nobody = browser(), browser(), browser()
    assert begin(other, kept) == "/practice/runs/2/"
    teacher.force_login(Account.objects.get(name="tim"))
    for address in (run, f"{run}now/", f"{run}debrief/"):
        assert [each.get(address).status_code for each in (ward, other, teacher, nobody)][1:] == [
            404,
            404,
            302,
        ]
    for stranger, status in ((other, 404), (teacher, 404), (nobody, 401)):
        assert send(stranger, run, {"act": "finish"}).status_code == status
    assert "None yet" in text(teacher.get("/practice/"))
    assert ward.get(run).status_code == 200


def test_a_pass_that_was_not_given_here_is_none(ward: Client) -> None:
    """A cookie that somebody wrote themselves opens nothing; what is kept cannot be made into one."""
    run = begin(ward, given(Recipe(seed=5)))
    forged = browser()
    for value in (
        "secret",
        PracticeRun.objects.get().student,
        ward.cookies["fabella_pass"].value[:-2] + "xx",
    ):
        forged.cookies["fabella_pass"] = value
        assert forged.get(run).status_code == 302
    cookie = ward.cookies["fabella_pass"]
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Strict")


def test_on_a_shared_device_one_leaves(ward: Client) -> None:
    """After leaving, the next person at the browser begins anew and finds nothing of the one before."""
    kept = given(Recipe(seed=5), Recipe(seed=6))
    run = begin(ward, kept)
    assert ward.post(f"/class/{kept.code}/", {"step": "leave"}).headers["Location"] == "/class/"
    assert ward.get(run).status_code == 302
    assert "the first patient" in text(ward.get(f"/class/{kept.code}/"))
    assert begin(ward, kept) == "/practice/runs/2/"
    assert ward.get(run).status_code == 404


def test_a_pass_opens_no_other_page(ward: Client) -> None:
    """Whoever bears a pass is still nobody to every page but practice runs: they are led to the door."""
    begin(ward, given(Recipe(seed=5)))
    for address in ("/", "/practice/", "/teach/", "/patients/", "/evidence/", "/help/"):
        assert ward.get(address).headers["Location"].startswith("/login/"), address
    assert "/class/" in text(ward.get("/login/")), "where the door for a class is shown"


def test_a_wrong_code_opens_nothing(ward: Client) -> None:
    """By the form and by the address the door stays shut, and says so; nothing tells how near one was."""
    kept = given(Recipe(seed=5))
    near = kept.code[:-1] + ("C" if kept.code[-1] != "C" else "D")
    for answer in (
        ward.post("/class/", {"code": near}),
        ward.get(f"/class/{near}/"),
        ward.post(f"/class/{near}/"),
    ):
        assert answer.status_code == 404
        assert "There is no class with this code" in text(answer)
    assert ward.post("/class/", {"code": ""}).status_code == 404
    assert not PracticeRun.objects.exists()


def test_guessing_codes_is_stopped(ward: Client) -> None:
    """After many wrong codes an address has to wait, by form and by address; who has begun goes on."""
    kept = given(Recipe(seed=5), Recipe(seed=6))
    run = begin(ward, kept)
    guesser = browser()
    for number in range(CODES_FOR_AN_ADDRESS):
        assert guesser.get(f"/class/XX{number:04}/").status_code == 404
    assert guesser.post("/class/", {"code": kept.code}).status_code == 429
    assert guesser.get(f"/class/{kept.code}/").status_code == 429
    assert guesser.post(f"/class/{kept.code}/").status_code == 429
    assert ward.get(f"/class/{kept.code}/").status_code == 200
    send(ward, run, {"act": "finish"})
    assert begin(ward, kept) == "/practice/runs/2/"


def test_a_class_that_is_over_begins_nothing(ward: Client) -> None:
    """After the end the page says so and calls nobody in; what was begun is finished and read."""
    kept = given(Recipe(seed=5), Recipe(seed=6))
    run = begin(ward, kept)
    end_class(TEACHER, kept.id, now=NOW + timedelta(seconds=1))
    assert "The class is over" in text(ward.get(f"/class/{kept.code}/"))
    assert ward.post(f"/class/{kept.code}/").status_code == 409
    send(ward, run, {"act": "finish"})
    assert ward.get(f"{run}debrief/").status_code == 200


def test_an_account_may_join_a_class_without_its_name(demo: Client) -> None:
    """Whoever is known practises there as everybody does: the run is the browser's alone."""
    run = str(demo.post(ROOM).headers["Location"])
    assert demo.get(run).status_code == 200
    assert CODE in text(demo.get(run))
    assert PracticeRun.objects.get(id=run.split("/")[3]).student.startswith("class:")
    assert f'href="{run}"' not in text(demo.get("/practice/"))
    assert len(set_of(TEACHER, 1).patients) == 3


RECORD = "/class/record/"


def test_a_browser_has_a_record_of_its_own(ward: Client) -> None:
    """What was debriefed in classes adds up on a page and in a file, for the browser that did it."""
    kept = given(Recipe(seed=5, curriculum="first"), Recipe(seed=6))
    run = begin(ward, kept)
    assert RECORD in text(ward.get(f"/class/{kept.code}/"))
    assert "begins with the first debrief" in text(ward.get(RECORD))
    send(ward, run, {"act": "believe", "beliefs": [["acl_tear", 0.6]]}, {"act": "finish"})
    assert "run 1" in text(ward.get(RECORD)), "finished, and not debriefed"
    assert f'href="{RECORD}"' in text(ward.get(f"{run}debrief/"))
    again = begin(ward, kept)
    send(ward, again, {"act": "finish"})
    ward.get(f"{again}debrief/")
    page = text(ward.get(RECORD))
    assert "2 debriefed runs" in page
    assert "What comes again" in page
    assert "Year 4" in page, "leads back to the class"
    for closed in ("/practice/", "/protocol/"):
        assert f'href="{closed}"' not in page, "a pass does not open it"
    assert "believed" in text(ward.get(f"{RECORD}record.csv"))
    assert "acl_tear" in text(ward.get(f"{RECORD}record.csv"))


def test_a_browsers_record_is_nobody_elses(ward: Client) -> None:
    """Another browser, the teacher, nobody, and the next one at the device see nothing of it."""
    kept = given(Recipe(seed=5))
    run = begin(ward, kept)
    send(ward, run, {"act": "believe", "beliefs": [["acl_tear", 0.6]]}, {"act": "finish"})
    ward.get(f"{run}debrief/")
    other, teacher, nobody = browser(), browser(), browser()
    begin(other, kept)
    teacher.force_login(Account.objects.get(name="tim"))
    assert "begins with the first debrief" in text(other.get(RECORD))
    assert "acl_tear" not in text(other.get(f"{RECORD}record.csv"))
    for stranger in (teacher, nobody):
        assert "begins with the first debrief" in text(stranger.get(RECORD))
        assert "acl_tear" not in text(stranger.get(f"{RECORD}record.csv"))
    assert "begins with the first debrief" in text(teacher.get("/practice/record/"))
    ward.post(f"/class/{kept.code}/", {"step": "leave"})
    assert "begins with the first debrief" in text(ward.get(RECORD))


@dataclass(frozen=True)
class Bearer:
    """Whoever bears a pass, by the name that the store knows."""

    name: str


def test_a_browser_calls_in_a_patient_for_what_is_due(ward: Client) -> None:
    """What a browser missed calls in a patient beside its classes: its own alone, and in no sum of them."""
    kept = given(Recipe(seed=5, curriculum="first"))
    run = begin(ward, kept)
    assert ward.post(RECORD).status_code == 409, "nothing is due"
    own = Bearer(PracticeRun.objects.get().student)
    send(ward, run, {"act": "finish"})
    assert "Call in a patient" not in text(ward.get(RECORD))
    remembered(LAPSE, who=own)
    page = text(ward.get(RECORD))
    assert "Call in a patient for what is due" in page
    assert "Year 4" in page, "leads back to the class, not to what was called in"
    called = str(ward.post(RECORD).headers["Location"])
    assert ward.post(RECORD).headers["Location"] == called, "one goes on"
    assert f'href="{RECORD}"' in text(ward.get(called))
    for stranger in (browser(), browser()):
        assert stranger.post(RECORD).status_code == 409
        assert stranger.get(called).status_code in (302, 404)
    assert ClassRun.objects.count() == 1
    send(ward, called, {"act": "finish"})
    assert f'href="{RECORD}"' in text(ward.get(f"{called}debrief/"))
    for _ in range(MOST_A_DAY - 1):
        send(ward, str(ward.post(RECORD).headers["Location"]), {"act": "finish"})
    full = ward.post(RECORD)
    assert full.status_code == 409
    assert "what is due tomorrow still is" in text(full)
