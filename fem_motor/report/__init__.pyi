from fem_motor.report.as_json import result_to_json
from fem_motor.report.curves import draw_back_emf, draw_gap_field, draw_torque
from fem_motor.report.flux_map import draw_flux_map
from fem_motor.report.folder import ready_folder
from fem_motor.report.results import DesignCheck
from fem_motor.report.section_drawing import draw_section
from fem_motor.report.summary import summary_text
from fem_motor.report.writing import write_report

__all__ = [
    "DesignCheck",
    "draw_back_emf",
    "draw_flux_map",
    "draw_gap_field",
    "draw_section",
    "draw_torque",
    "ready_folder",
    "result_to_json",
    "summary_text",
    "write_report",
]
