"""Files for the bench: section drawing, field, winding card, magnet card, parts list."""

from fem_motor.export.drawing import section_dxf

__all__ = ["section_dxf"]
