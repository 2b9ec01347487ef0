"""An image is proposed where its kind, its knee and all that it shows are certain; else it is asked about."""

import tomllib
from importlib.resources import files

import pytest

from fabella.anatomy import Side, load_lesions
from fabella.dictation import Became
from fabella.dictation.images import OF_WHICH_KNEE, ONLY_DENIED, SHOWN_TWICE
from fabella.record import ImageKind
from tests.dictation.spoken import LEFT, RIGHT, found, read

DATA = tomllib.loads(files("fabella.dictation").joinpath("data", "images.toml").read_text("utf-8"))


def taken(text: str) -> list[tuple[str, Side, tuple[str, ...] | None]]:
    """The images of a text: what was taken, of which knee, what it shows."""
    return [(str(each.image), each.side, each.shows) for each in read(text).imaging]


@pytest.mark.parametrize(
    ("text", "kind", "shows"),
    [
        ("MRI left knee: ACL torn, menisci intact.", "mri", ("acl_tear",)),
        (
            "MRI of the left knee in March 2026: ACL tear, medial meniscal tear, otherwise normal.",
            "mri",
            ("acl_tear", "medial_meniscus_tear"),
        ),
        ("Left knee MRI shows torn medial meniscus, ACL and PCL intact.", "mri", ("medial_meniscus_tear",)),
        ("XR L knee NAD.", "radiograph", ()),
        ("X-ray left knee 2 weeks ago: tibial plateau fracture.", "radiograph", ("tibial_plateau_fracture",)),
        ("X-rays of the left knee show osteoarthritis, no loose bodies.", "radiograph", ("osteoarthritis",)),
        ("Ultrasound of the left knee showed a popliteal cyst.", "ultrasound", ("popliteal_cyst",)),
        ("CT left knee: tibial spine avulsion.", "ct", ("tibial_spine_avulsion",)),
        ("Doppler left leg: no DVT.", "vein_ultrasound", ()),
        ("Doppler left leg: DVT.", "vein_ultrasound", ("deep_vein_thrombosis",)),
    ],
)
def test_what_was_taken_and_all_that_it_shows_is_proposed(
    text: str, kind: str, shows: tuple[str, ...]
) -> None:
    """What is not named was not seen, as in the record; the words are kept, and nothing is left open."""
    assert taken(text) == [(kind, LEFT, shows)]
    assert [each.words for each in read(text).imaging] == [text.removesuffix(".")]
    assert (read(text).is_complete, read(text).findings, dict(read(text).history)) == (True, (), {})
    assert read(text).context.onset_days is None


def test_both_knees_have_an_image_each() -> None:
    """One sentence may tell of both."""
    text = "X-rays of both knees normal."
    assert taken(text) == [("radiograph", RIGHT, ()), ("radiograph", LEFT, ())]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("MRI in March: ACL torn.", OF_WHICH_KNEE),
        ("Films of today show no fracture.", OF_WHICH_KNEE),
        ("Left knee. MRI in March: ACL torn.", OF_WHICH_KNEE),
        ("MRI right and left knee: ACL torn.", OF_WHICH_KNEE),
        ("X-ray right knee: no fracture.", ONLY_DENIED),
        ("MRI right knee: ACL intact.", ONLY_DENIED),
    ],
)
def test_an_image_of_no_knee_or_of_no_result_is_asked_about(text: str, why: str) -> None:
    """A side is never guessed, and where one thing was not seen another may have been."""
    assert taken(text) == []
    assert why in {span.why for span in read(text).open_spans}


@pytest.mark.parametrize(
    "text",
    [
        "MRI left knee: possible medial meniscal tear.",
        "MRI left knee: partial ACL tear.",
        "MRI left knee normal, OA.",
        "MRI left knee: no fracture and osteoarthritis.",
        "MRI and X-ray left knee normal.",
        "MRI left knee for ACL tear.",
        "MRI left knee awaited, ACL torn last year.",
        "No MRI, ACL torn left knee.",
        "Left ACL tear last year, X-ray today.",
        "X-ray left knee last week, ACL torn last year.",
        "MRI left knee: fracture.",
        "MRI left knee: ACL.",
        "MRI left knee requested.",
    ],
)
def test_any_doubt_leaves_the_whole_image_open(text: str) -> None:
    """One word too many, or another time, is enough."""
    assert taken(text) == []
    assert not read(text).is_complete
    assert read(text).findings == ()


def test_two_images_of_one_kind_and_knee_are_asked_about() -> None:
    """The record keeps the latest, and nobody said which that is."""
    text = "MRI left knee: ACL torn. MRI left knee normal. MRI right knee normal."
    assert taken(text) == [("mri", RIGHT, ())]
    assert [span.why for span in read(text).open_spans] == [SHOWN_TWICE, SHOWN_TWICE]


def test_what_hands_find_beside_an_image_is_found() -> None:
    """The image is one span of the text, and no finding of the examination."""
    text = "CT right knee normal. Right Lachman 2+."
    assert found(text, RIGHT) == {"lachman": "2+"}
    images = [read(text).words(span) for span in read(text).spans if span.became is Became.IMAGE]
    assert images == ["CT right knee normal"]


@pytest.mark.parametrize(
    ("name", "lesion"), [(name, lesion) for lesion, names in DATA["lesion"].items() for name in names]
)
def test_every_name_of_a_lesion_is_one_of_the_record(name: str, lesion: str) -> None:
    """Whatever the data call a lesion is understood, and can be held by an examination."""
    assert lesion in load_lesions()
    assert taken(f"MRI left knee: {name}.") == [("mri", LEFT, (lesion,))]


@pytest.mark.parametrize(
    ("name", "kind"), [(name, kind) for kind, names in DATA["kind"].items() for name in names]
)
def test_every_name_of_an_image_is_one_of_the_record(name: str, kind: str) -> None:
    """Whatever the data call an image is understood, and is one of the kinds."""
    assert taken(f"{name.capitalize()} right knee normal.") == [(str(ImageKind(kind)), RIGHT, ())]


@pytest.mark.parametrize(
    ("text", "limited"),
    [
        ("MRI left knee, limited by motion: ACL torn.", [True]),
        ("X-ray left knee, limited views, normal.", [True]),
        ("Poor quality XR L knee NAD.", [True]),
        ("MRI left knee: ACL torn.", [False]),
        ("MRI left knee: no motion artefact, ACL torn.", []),
    ],
)
def test_an_image_of_limited_value_is_read_as_such(text: str, limited: list[bool]) -> None:
    """What is denied of its quality is left open."""
    assert [each.limited for each in read(text).imaging] == limited
