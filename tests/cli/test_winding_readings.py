"""Readings at the leads: what `check` says of them, and how it refuses half of them."""

import json
import math
from pathlib import Path

import pytest

import fem_motor as fm
from fem_motor.cli import main

STEEL = Path(__file__).parents[2] / "geometries" / "steel_12s14p.toml"


def readings(design: fm.MotorDesign) -> list[str]:
    """Return what meters read on the winding of a design turned at 1000 rpm, as options."""
    ohm = fm.wind(design.motor).line_line_resistances
    angles = [360 / 7 / 24 * step for step in range(24)]
    linkage = fm.rotor_sweep(design, angles_deg=angles, quality="draft").flux_linkage_Wb
    # The fundamental over one electrical period of seven pole pairs, line to line, RMS.
    volts = []
    for one, other in ((0, 1), (1, 2), (2, 0)):
        wave = linkage[one] - linkage[other]
        real, imaginary = (
            sum(w * f(2 * math.pi * k / 24) for k, w in enumerate(wave)) / 12
            for f in (math.cos, math.sin)
        )
        volts.append(math.hypot(real, imaginary) * 7 * 1000 * math.pi / 30 / math.sqrt(2))
    return [
        "--resistance", ",".join(f"{value:.5f}" for value in ohm),
        "--spin-voltage", ",".join(f"{value:.4f}" for value in volts),
        "--spin-speed", "1000",
    ]  # fmt: skip


@pytest.mark.slow
def test_a_sound_winding_is_told_as_sound(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(STEEL), *readings(fm.load_design(STEEL)), "--json"]) == 0
    first = json.loads(capsys.readouterr().out)["faults"][0]
    assert first["kind"] == "as described"


@pytest.mark.slow
def test_a_reversed_coil_is_found_by_the_voltages_of_its_own_field(
    capsys: pytest.CaptureFixture[str],
) -> None:
    # Readings of a machine whose field was solved with the fault; ranked against the sound file.
    built = fm.load_design(STEEL).replace("as_built.coils", [{"tooth": 5, "reversed": True}])
    assert main(["check", str(STEEL), *readings(built), "--json"]) == 0
    faults = json.loads(capsys.readouterr().out)["faults"]
    assert faults[0]["kind"] == "reversed coil"
    assert 5 in faults[0]["teeth"]
    assert main(["check", str(STEEL), *readings(built)]) == 0
    assert "next: send a direct current" in capsys.readouterr().out


def test_an_open_lead_is_written_as_open(capsys: pytest.CaptureFixture[str]) -> None:
    ohm = fm.wind(fm.load_design(STEEL).motor).line_line_resistances[0]
    assert main(["check", str(STEEL), "--resistance", f"open,{ohm:.4f},open"]) == 0
    assert "U" in capsys.readouterr().out.split("likeliest first\n")[1].split("\n")[0]


def test_readings_that_lack_their_partner_are_refused_all_at_once(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["check", str(STEEL), "--spin-speed", "900", "--copper-temperature", "30"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == (
        "--copper-temperature says nothing alone.\n  do:  add --resistance OHM,OHM,OHM.\n"
        "--spin-speed says nothing alone.\n  do:  add --spin-voltage V,V,V.\n"
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1,2", "'1,2' is not three readings U-V,V-W,W-U"),
        ("1,2,x", "'x' is not a number"),
        ("1,2,-3", "'-3' is not above zero"),
    ],
)
def test_a_wrong_reading_is_named(
    text: str, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(STEEL), "--resistance", text]) == 2
    assert message in capsys.readouterr().err
