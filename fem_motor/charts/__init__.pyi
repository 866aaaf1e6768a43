from fem_motor.charts.canvas import font_file
from fem_motor.charts.drawing.flux_map import draw_flux_map
from fem_motor.charts.drawing.section_drawing import draw_section
from fem_motor.charts.picture import Picture, Rendered, render
from fem_motor.charts.pictures.by_kind import pictures_of
from fem_motor.charts.sweep_words import sweep_text

__all__ = [
    "Picture",
    "Rendered",
    "draw_flux_map",
    "draw_section",
    "font_file",
    "pictures_of",
    "render",
    "sweep_text",
]
