"""Files for the bench: section drawing, field, winding card, magnet card, parts list."""

from fem_motor.export.drawing import section_dxf
from fem_motor.export.field_file import field_vtu
from fem_motor.export.field_grid import FieldGrid, field_grid

__all__ = ["FieldGrid", "field_grid", "field_vtu", "section_dxf"]
