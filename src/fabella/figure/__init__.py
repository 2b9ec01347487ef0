"""Line drawings of a person and of what is done to the knee, computed as SVG from angles and lengths."""

from fabella.figure.figures import drawn_signs, position_figure, sign_figure
from fabella.figure.fluid import Swept, Tapped, sweep, tap
from fabella.figure.frontal import FrontPose
from fabella.figure.living import living_figure
from fabella.figure.motion import Motion, motion_svg, motion_tree
from fabella.figure.patella import Ease, Glided, Tracked, glide_patella, track_patella
from fabella.figure.pose import Leg, LegPose, build_leg
from fabella.figure.ranging import Ranged, Ranging, move_knee
from fabella.figure.seen_legs import SeenLeg, SeenLegs, View
from fabella.figure.shifting import Shifted, Shifting, shift
from fabella.figure.stride import Thrust, WalkingLeg
from fabella.figure.tables import knee_outline, knee_sites
from fabella.figure.tested import Play, Played, play
from fabella.figure.turning import Turned, turn_foot
from fabella.figure.walking import Walk, walk, walk_words

__all__ = [
    "Ease",
    "FrontPose",
    "Glided",
    "Leg",
    "LegPose",
    "Motion",
    "Play",
    "Played",
    "Ranged",
    "Ranging",
    "SeenLeg",
    "SeenLegs",
    "Shifted",
    "Shifting",
    "Swept",
    "Tapped",
    "Thrust",
    "Tracked",
    "Turned",
    "View",
    "Walk",
    "WalkingLeg",
    "build_leg",
    "drawn_signs",
    "glide_patella",
    "knee_outline",
    "knee_sites",
    "living_figure",
    "motion_svg",
    "motion_tree",
    "move_knee",
    "play",
    "position_figure",
    "shift",
    "sign_figure",
    "sweep",
    "tap",
    "track_patella",
    "turn_foot",
    "walk",
    "walk_words",
]
