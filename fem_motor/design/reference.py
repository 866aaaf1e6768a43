"""The design keys as a page, and a design to start from; both from the table of keys."""

from fem_motor.design.keys import KEYS, REQUIRED, Key


def design_key_reference() -> str:
    """Return the page of all design keys, Markdown."""
    lines = [
        "# Every key of the design file",
        "",
        "Made from the code by `fem_motor.design.design_key_reference()`; edit `design/keys.py`.",
        "",
        "Lengths in mm, angles in mechanical degrees unless called electrical, temperatures in °C.",
        "Unknown keys, wrong types and impossible values are errors, all of them at once.",
    ]
    section = None
    for key in KEYS:
        if key.section != section:
            section = key.section
            lines += ["", f"## {f'[{section}]' if section else 'At the top'}", ""]
            lines += ["| key | meaning | allowed | default |", "|---|---|---|---|"]
        lines.append(f"| `{key.name}` | {key.meaning} | {key.allowed} | {_default(key)} |")
    lines += [
        "",
        "## [materials.NAME]",
        "",
        "Own materials beside the library. `like` names a library material that gives what is",
        "not said; `fem-motor materials` lists names, values and sources. A core has one of",
        "`relative_permeability`, `bh_table` and `iron_volume_fraction`; a magnet `remanence_T`",
        "and `recoil_permeability`.",
        "",
    ]
    return "\n".join(lines)


def _default(key: Key) -> str:
    if key.default == REQUIRED:
        return "required"
    if key.default is None:
        return key.note
    return f'"{key.default}"' if isinstance(key.default, str) else f"{key.default:g}"


def starter_design() -> str:
    """Return a commented design file that can be built: a printed drive for a small airboat.

    >>> starter_design().splitlines()[0]
    '# A design file for fem-motor. Lengths in mm, angles in degrees, temperatures in °C.'
    """
    lines = [
        "# A design file for fem-motor. Lengths in mm, angles in degrees, temperatures in °C.",
        "# Invented demo values: the drive of a small airboat. Change them, then run",
        "#   fem-motor check THIS_FILE      and      fem-motor run THIS_FILE",
        "# Keys with a # in front are optional; what stands there is the default.",
    ]
    section = ""
    for key in KEYS:
        if key.section == "as_built":
            continue
        if key.section != section:
            section = key.section
            lines += ["", f"[{section}]"]
        lines.append(_starter_line(key))
    return "\n".join(lines) + "\n"


def _starter_line(key: Key) -> str:
    if key.path in _STARTER:
        return f"{key.name} = {_STARTER[key.path]}  # {key.meaning}"
    if key.default is None:
        return f"# {key.name} = …  # {key.meaning} [{key.note}]"
    value = f'"{key.default}"' if isinstance(key.default, str) else f"{key.default:g}"
    return f"# {key.name} = {value}  # {key.meaning}"


_STARTER = {
    "title": '"My motor"',
    "machine.slots": "18",
    "machine.poles": "16",
    "machine.stack_length_mm": "20.0",
    "machine.air_gap_mm": "0.8",
    "stator.outer_diameter_mm": "56.0",
    "stator.inner_diameter_mm": "22.0",
    "stator.yoke_thickness_mm": "4.0",
    "stator.tooth_width_mm": "4.0",
    "stator.slot_opening_mm": "1.8",
    "stator.tip_thickness_mm": "1.0",
    "stator.tip_taper_deg": "20.0",
    "stator.core": '"iron-filled-pla-10vol"',
    "rotor.magnet_shape": '"block"',
    "rotor.magnet_width_mm": "8.0",
    "rotor.magnet_thickness_mm": "3.0",
    "rotor.magnet": '"ndfeb-n42h"',
    "winding.turns_per_tooth": "14",
    "winding.strands": "2",
    "winding.wire_awg": "24",
    "load.kind": '"propeller"',
    "load.diameter_mm": "254.0",
    "load.pitch_mm": "119.0",
    "load.thrust_coefficient": "0.12",
    "load.power_coefficient": "0.048",
}
"""Values of the starter design: invented."""
