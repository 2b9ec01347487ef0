"""Line drawings of a person and of what is done to the knee, computed as SVG from angles and lengths."""

from fabella.figure.figures import drawn_signs, position_figure, sign_figure
from fabella.figure.frontal import FrontPose
from fabella.figure.living import living_figure
from fabella.figure.motion import Motion, motion_svg, motion_tree
from fabella.figure.pose import Leg, LegPose, build_leg
from fabella.figure.seen_legs import SeenLeg, SeenLegs, View
from fabella.figure.stride import Thrust, WalkingLeg
from fabella.figure.tables import knee_outline, knee_sites
from fabella.figure.tested import Play, Played, play
from fabella.figure.walking import Walk, walk

__all__ = [
    "FrontPose",
    "Leg",
    "LegPose",
    "Motion",
    "Play",
    "Played",
    "SeenLeg",
    "SeenLegs",
    "Thrust",
    "View",
    "Walk",
    "WalkingLeg",
    "build_leg",
    "drawn_signs",
    "knee_outline",
    "knee_sites",
    "living_figure",
    "motion_svg",
    "motion_tree",
    "play",
    "position_figure",
    "sign_figure",
    "walk",
]
