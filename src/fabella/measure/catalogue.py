"""Views and sides by name."""

from fabella.errors import InputError, suggestion
from fabella.measure.films import JOINT_LINE_FILM, LONG_LEG_FILM
from fabella.measure.photographs import (
    BENT_KNEE,
    HAMSTRINGS,
    Q_ANGLE,
    STANDING_FRONT,
    STRAIGHT_KNEE,
    THIGH_FOOT,
)
from fabella.measure.views import LimbSide, View

VIEWS = (
    BENT_KNEE,
    STRAIGHT_KNEE,
    HAMSTRINGS,
    STANDING_FRONT,
    Q_ANGLE,
    THIGH_FOOT,
    LONG_LEG_FILM,
    JOINT_LINE_FILM,
)
"""Every view, those from the side first."""


def view_of(name: str) -> View:
    """Return a view by its id.

    Raises
    ------
    InputError
        When there is none of that name.
    """
    for view in VIEWS:
        if view.id == name:
            return view
    remedy = suggestion(name, (view.id for view in VIEWS))
    raise InputError.of(place="view", value=name, says="is not known", remedy=remedy)


def side_of(name: str) -> LimbSide:
    """Return a side by its name.

    Raises
    ------
    InputError
        When it is none.
    """
    if name == "right":
        return "right"
    if name == "left":
        return "left"
    raise InputError.of(place="side", value=name[:10], says="is no side", remedy="right or left")
