"""Measuring on a picture without any script: chosen, pointed at, kept with its entry, seen by few."""

import io
import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from fabella.picture import MOST_BYTES
from fabella.store.clinic.models import Entry, Visit
from fabella.store.clinic.picture_models import MeasuredPicture
from fabella.web.measuring.draft import LONGEST_PX
from fabella.web.settings import LARGEST_BODY
from tests.web.clinic import add, begin, bring, sign, text_of
from tests.web.drawn_leg import FLEXION_DEG, POINTS, drawn_leg

READ = {"do": "read", "view": "bent_knee", "side": "right"}


@pytest.fixture
def visit(client: Client) -> str:
    """The address of an open visit."""
    return begin(client, add(client))


def send(
    client: Client, visit: str, content: bytes | None = None, name: str = "leg.jpg", **other: str
) -> Any:
    """Send a file as the page does."""
    file = SimpleUploadedFile(name, drawn_leg() if content is None else content)
    return client.post(f"{visit}measure/", {**READ, **other, "file": file})


def fields(answer: Any) -> dict[str, str]:
    """What a page would send back."""
    page = answer.content.decode()
    hidden = re.findall(r'<input type="hidden" name="([\w-]+)" value="([^"]*)"', page)
    chosen = re.findall(r'type="radio" name="(as)" value="(\w*)" checked', page)
    return dict((*hidden, *chosen))


def pointed(client: Client, visit: str, answer: Any) -> Any:
    """Press the picture at each landmark in order."""
    for x, y in POINTS.values():
        pressed = {"at.x": str(round(x)), "at.y": str(round(y))}
        answer = client.post(f"{visit}measure/", {**fields(answer), **pressed})
        assert answer.status_code == 200
    return answer


def test_a_picture_is_pointed_at_and_kept_as_any_other_entry(client: Client, visit: str) -> None:
    """Three presses give the true angle with its error; kept, it is in the visit with its picture."""
    answer = pointed(client, visit, send(client, visit))
    page = text_of(answer)
    assert re.search(r"110° ± [234]\.\d°", page)
    assert "Passive flexion: 110°" in page
    kept = client.post(f"{visit}measure/", {**fields(answer), "do": "keep"})
    assert kept.headers["Location"] == f"{visit}pictures/#picture-1"
    (finding,) = client.get(f"{visit}examination.json").json()["findings"]
    assert (finding["value"], finding["method"]) == (FLEXION_DEG, "photograph from the side, three landmarks")
    pictures = text_of(client.get(f"{visit}pictures/"))
    assert "Entered as Passive flexion, right: 110°" in pictures
    assert "Photograph from the side, three landmarks. Clinician at this machine" in pictures
    assert "Bent knee from the side, right" in text_of(client.get(visit))
    drawing = client.get(f"{visit}pictures/1.svg")
    assert drawing.headers["Content-Type"] == "image/svg+xml"
    assert b"110\xc2\xb0" in drawing.content
    for answer in (drawing, client.get(f"{visit}pictures/"), client.get(f"{visit}measure/")):
        assert answer.headers["Cache-Control"] == "no-store"
        assert "X-Keep" not in answer.headers
    patient = Visit.objects.get().patient_id
    assert "kept picture 1 with what was measured on it" in text_of(client.get(f"/patients/{patient}/trail/"))


def test_what_stands_there_is_shown_and_never_overwritten_unseen(client: Client, visit: str) -> None:
    """The page names the value whose place would be taken; one written since is kept, with a conflict."""
    answer = pointed(client, visit, send(client, visit))
    client.post(f"{visit}measure/", {**fields(answer), "do": "keep"})
    again = pointed(client, visit, send(client, visit))
    assert "takes the place of 110°, photograph from the side, three landmarks" in text_of(again)
    stale = {**fields(again), "base": "1", "p-malleolus": "300,600"}
    kept = client.post(f"{visit}measure/", {**stale, "do": "keep"})
    assert "Say which of the two holds" in text_of(client.get(kept.headers["Location"].partition("#")[0]))
    assert client.get(f"/api{visit}".rstrip("/")).json()["conflicts"] != []


def test_the_sign_that_was_asked_for_is_entered(client: Client, visit: str) -> None:
    """Whoever came from a sign finds it chosen; whoever then keeps the picture only enters nothing."""
    answer = pointed(client, visit, send(client, visit, sign="active_flexion"))
    form = fields(answer)
    assert form["as"] == "active_flexion"
    moved = client.post(f"{visit}measure/now/", {**form, "as": ""})
    assert fields(moved)["as"] == ""
    client.post(f"{visit}measure/", {**form, "as": "", "do": "keep"})
    assert client.get(f"{visit}examination.json").json().get("findings", []) == []
    assert "Kept without an entry" in text_of(client.get(f"{visit}pictures/"))


def test_a_mirror_image_is_kept_and_entered_as_one(client: Client, visit: str) -> None:
    """A leg bowed on the picture is knock-kneed if that is a mirror image, and the record says so."""
    form = fields(send(client, visit, view="standing_front"))
    points = {"p-iliac_spine": "400,60", "p-patella": "370,400", "p-ankle": "400,700"}
    assert "varus" in text_of(client.post(f"{visit}measure/now/", {**form, **points}))
    mirror = {**form, **points, "mirrored": "on", "as": "tibiofemoral_angle"}
    assert "valgus" in text_of(client.post(f"{visit}measure/now/", mirror))
    client.post(f"{visit}measure/", {**mirror, "do": "keep"})
    (finding,) = client.get(f"{visit}examination.json").json()["findings"]
    assert finding["method"] == "photograph from the front, three landmarks, mirrored"
    assert finding["value"] > 0, "valgus is positive"
    assert "Photograph from the front, three landmarks, mirrored." in text_of(client.get(f"{visit}pictures/"))


def test_sent_twice_it_is_kept_once(client: Client, visit: str) -> None:
    """A button that is pressed twice adds one picture and one entry."""
    form = {**fields(pointed(client, visit, send(client, visit))), "do": "keep"}
    first, second = (client.post(f"{visit}measure/", form) for _ in range(2))
    assert first.headers["Location"] == second.headers["Location"]
    assert (MeasuredPicture.objects.count(), Entry.objects.filter(change="set_finding").count()) == (1, 1)


def test_what_is_kept_names_nobody_and_is_bounded(client: Client, visit: str) -> None:
    """Of a large photograph with notes of its camera, a smaller picture without any of them is kept."""
    image = Image.new("RGB", (3000, 1000), (200, 190, 170))
    notes = Image.Exif()
    notes[0x010E], notes[0x013B] = "Ada Kettle", "Cy Ladle"
    file = io.BytesIO()
    image.save(file, format="JPEG", exif=notes, comment=b"of Ada Kettle")
    assert b"Ada Kettle" in file.getvalue()
    form = fields(send(client, visit, file.getvalue()))
    assert (form["width"], form["height"]) == (str(LONGEST_PX), str(round(LONGEST_PX / 3)))
    points = {"p-trochanter": "100,100", "p-epicondyle": "500,100", "p-malleolus": "500,500"}
    client.post(f"{visit}measure/", {**form, **points, "as": "passive_flexion", "do": "keep"})
    row = MeasuredPicture.objects.get()
    with Image.open(io.BytesIO(bytes(row.picture))) as kept:
        assert (max(kept.size), dict(kept.getexif()), "comment" in kept.info) == (LONGEST_PX, {}, False)
    assert b"Kettle" not in bytes(row.picture)


def test_a_large_film_is_taken_from_a_clinician_and_kept_without_an_entry(client: Client, visit: str) -> None:
    """A film larger than anything else that may be sent is read; the protocol has no sign for its angle."""
    file = io.BytesIO()
    Image.effect_noise((2400, 4800), 60).save(file, format="PNG", compress_level=0)
    assert len(file.getvalue()) > LARGEST_BODY
    form = fields(send(client, visit, file.getvalue(), "film.png", view="long_leg_film"))
    points = {"p-femoral_head": "400,150", "p-knee_centre": "420,800", "p-talus": "400,1500"}
    told = client.post(f"{visit}measure/now/", {**form, **points})
    assert "The protocol has no sign for it" in text_of(told)
    client.post(f"{visit}measure/", {**form, **points, "as": "", "do": "keep"})
    assert "Kept without an entry" in text_of(client.get(f"{visit}pictures/"))
    refused = client.post(f"{visit}bring/", {"base": "2", "file": SimpleUploadedFile("x", file.getvalue())})
    assert refused.status_code == 400, "anywhere else it is not even taken into memory"


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"GIF89a no such picture", "holds no picture that can be read"),
        (drawn_leg()[:2000], "is damaged or ends too early"),
        (bytes(MOST_BYTES + 200_000), "is larger than 100 MB"),
    ],
    ids=["empty", "another kind", "cut off", "too large"],
)
def test_a_file_that_is_no_picture_is_refused_in_one_message(
    client: Client, visit: str, content: bytes, says: str
) -> None:
    """Beside its field, with what was chosen still chosen; nothing is kept."""
    answer = send(client, visit, content)
    page = answer.content.decode()
    assert answer.status_code == 400
    assert page.lower().count(says.lower()) == 1
    assert 'value="right" checked' in page
    assert not MeasuredPicture.objects.exists()


def test_what_was_left_out_and_what_was_altered_is_refused(client: Client, visit: str) -> None:
    """Nothing chosen is told field by field; a picture that was exchanged, or of another visit, is none."""
    page = client.post(f"{visit}measure/", {"do": "read"}).content.decode()
    assert page.count("Is not chosen; choose one") == 3
    form = fields(send(client, visit))
    other = begin(client, add(client, number="K-2"))
    for address, sealed in ((visit, form["picture"][:-1] + "x"), (other, form["picture"]), (visit, "")):
        answer = client.post(f"{address}measure/", {**form, "picture": sealed, "do": "keep"})
        assert (answer.status_code, b"hoose the picture again" in answer.content) == (400, True)


def test_points_that_are_no_limb_are_told_by_name(client: Client, visit: str) -> None:
    """The value is withheld and nothing can be kept until the points are in order."""
    form = fields(send(client, visit))
    points = {"p-trochanter": "140,250", "p-epicondyle": "150,250", "p-malleolus": "500,600"}
    page = text_of(client.post(f"{visit}measure/now/", {**form, **points}))
    assert "greater trochanter" in page
    assert "Keep it" not in page
    answer = client.post(f"{visit}measure/", {**form, **points, "do": "keep", "as": "passive_flexion"})
    assert answer.status_code == 400
    assert not MeasuredPicture.objects.exists()


def test_a_limb_upside_down_is_told_in_the_terms_of_the_trade(client: Client, visit: str) -> None:
    """Each landmark has its name once, in what is wrong as where it is wrong."""
    form = fields(send(client, visit, view="standing_front"))
    points = {"p-iliac_spine": "400,60", "p-patella": "430,750", "p-ankle": "400,600"}
    page = text_of(client.post(f"{visit}measure/now/", {**form, **points}))
    assert "the middle of the patella lies below the middle of the ankle; turn the picture upright" in page
    assert "times as long as from middle of the patella to middle of the ankle is no limb" in page
    assert "middle of the middle" not in page


def test_a_form_from_elsewhere_is_refused(client: Client, visit: str) -> None:
    """Neither a picture nor a measurement is taken without the token of our own page."""
    form = fields(pointed(client, visit, send(client, visit)))
    stranger = Client(SERVER_NAME="localhost", enforce_csrf_checks=True)
    form.pop("csrfmiddlewaretoken", None)
    for name in ("measure/", "measure/now/"):
        assert stranger.post(f"{visit}{name}", {**form, "do": "keep"}).status_code == 403
    assert not MeasuredPicture.objects.exists()


def test_a_signed_visit_takes_no_picture(client: Client) -> None:
    """Its page of pictures can be read, and measuring leads back to the visit."""
    visit = begin(client, add(client))
    bring(client, visit)
    sign(client, visit)
    assert client.get(f"{visit}measure/").headers["Location"] == visit
    page = client.get(f"{visit}pictures/")
    assert (page.status_code, "Measure on a picture" in text_of(page)) == (200, False)
    assert client.get(f"{visit}pictures/1.svg").status_code == 404
