"""Files for the bench: section drawing, field, winding card, magnet card, parts list."""

from fem_motor.export.cards.magnet_card import magnet_card
from fem_motor.export.cards.parts_list import parts_list
from fem_motor.export.cards.winding_card import winding_card
from fem_motor.export.drawings.drawing import section_dxf
from fem_motor.export.fields.field_file import field_vtu
from fem_motor.export.fields.field_grid import field_grid
from fem_motor.export.writing import KINDS, FieldSetting, ready_targets, write_exports

__all__ = [
    "KINDS",
    "FieldSetting",
    "field_grid",
    "field_vtu",
    "magnet_card",
    "parts_list",
    "ready_targets",
    "section_dxf",
    "winding_card",
    "write_exports",
]
