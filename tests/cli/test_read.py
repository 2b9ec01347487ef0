"""What ``fabella read`` prints of a dictation in which an image is told."""

import json
import os
from pathlib import Path
from threading import Thread

from tests.cli.running import call

TORN = "MRI left knee: ACL torn, otherwise normal. Left Lachman 2+."
NORMAL = "X-ray right knee normal."


def test_an_image_has_its_own_heading() -> None:
    """It is told with its knee and with what it shows, and leaves nothing open."""
    left = call("read", TORN)
    assert left.code == 0
    assert "Left knee, MRI: Anterior cruciate ligament tear; day not stated." in left.out
    normal = call("read", NORMAL).out
    assert "Right knee, plain radiographs: Nothing abnormal seen; day not stated." in normal


def test_an_image_is_written_into_the_examination() -> None:
    """The file holds what it shows, an empty list where that is nothing."""
    (image,) = json.loads(call("read", "--examination", TORN).out)["imaging"]
    assert image == {"image": "mri", "side": "left", "shows": ["acl_tear"], "words": TORN[:41]}
    (image,) = json.loads(call("read", "--examination", NORMAL).out)["imaging"]
    assert image["shows"] == []


def test_images_stand_in_the_json() -> None:
    """An image that shows nothing is told apart from one that nobody has read."""
    tree = call("read", "--json", NORMAL).json
    assert [(each["image"], each["side"], each["shows"]) for each in tree["imaging"]] == [
        ("radiograph", "right", [])
    ]
    assert [span["became"] for span in tree["spans"]] == ["image", "frame"]


def test_an_image_of_no_named_knee_is_asked_about() -> None:
    """The question leaves the command with exit code 1, and nothing is written of it."""
    left = call("read", "--examination", "MRI in March: ACL torn.")
    assert left.code == 1
    assert "of which knee?" in left.err
    assert "imaging" not in json.loads(left.out)


def test_a_pipe_that_is_named_is_read(tmp_path: Path) -> None:
    """What a shell makes of <(…) is a pipe, not a word that was dictated."""
    pipe = tmp_path / "dictated"
    os.mkfifo(pipe)
    writer = Thread(target=lambda: pipe.write_text(TORN, "utf-8"), daemon=True)
    writer.start()
    assert call("read", pipe) == call("read", TORN)
    writer.join(timeout=20)


def test_a_folder_is_no_dictation(tmp_path: Path) -> None:
    """Its name is not taken for something that was said."""
    left = call("read", tmp_path)
    assert (left.code, left.err) == (2, f"fabella: {tmp_path}: is a directory; name a file in it\n")
