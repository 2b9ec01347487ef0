"""One picture with what was measured on it, for the tests of what the clinic keeps."""

from fabella.measure import Frame, Point, measure_on_picture, view_of
from fabella.store.clinic.picturing import Taken

ID = "picture-for-tests-000001"
FLEXION = {
    "sign": "passive_flexion",
    "side": "right",
    "value": 90,
    "unit": "deg",
    "method": "photograph from the side, three landmarks",
}
MEASURED = measure_on_picture(
    view_of("bent_knee"),
    side="right",
    points={"trochanter": Point(100, 200), "epicondyle": Point(500, 200), "malleolus": Point(500, 600)},
    frame=Frame(width_px=800, height_px=700),
)
TAKEN = Taken(measurement=MEASURED, jpeg=b"\xff\xd8\xffdrawn", remarks=("Drawn.",), finding=FLEXION)
