"""Words, plots, page and PDF of a result.

Its modules open on first use: those that draw are slow to load.
"""

from importlib import import_module

_HOMES = {
    "DesignCheck": "results",
    "Figure": "pages.blocks",
    "Section": "pages.blocks",
    "Table": "pages.blocks",
    "Text": "pages.blocks",
    "page": "pages.web_page",
    "ready_folder": "folder",
    "result_to_json": "as_json",
    "summary_text": "terminal.summary",
    "write_report": "writing",
}

__all__ = [
    "DesignCheck",
    "Figure",
    "Section",
    "Table",
    "Text",
    "page",
    "ready_folder",
    "result_to_json",
    "summary_text",
    "write_report",
]


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
