"""An image that is dictated at the bedside."""

import json
from typing import Any

from django.test import Client


def read(client: Client, text: str) -> Any:
    """Return what a text is proposed to say."""
    return client.post("/api/dictation", json.dumps({"text": text}), content_type="application/json").json()


def test_an_image_that_is_dictated_is_proposed_as_the_change_that_states_it(demo: Client) -> None:
    """Confirmed it is entered as it was said: with what it shows, and in the words that told of it."""
    proposed = read(demo, "MRI left knee: ACL torn.")
    assert proposed["complete"]
    (image,) = proposed["imaging"]
    words = "MRI left knee: ACL torn"
    assert image["words"] == f"MRI: Anterior cruciate ligament tear; day not stated. Report: “{words}”."
    operation = {"id": "image-as-it-was-said", "base": 0, **image["change"]}
    body = json.dumps({"operations": [operation]})
    saved = demo.post("/api/visits/10/operations", body, content_type="application/json").json()
    assert [each["outcome"] for each in saved["results"]] == ["saved"]
    stated = {"image": "mri", "side": "left", "shows": ["acl_tear"], "words": words}
    assert demo.get("/api/visits/10").json()["examination"]["imaging"] == [stated]


def test_an_image_of_an_unnamed_knee_is_asked_about(demo: Client) -> None:
    """Nothing is proposed for either knee, and the place is open."""
    proposed = read(demo, "MRI: ACL torn.")
    assert proposed["imaging"] == []
    assert any(each["open"] and "of which knee" in each["why"] for each in proposed["spans"])
