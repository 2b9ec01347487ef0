"""Line drawings of a person and of what is done to the knee, computed as SVG from angles and lengths."""

from fabella.figure.tables import knee_outline, knee_sites

__all__ = ["knee_outline", "knee_sites"]
