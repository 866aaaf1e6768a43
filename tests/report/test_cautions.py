"""Cautions go with the machine: what it turns, what it is made of, what it stands in."""

import sheet_of_sines as sines

from fem_motor.report.wording.cautions import cautions, cautions_in_short

LOAD = {"kind": "propeller"}


def test_the_report_names_every_hazard_of_a_printed_motor_with_a_propeller() -> None:
    text = " ".join(cautions(sines.sheet()))
    # The usual list of workshops and test stands; common practice, no source.
    for word in (
        "pacemakers", "swallowed", "eye protection", "closed box", "crack", "propeller", "hair",
        "fuse", "generator", "60 °C", "vapours", "gloves", "soften", "mask", "licensed",
        "local code",
    ):  # fmt: skip
        assert word in text
    assert "water" not in text


def test_in_water_the_local_code_and_extra_low_voltage_are_named() -> None:
    design = {**sines.DESIGN, "cooling": {"medium": "water"}}
    wet = sines.sheet(design=design)
    text = " ".join(cautions(wet))
    for word in ("pinholes", "extra-low voltage", "residual-current", "Salt water", "insulation"):
        assert word in text
    assert any("Water and electricity" in line for line in cautions_in_short(wet))


def test_without_a_propeller_none_is_warned_of() -> None:
    design = {**sines.DESIGN, "load": {"kind": "constant-torque"}}
    bare = sines.sheet(design=design)
    assert not any("propeller" in line for line in cautions(bare))
    assert not any("propeller" in line for line in cautions_in_short(bare))


def test_the_last_word_is_that_of_the_local_rules() -> None:
    for lines in (cautions(sines.sheet()), cautions_in_short(sines.sheet())):
        assert "come before anything written here" in lines[-1]
