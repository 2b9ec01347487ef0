"""What has been taken of this complaint is not proposed again, and what it showed is gone by."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fabella.advise.images import NOT_TAKEN_FOR
from fabella.anatomy import Side
from fabella.record import Acuity, Examination, ImageKind, Imaging, Mechanism
from fabella.workup import OrderedBy, run_workup
from tests.advise.cases import LEFT, RIGHT
from tests.flags.build import exam

SNAPPING = exam({"lateral_snap": True, "effusion": False}, age=11, acuity=Acuity.CHRONIC, complaint=(RIGHT,))


def images(examination: Examination) -> list[str]:
    """The images named for a knee, in their order."""
    advice = run_workup(examination).advice
    assert advice is not None
    return [each.id for each in (*advice.first, *advice.images)]


def imaged(image: ImageKind, side: Side = RIGHT, **what: object) -> Examination:
    """The snapping knee with one image."""
    return replace(SNAPPING, imaging=(Imaging(image=image, side=side, **what),))  # type: ignore[arg-type]


@pytest.mark.parametrize("shows", [None, ()])
def test_films_that_were_taken_are_not_proposed_again(shows: tuple[str, ...] | None) -> None:
    """Read or not yet read, the films are there: the scan stands first then."""
    assert images(SNAPPING)[:2] == ["radiograph", "mri"]
    assert images(imaged(ImageKind.RADIOGRAPH, shows=shows))[0] == "mri"


def test_films_of_the_other_knee_or_of_another_time_are_taken_again() -> None:
    """They tell nothing of this knee now."""
    assert images(imaged(ImageKind.RADIOGRAPH, LEFT, shows=()))[0] == "radiograph"
    long_ago = replace(
        imaged(ImageKind.RADIOGRAPH, shows=(), on=date(2020, 1, 1)), examined_on=date(2025, 1, 1)
    )
    assert images(long_ago)[0] == "radiograph"


def test_a_scan_that_was_read_leaves_no_image_to_name() -> None:
    """The disc was seen: neither the scan nor the films before it are named."""
    assert images(imaged(ImageKind.MRI, shows=("discoid_lateral_meniscus",))) == []


def test_computed_tomography_is_named_by_no_probability() -> None:
    """Quick and sharp as it is, it follows plain films (ACR Acute Trauma to the Knee, 2019)."""
    fallen = exam(
        {"bony_tenderness": True, "effusion": "large", "unable_to_weight_bear": True},
        age=52,
        days=1,
        acuity=Acuity.ACUTE,
        mechanism=Mechanism.FALL_ON_KNEE,
    )
    film = Imaging(image=ImageKind.RADIOGRAPH, side=RIGHT, shows=())
    walks = exam(
        {"bony_tenderness": True, "effusion": "large", "unable_to_weight_bear": False},
        age=52,
        days=1,
        acuity=Acuity.ACUTE,
        mechanism=Mechanism.FALL_ON_KNEE,
    )
    for examination in (fallen, replace(walks, imaging=(film,))):
        assert "ct" not in images(examination)
    assert images(fallen)[0] == "radiograph"
    filmed = run_workup(replace(fallen, imaging=(film,))).advice
    assert filmed is not None
    asked = {each.id: each.purpose for each in filmed.first}
    assert asked == {
        "ct": OrderedBy("Injured knee that cannot bear weight, with tender bone or a large effusion"),
        "mri": OrderedBy("Probable blood in the joint after an injury"),
    }


def test_films_of_limited_value_are_advised_again() -> None:
    """They rule nothing out, and are taken once more before a scan."""
    assert images(imaged(ImageKind.RADIOGRAPH, shows=(), limited=True))[0] == "radiograph"


def test_what_a_scan_also_shows_is_no_reason_to_take_it() -> None:
    """Wear is looked for on films; MRI that was taken is weighed for it, and is not named for it."""
    worn = exam({"crepitus": "coarse"}, age=60, acuity=Acuity.CHRONIC, complaint=(RIGHT,))
    advice = run_workup(worn).advice
    assert advice is not None
    scan = next(each for each in advice.images if each.id == "mri")
    assert [source for source in scan.sources if "Menashe" in source or "menashe" in source] == []
    assert {each.lesion for each in scan.outlooks}.isdisjoint(NOT_TAKEN_FOR["mri"])
    scanned = replace(
        worn, imaging=(Imaging(image=ImageKind.MRI, side=RIGHT, shows=("osteoarthritis", "popliteal_cyst")),)
    )

    def wear(examination: Examination) -> float:
        conclusion = run_workup(examination).conclusion
        assert conclusion is not None
        return next(
            each.probability for each in conclusion.knee(RIGHT).any_level() if each.lesion == "osteoarthritis"
        )

    assert wear(scanned) > wear(worn)


def test_what_an_image_told_as_well_is_no_reason_for_another() -> None:
    """A cyst that MRI showed needs no ultrasound; one that hands feel is first looked at with it."""
    behind = exam({"popliteal_mass": True, "effusion": "small"}, age=58, acuity=Acuity.CHRONIC)
    assert "ultrasound" in images(behind)
    scanned = replace(behind, imaging=(Imaging(image=ImageKind.MRI, side=RIGHT, shows=("popliteal_cyst",)),))
    assert "ultrasound" not in images(scanned)
    unread = replace(behind, imaging=(Imaging(image=ImageKind.MRI, side=RIGHT),))
    assert "ultrasound" in images(unread)
