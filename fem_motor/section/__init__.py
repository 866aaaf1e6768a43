"""The cross-section of a motor: labelled regions of lines and arcs."""

from fem_motor.section.assembly import GAP_POSITION, CrossSection, cross_section
from fem_motor.section.rotor import OUTSIDE_MARGIN
from fem_motor.section.shapes import Arc, Edge, HalfCellOutline, Line, Point, Region

__all__ = [
    "GAP_POSITION",
    "OUTSIDE_MARGIN",
    "Arc",
    "CrossSection",
    "Edge",
    "HalfCellOutline",
    "Line",
    "Point",
    "Region",
    "cross_section",
]
