"""Pictures of results, drawn into the axes given; only user of matplotlib.

Its modules open on first use: drawing is slow to load.
"""

from importlib import import_module

_HOMES = {
    "Picture": "picture",
    "Rendered": "picture",
    "draw_flux_map": "drawing.flux_map",
    "draw_section": "drawing.section_drawing",
    "font_file": "canvas",
    "pictures_of": "pictures.by_kind",
    "render": "picture",
    "sweep_text": "sweep_words",
}

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


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
