"""An image that is dictated at the bedside."""

import json

from django.test import Client


def test_an_image_that_is_dictated_is_shown_as_open(demo: Client) -> None:
    """The page enters no image from what was said, and does not let it go unseen."""
    text = json.dumps({"text": "MRI left knee: ACL torn."})
    proposed = demo.post("/api/dictation", text, content_type="application/json").json()
    assert not proposed["complete"]
    assert [(each["words"], each["became"]) for each in proposed["spans"] if each["open"]] == [
        ("MRI left knee: ACL torn", "ambiguous")
    ]
