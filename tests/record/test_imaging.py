"""Which images tell of the complaint that a knee is examined for, and which of another time."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from fabella.anatomy import Side
from fabella.record import (
    Acuity,
    Context,
    Examination,
    ImageKind,
    Imaging,
    Key,
    Origin,
    Part,
    Procedure,
    ProcedureName,
    SetAside,
    change_to,
    statements,
    with_statements,
)

TODAY = date(2025, 6, 30)
OPERATED = Procedure(name=ProcedureName.WASHOUT, sides=(Side.RIGHT,), on=TODAY - timedelta(days=40))


def film(days_ago: int | None, side: Side = Side.RIGHT) -> Imaging:
    """A film that showed nothing, so many days before the examination."""
    on = None if days_ago is None else TODAY - timedelta(days=days_ago)
    return Imaging(image=ImageKind.RADIOGRAPH, side=side, on=on, shows=())


def examined(image: Imaging, **context: object) -> Examination:
    """An examination of today with one image."""
    return Examination(
        id="one",
        origin=Origin.INVENTED,
        examined_on=TODAY,
        context=Context(**context),  # type: ignore[arg-type]  # as each test says
        imaging=(image,),
    )


@pytest.mark.parametrize(
    ("days_ago", "context", "counts"),
    [
        (None, {"onset_days": 3.0}, True),
        (3, {"onset_days": 3.0}, True),
        (4, {"onset_days": 3.0}, True),
        (5, {"onset_days": 3.0}, False),
        (46, {"onset_days": 42.0}, True),
        (47, {"onset_days": 42.0}, False),
        (14, {"acuity": Acuity.ACUTE}, True),
        (15, {"acuity": Acuity.ACUTE}, False),
        (85, {"acuity": Acuity.SUBACUTE}, False),
        (85, {"acuity": Acuity.CHRONIC}, True),
        (364, {}, True),
        (365, {"onset_days": 2000.0}, True),
        (366, {"onset_days": 2000.0}, False),
        (40, {"onset_days": 200.0, "procedure": OPERATED}, True),
        (41, {"onset_days": 200.0, "procedure": OPERATED}, False),
    ],
)
def test_an_image_from_before_the_complaint_or_an_operation_does_not_count(
    days_ago: int | None, context: dict[str, object], counts: bool
) -> None:
    """A film from before the fall says nothing about the fall; the other knee's never does.

    Days are told in round numbers: "yesterday" may be the day before, and "six weeks" 46 days. Without a
    number an acute complaint is two weeks old at most, a subacute one twelve.
    """
    examination = examined(film(days_ago), **context)
    assert bool(examination.images_of(Side.RIGHT)) is counts
    assert examination.images_of(Side.LEFT) == ()


def test_an_operation_on_the_other_knee_ages_no_image() -> None:
    """What was done to the right knee leaves the film of the left as it was."""
    assert examined(film(41, Side.LEFT), procedure=OPERATED).images_of(Side.LEFT)


def test_without_a_day_of_examination_every_image_counts() -> None:
    """Where nobody knows when, nothing is known to be too old."""
    whenever = Examination(id="one", origin=Origin.INVENTED, imaging=(film(5000),))
    assert whenever.images_of(Side.RIGHT) == whenever.imaging


@pytest.mark.parametrize("shows", [None, (), ("acl_tear",)])
def test_an_image_is_stated_and_taken_back(shows: tuple[str, ...] | None) -> None:
    """An image is one statement, for its kind and side; not read yet is not the same as nothing seen."""
    image = Imaging(image=ImageKind.MRI, side=Side.LEFT, shows=shows, words="As dictated.")
    blank = Examination(id="one", origin=Origin.INVENTED)
    key = Key(Part.IMAGING, "mri", Side.LEFT)
    stated = statements(with_statements(blank, {key: image}))
    assert stated == {key: image}
    place = {"change": "set_imaging", "image": "mri", "side": "left"}
    told = {} if shows is None else {"shows": list(shows)}
    assert change_to(key, image) == {**place, "result": {**told, "words": "As dictated."}}
    assert change_to(key, None) == {**place, "result": None}


@pytest.mark.parametrize(
    ("days_ago", "shows", "counts"),
    [(8, (), True), (9, (), False), (9, ("deep_vein_thrombosis",), True), (9, None, True)],
)
def test_veins_without_a_clot_say_nothing_of_today_after_eight_days(
    days_ago: int, shows: tuple[str, ...] | None, counts: bool
) -> None:
    """A leg that swells on is scanned anew after 6 to 8 days (NICE NG158); a clot once seen was there."""
    scan = replace(film(days_ago), image=ImageKind.VEIN_ULTRASOUND, shows=shows)
    assert bool(examined(scan, onset_days=20.0).images_of(Side.RIGHT)) is counts


def test_why_an_image_is_set_aside_is_told() -> None:
    """The operation comes first, then the complaint, then the years."""

    def why(days_ago: int, **context: object) -> SetAside | None:
        image = film(days_ago)
        return examined(image, **context).set_aside(image)

    assert why(500, onset_days=20.0, procedure=OPERATED) is SetAside.BEFORE_OPERATION
    assert why(500, onset_days=20.0) is SetAside.BEFORE_COMPLAINT
    assert why(500, onset_days=2000.0) is SetAside.TOO_OLD
    assert why(300, onset_days=2000.0) is None


@pytest.mark.parametrize(
    ("shows", "weighed"), [((), False), (("tibial_plateau_fracture",), False), (None, True)]
)
def test_an_image_of_limited_value_is_seen_and_not_weighed(
    shows: tuple[str, ...] | None, *, weighed: bool
) -> None:
    """It tells of this complaint, and rules nothing out; one that nobody read has shown nothing yet."""
    blurred = replace(film(3), shows=shows, limited=True)
    examination = examined(blurred, onset_days=3.0)
    assert examination.images_seen(Side.RIGHT) == (blurred,)
    assert (examination.images_of(Side.RIGHT) == (blurred,)) is weighed
    assert (examination.set_aside(blurred) is None) is weighed
    undated = replace(film(None), shows=shows, limited=True)
    assert (examination.set_aside(undated) is None) is weighed


def test_that_an_image_is_too_old_counts_before_its_quality() -> None:
    """A blurred film from before the fall tells nothing of the fall, whatever it shows."""
    old = replace(film(500), shows=("tibial_plateau_fracture",), limited=True)
    examination = examined(old, onset_days=20.0)
    assert examination.set_aside(old) is SetAside.BEFORE_COMPLAINT
    assert examination.images_seen(Side.RIGHT) == ()
