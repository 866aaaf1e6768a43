import json
import math
from typing import Any

import numpy as np
import sheet_of_sines as sines

from fem_motor.design import MotorDesign
from fem_motor.report import result_to_json
from fem_motor.report.as_json import json_text


def refuse(constant: str) -> Any:  # noqa: ANN401  (the type that json asks for)
    raise AssertionError(constant)


def test_the_sheet_has_the_parts_and_names_that_scripts_rely_on() -> None:
    plain = result_to_json(sines.sheet())
    assert plain["format"] == "fem_motor.performance"
    assert list(plain) == [
        "format", "title", "version", "quality", "design", "answers", "no_load", "winding",
        "constants", "loaded", "inductance", "waveforms", "as_built",
        "operating_points", "limiter",
        "thermal", "mechanics", "checks", "sources", "timing_s", "winding_to_load", "throttles",
            "speed_map", "flight",
            "provenance",
    ]  # fmt: skip
    assert plain["constants"]["torque_constant_Nm_per_A"]["per_dc_ampere_six_step"] == 0.02564
    assert set(plain["constants"]["end_factor"]) == {"value", "low", "high", "because"}
    assert set(plain["checks"][0]) == {"name", "status", "value", "limit", "bound", "why", "do"}
    assert plain["no_load"]["ring_flux_density_T"] is None


def test_pictures_stay_out_of_the_json() -> None:
    assert not {"field_map", "magnets_map"} & set(result_to_json(sines.sheet()))


def test_curves_are_three_rows_of_plain_numbers_with_every_digit() -> None:
    fields = sines.no_load()
    read = json.loads(json_text(result_to_json(sines.sheet(no_load=fields))))
    linkage = read["no_load"]["flux_linkage_Wb"]
    assert np.shape(linkage) == (3, 96)
    np.testing.assert_array_equal(linkage, fields.flux_linkage_Wb)


def test_a_number_that_is_not_finite_becomes_null_with_a_finding_that_says_so() -> None:
    torque = np.array([0.0, math.inf, math.nan])
    text = json_text(result_to_json(sines.sheet(no_load=sines.no_load(cogging_torque_Nm=torque))))
    read = json.loads(text, parse_constant=refuse)
    assert read["no_load"]["cogging_torque_Nm"] == [0.0, None, None]
    assert read["checks"][-1] == {
        "name": "no_load.cogging_torque_Nm",
        "status": "watch",
        "value": None,
        "limit": None,
        "bound": None,
        "why": "the computation gave no finite number here, so the value is left out (null).",
        "do": "check the design for extreme values; if it is an ordinary one, "
        "report this as a bug.",
    }
    assert len(read["checks"]) == len(sines.sheet().checks) + 1


def test_a_finding_with_an_infinite_value_is_still_valid_json() -> None:
    checks = (sines.Finding(name="margin", status="ok", value=math.inf),)
    read = json.loads(json_text(result_to_json(sines.sheet(checks=checks))), parse_constant=refuse)
    assert read["checks"][0]["value"] is None


def test_a_sweep_has_the_names_that_scripts_rely_on() -> None:
    plain = result_to_json(sines.sweep(7))
    names = (
        "angle_deg", "torque_Nm", "flux_linkage_Wb", "currents_A", "dofs", "method", "timing_s",
    )  # fmt: skip
    assert set(names) <= set(plain)
    assert np.shape(plain["currents_A"]) == (3, 7)
    assert plain["method"] == "linear"


def test_json_text_is_what_json_reads_back() -> None:
    plain = {"a": [], "b": {}, "c": [[1.5, None], ["ü", True]], "d": [1, 2], "e": {"f": [{"g": 1}]}}
    assert json.loads(json_text(plain)) == plain


def test_every_part_says_whether_it_is_computed_measured_or_assumed() -> None:
    for plain in (result_to_json(sines.sheet()), result_to_json(sines.sweep())):
        origin = plain["provenance"]
        assert set(origin.values()) <= {"computed", "measured", "assumed"}
        told = {name.split(".")[0] for name in origin}
        words = {"format", "title", "version", "quality", "provenance", "dofs", "method"}
        words |= {"waveform"}
        assert told == set(plain) - words


def test_a_sweep_tells_its_design_and_quality_where_they_are_known() -> None:
    design = MotorDesign.from_dict(sines.DESIGN)
    plain = result_to_json(sines.sweep(), design=design, quality="draft")
    assert plain["title"] == sines.DESIGN["title"]
    assert plain["quality"] == "draft"
    assert plain["design"]["machine"]["slots"] == sines.SLOTS
    assert "design" not in result_to_json(sines.sweep())


def test_a_name_that_is_not_utf_8_can_be_written() -> None:
    # As Python reads the byte E4, an ä of Latin-1, in the name of a file (PEP 383).
    text = json_text({"file": "a\udce4", "title": "Gerät"})
    text.encode()
    assert "Gerät" in text
    assert json.loads(text)["file"] == "a\udce4"
