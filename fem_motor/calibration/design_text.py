"""The calibrated design as a file: the user's own text, comments kept, with the values changed."""

from collections.abc import Mapping
from typing import Any

from fem_motor.calibration.model.response import own_material
from fem_motor.calibration.records import CalibratedValue
from fem_motor.design import MotorDesign

CORE, MAGNET = "calibrated-core", "calibrated-magnet"


def calibrated_text(
    text: str | None, design: MotorDesign, calibrated: Mapping[str, CalibratedValue], *, source: str
) -> str:
    """Return a design file (TOML) with what the calibration found; empty where it found nothing.

    Remanence and permeability go into own materials; the gap, the controller's resistance and the
    propeller's coefficients into their keys. What no key holds (end factor, winding resistance,
    friction, eddy losses, thermal resistances) stands in the comment at the top: a key that
    moves it would have to be bent for it (a liner's thickness also takes room from the copper).

    Parameters
    ----------
    text : str or None
        The design file as the user wrote it, where there is one.
    design : MotorDesign
        That it describes.
    calibrated : mapping of name to CalibratedValue
    source : str
        What it was calibrated from.
    """
    import tomlkit  # noqa: PLC0415  (only for writing)

    if not calibrated:
        return ""
    document = tomlkit.parse(text or design.to_toml())
    head = [f"# Calibrated by fem-motor bench from {source}."]
    head += [_line(name, found) for name, found in calibrated.items()]
    head += [
        "# No key holds end factor, winding resistance, friction, eddy losses, thermal resistances",
        "# and readings: the file computes with its own figures for these.",
    ]
    materials = document.setdefault("materials", tomlkit.table(is_super_table=True))
    if "remanence_T" in calibrated:
        table = own_material(design, "rotor.magnet")
        _own(materials, MAGNET, table, "remanence_T", calibrated["remanence_T"].value)
        document["rotor"]["magnet"] = MAGNET
    if "core_relative_permeability" in calibrated:
        found = calibrated["core_relative_permeability"]
        table = own_material(design, "stator.core")
        _own(materials, CORE, table, "relative_permeability", found.value)
        materials[CORE]["relative_permeability_range"] = [
            _rounded(found.low), _rounded(found.high),
        ]  # fmt: skip
        document["stator"]["core"] = CORE
    if "air_gap_mm" in calibrated:
        document["machine"]["air_gap_mm"] = _rounded(calibrated["air_gap_mm"].value)
    if "controller_resistance_mohm" in calibrated:
        drive = document.setdefault("drive", tomlkit.table())
        found = calibrated["controller_resistance_mohm"]
        drive["controller_resistance_mohm"] = _rounded(found.value)
    _propeller(document, calibrated)
    return "\n".join(head) + "\n\n" + tomlkit.dumps(document)


def _propeller(document: Any, calibrated: Mapping[str, CalibratedValue]) -> None:  # noqa: ANN401  (tomlkit)
    """Change the coefficients, or those columns of their table."""
    load = document.get("load", {})
    for column, name in enumerate(("thrust_coefficient", "power_coefficient"), start=1):
        found = calibrated.get(name)
        if found is None:
            continue
        if name in load:
            load[name] = _rounded(found.value)
        for row in load.get("table", ()):
            row[column] = _rounded(float(row[column]) * found.value / found.prior)


def _own(materials: object, name: str, table: Mapping[str, object], key: str, value: float) -> None:
    import tomlkit  # noqa: PLC0415  (only for writing)

    made = tomlkit.table()
    for other, given in table.items():
        made.add(other, given)
    made[key] = _rounded(value)
    materials[name] = made  # type: ignore[index]  # tomlkit's own table


def _line(name: str, found: CalibratedValue) -> str:
    return (
        f"# {name}: {found.value:.4g} ({found.low:.4g} to {found.high:.4g}); "
        f"before {found.prior:.4g}"
    )


def _rounded(value: float) -> float:
    return float(f"{value:.5g}")
