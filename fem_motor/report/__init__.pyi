from fem_motor.report.as_json import result_to_json
from fem_motor.report.folder import ready_folder
from fem_motor.report.pages.blocks import Figure, Section, Table, Text
from fem_motor.report.pages.web_page import page
from fem_motor.report.results import DesignCheck
from fem_motor.report.terminal.summary import summary_text
from fem_motor.report.writing import write_report

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
