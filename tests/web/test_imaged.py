"""Images at the bedside: what can be stated, how they are told, and what is told of a disagreement."""

import json
from html import unescape
from typing import Any

from django.test import Client

from fabella.anatomy import load_lesions
from fabella.evidence.knowledge import load_knowledge
from fabella.protocol import load_protocol
from fabella.record import ImageKind
from fabella.web.bedside.signs import bedside_tree

WITH_MRI, DISPUTED = 8, 9  # visits of the invented clinic
TREE = bedside_tree(load_protocol())


def send(client: Client, result: dict[str, Any] | None, *, number: int, visit: int, base: int) -> Any:
    """State or take back plain radiographs of the right knee, as another device of the same person."""
    stated = {"change": "set_imaging", "image": "radiograph", "side": "right", "result": result}
    body = {"operations": [{"id": f"image-of-tests-{number:04}", "base": base, **stated}]}
    address = f"/api/visits/{visit}/operations"
    return client.post(address, json.dumps(body), content_type="application/json").json()


def page(client: Client, address: str) -> str:
    """Return a page as it is read, in one line."""
    return " ".join(unescape(client.get(address).content.decode()).split())


def test_every_image_is_offered_with_what_the_tables_say_it_shows() -> None:
    """Each kind once, in order, with its lesions; there is none that can show nothing."""
    offered = {each["id"]: each["shows"] for each in TREE["images"]}
    assert list(offered) == list(ImageKind)
    rows = load_knowledge().images
    for image, shows in offered.items():
        assert shows == [row.lesion for row in rows if row.image == image]
        assert shows, image
        assert set(shows) <= set(TREE["lesions"])
    assert "tibial_plateau_fracture" in offered["ct"]
    assert "acl_tear" in offered["mri"]
    assert "acl_tear" not in offered["radiograph"]


def test_whatever_a_file_can_state_has_a_name_at_the_bedside() -> None:
    """A file or a dictation may state a lesion that no table has for its image."""
    assert TREE["lesions"] == {each.id: each.name for each in load_lesions().values()}


def test_a_visit_shows_its_images_and_how_they_weigh(demo: Client) -> None:
    """What was taken, what it shows and the words of its report; a reason leads to what is known of MRI."""
    shown = page(demo, f"/visits/{WITH_MRI}/")
    assert "<dt>Right knee, MRI</dt>" in shown
    assert "Report: “Complete tear of the anterior cruciate ligament." in shown
    assert 'href="/evidence/images/mri/#acl_tear">seen on MRI</a>' in shown
    assert 'id="acl_tear"' in page(demo, "/evidence/images/mri/")


def test_the_panel_beside_an_examination_tells_why_an_old_image_does_not_count(demo: Client) -> None:
    """An image from before this complaint is said to be left out, and one since then is not."""
    base = demo.get(f"/api/visits/{WITH_MRI}").json()["version"]
    send(demo, {"on": "2019-02-01", "shows": []}, number=1, visit=WITH_MRI, base=base)
    panel = page(demo, f"/visits/{WITH_MRI}/comes-to/")
    (hint,) = (each for each in panel.split('<p class="hint">') if "Right knee, plain radiographs" in each)
    assert "1 February 2019: nothing abnormal seen. From before this complaint, and not weighed." in hint
    send(demo, None, number=2, visit=WITH_MRI, base=base + 1)
    assert "Right knee, plain radiographs" not in page(demo, f"/visits/{WITH_MRI}/comes-to/")


def test_two_who_read_an_image_differently_are_shown_both(demo: Client) -> None:
    """Both readings stand there in words, and the one that is chosen holds."""
    base = demo.get(f"/api/visits/{DISPUTED}").json()["version"]
    send(demo, {"shows": ["tibial_plateau_fracture"]}, number=1, visit=DISPUTED, base=base)
    other = Client(SERVER_NAME="localhost")
    answer = send(other, {"on": "2026-01-02", "shows": []}, number=2, visit=DISPUTED, base=base)
    assert [each["outcome"] for each in answer["results"]] == ["conflict"]
    (conflict,) = (each for each in answer["conflicts"] if each["part"] == "imaging")
    shown = page(demo, f"/visits/{DISPUTED}/")
    assert "<h3>Plain radiographs, right knee</h3>" in shown
    assert "<b>Tibial plateau or proximal tibial fracture; day not stated.</b>" in shown
    assert "<b>2 January 2026: nothing abnormal seen.</b>" in shown
    chosen = {
        "part": "imaging",
        "name": "radiograph",
        "side": "right",
        "seen": answer["version"],
        "version": conflict["beside"][0]["version"],
    }
    assert demo.post(f"/visits/{DISPUTED}/settle/", chosen).status_code == 302
    state = demo.get(f"/api/visits/{DISPUTED}").json()
    assert [each["part"] for each in state["conflicts"]] == ["finding"]
    assert {"image": "radiograph", "side": "right", "on": "2026-01-02", "shows": []} in state["examination"][
        "imaging"
    ]


def test_taking_an_image_back_beside_somebody_elses_reading_is_shown_as_such(demo: Client) -> None:
    """That nothing is stated is one of the two that disagree."""
    base = demo.get(f"/api/visits/{WITH_MRI}").json()["version"]
    send(demo, {"shows": []}, number=1, visit=WITH_MRI, base=base)
    version = send(demo, None, number=2, visit=WITH_MRI, base=base + 1)["version"]
    other = Client(SERVER_NAME="localhost")
    answer = send(other, {"words": "No fracture."}, number=3, visit=WITH_MRI, base=version - 1)
    assert [each["outcome"] for each in answer["results"]] == ["conflict"]
    shown = page(demo, f"/visits/{WITH_MRI}/")
    assert "<b>nothing stated</b>" in shown
    assert "<b>Not read yet; day not stated. Report: “No fracture.”</b>" in shown
