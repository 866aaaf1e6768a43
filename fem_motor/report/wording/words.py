"""What the report says in words: answers, checks, trust. Text, page and PDF share it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fem_motor.findings import Finding, Headline
from fem_motor.numbers import NOT_COMPUTED, digits, quantity, value_and_range
from fem_motor.performance import PerformanceSheet
from fem_motor.report.wording.current_words import demagnetisation_rows
from fem_motor.study import in_words

_LABELS = {"seconds_to_soften_core": "Core softens at this load after"}
"""Where the words of a sentence do not stand well before their value."""

_MEANING = {
    "speed_constant_rpm_per_V": "no-load speed for each volt of supply, six-step",
    "torque_constant_Nm_per_A": "torque for each ampere of supply, six-step",
    "motor_constant_Nm_per_sqrtW": "torque for each root of a watt lost in the copper, sine",
    "cogging_peak_to_peak_Nm": "what the fingers feel, without current",
}
_SHARES = {
    "gap": "air gap",
    "core": "stator core and the hub inside it",
    "ring": "ring behind the magnets",
    "leakage": "slots and the spaces between magnets",
    "outside": "open air outside the rotor",
}
_CONVENTIONS = {
    "per_peak_phase_ampere": "for each peak ampere of a phase (sine)",
    "per_rms_phase_ampere": "for each RMS ampere of a phase (sine)",
    "per_peak_line_ampere": "for each peak ampere of a line (sine)",
    "per_dc_ampere_six_step": "for each ampere of supply (six-step)",
    "line_line_peak": "for each volt of line-to-line peak",
    "line_line_rms": "for each volt of line-to-line RMS",
    "phase_peak": "for each volt of phase peak",
    "dc_six_step": "for each volt of supply (six-step)",
}

_OPERATING_NOTE = (
    "Computed: the controller's currents as a periodic steady state, with end factor, copper and "
    "magnets at 20 °C where nothing else is said. Supply: mean current and power from the ideal "
    "voltage."
)
_LOSSES = {
    "strand_eddy": "eddies in the strands",
    "core_teeth": "iron of the teeth",
    "core_yoke": "iron of the yoke",
    "magnet_eddy": "eddies in the magnets",
    "ring_eddy": "eddies in the ring",
    "bearing": "bearings",
}
LEAST_LOSS = 0.01
"""Losses below this part of the largest one are not listed in the table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One answer of the first screen, ready to print.

    Attributes
    ----------
    label, value, span, because : str
        Name, value with unit, range in the same unit ("" where none), cause of the range.
    meaning : str
        What the quantity is, in a few words; may be empty.
    """

    label: str
    value: str
    span: str
    because: str
    meaning: str


def answers(sheet: PerformanceSheet) -> tuple[Answer, ...]:
    """Return the answers in the order of the sheet, the slot fill behind them."""
    fill = sheet.winding.fill_factor
    fill_answer = Headline(value=fill, low=None, high=None, because="")
    rows = []
    for name, headline in {**sheet.answers, "fill_factor": fill_answer}.items():
        words, unit = in_words(name)
        value, span = value_and_range(headline, unit)
        rows.append(
            Answer(
                label=_LABELS.get(name, words[:1].upper() + words[1:]),
                value=value,
                span=span,
                because=headline.because,
                meaning=_MEANING.get(name, ""),
            )
        )
    return tuple(rows)


def reason_marks(rows: Sequence[Answer]) -> dict[str, str]:
    """Return a letter for each cause of ranges, so that each is told once.

    >>> one = Answer(label="", value="", span="", because="magnets", meaning="")
    >>> reason_marks((one, one, replace(one, because="mesh")))
    {'magnets': 'a', 'mesh': 'b'}
    """
    reasons = dict.fromkeys(row.because for row in rows if row.because)
    return {reason: chr(ord("a") + place) for place, reason in enumerate(reasons)}


def table(design: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    """Return a table of the design file, empty where it is not there."""
    found = design.get(name, {})
    return found if isinstance(found, Mapping) else {}


def machine_line(sheet: PerformanceSheet) -> str:
    """Return the machine in one sentence: slots, poles, sizes, materials."""
    machine, stator = table(sheet.design, "machine"), table(sheet.design, "stator")
    rotor = table(sheet.design, "rotor")
    words = [
        f"{machine['slots']} slots" if "slots" in machine else "",
        f"{machine['poles']} poles" if "poles" in machine else "",
        _sized("stator", stator, "outer_diameter_mm"),
        _sized("stack", machine, "stack_length_mm"),
        _sized("air gap", machine, "air_gap_mm"),
        f"core {stator['core']}" if "core" in stator else "",
        f"magnets {rotor['magnet']}" if "magnet" in rotor else "",
    ]
    return ", ".join(filter(None, words))


def _sized(words: str, part: Mapping[str, Any], key: str) -> str:
    return f"{words} {digits(float(part[key]))} mm" if key in part else ""


def open_checks(sheet: PerformanceSheet) -> tuple[Finding, ...]:
    """Return the checks that are not ok, those that stop first."""
    order = {"stop": 0, "watch": 1}
    left = [finding for finding in sheet.checks if finding.status != "ok"]
    return tuple(sorted(left, key=lambda finding: order[finding.status]))


_SECTION = (
    "Computed, not measured: the magnetic field of a 2-D section, the same along the stack, "
    "mesh quality {quality}."
)
_ENDS = (
    "No-load and winding figures are at 20 °C. Curves and field pictures are two-dimensional; "
    "the ends of the stack enter Kv and Kt by an end factor of {end_factor}."
)
_LEFT_OUT = (
    "Not in the model: hysteresis in the field, rotor dynamics, errors of making that the "
    "design file does not state."
)


def trust(sheet: PerformanceSheet) -> tuple[str, ...]:
    """Return how far the figures can be trusted, in sentences."""
    return (
        _SECTION.format(quality=sheet.quality),
        _ENDS.format(end_factor=_end_factor(sheet)),
        _LEFT_OUT,
    )


def _end_factor(sheet: PerformanceSheet) -> str:
    value, span = value_and_range(sheet.constants.end_factor, "")
    return f"{value} ({span})" if span else value


def constants_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return Kt, Kv and motor constant in every convention, as (what, value)."""
    torque, speed = (
        sheet.constants.torque_constant_Nm_per_A,
        sheet.constants.speed_constant_rpm_per_V,
    )
    names = _CONVENTIONS.items()
    rows = [
        (f"Kt {words}", quantity(getattr(torque, name), "N m/A"))
        for name, words in names
        if hasattr(torque, name)
    ]
    rows += [
        (f"Kv {words}", quantity(getattr(speed, name), "rpm/V"))
        for name, words in names
        if hasattr(speed, name)
    ]
    motor_constant = quantity(sheet.constants.motor_constant_Nm_per_sqrtW, "N m/√W")
    rows.append(("Motor constant (sine currents, 20 °C, without leads)", motor_constant))
    rows.append(("End factor, already in all of these", _end_factor(sheet)))
    return tuple(rows)


def winding_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return the winding's figures as (what, value)."""
    winding = sheet.winding
    return (
        ("Winding factor", quantity(winding.winding_factor)),
        ("Slot fill, bare copper over slot area inside the liner", quantity(winding.fill_factor)),
        ("Resistance of a phase, no leads, 20 °C", quantity(winding.resistance_phase_ohm, "Ω")),
        (
            "Resistance line to line, two leads, 20 °C",
            quantity(winding.resistance_line_line_ohm, "Ω"),
        ),
        ("Inductance of a phase, d axis", quantity(winding.inductance_d_H, "H")),
        ("Inductance of a phase, q axis", quantity(winding.inductance_q_H, "H")),
        ("Length of one turn", quantity(winding.turn_length_mm, "mm")),
        ("Wire, all strands together", quantity(winding.wire_length_m, "m")),
        ("Copper", quantity(winding.copper_mass_kg, "kg")),
    )


def no_load_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return the figures of the field without current as (what, value)."""
    fields = sheet.no_load
    ring = fields.ring_flux_density_T
    return (
        ("Cogging, peak to peak", quantity(fields.cogging_peak_to_peak_Nm, "N m")),
        ("Cogging repeats every", quantity(fields.cogging_period_deg, "°")),
        (
            "Flux linkage of a phase, fundamental",
            quantity(fields.flux_linkage_fundamental_Wb, "Wb"),
        ),
        (
            "Harmonics in the phase back-EMF, over the fundamental",
            f"{digits(100 * fields.back_emf_thd, 3)} %",
        ),
        (
            "Harmonics in the line back-EMF, over the fundamental",
            f"{digits(100 * fields.back_emf_line_thd, 3)} %",
        ),
        ("Flux density in the teeth, largest mean", quantity(fields.tooth_flux_density_T, "T")),
        ("Flux density in the yoke, largest mean", quantity(fields.yoke_flux_density_T, "T")),
        (
            "Flux density in the ring, largest mean",
            "no ring" if ring is None else quantity(ring, "T"),
        ),
    )


def loaded_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return the figures of the machine with currents as (what, value)."""
    loaded = sheet.loaded
    rows = []
    for name, curve in (("rated current", loaded.rated), ("current limit", loaded.limit)):
        current = quantity(curve.line_current_A, "A")
        fraction = curve.ripple_peak_to_peak_fraction
        ripple = NOT_COMPUTED if fraction is None else f"{digits(100 * fraction, 3)} %"
        rows += [
            (f"Mean torque at the {name}, {current} peak in the line, {curve.waveform}",
             quantity(curve.mean_torque_Nm, "N m")),
            (f"Torque ripple at the {name}, peak to peak over the mean", ripple),
        ]  # fmt: skip
    best = quantity(loaded.best_current_angle_deg, "°", count=3)
    rows.append(("Best current angle at the rated current, electrical, leading", best))
    return (*rows, *demagnetisation_rows(sheet))


def operating_table(sheet: PerformanceSheet) -> tuple[tuple[str, ...], ...]:
    """Return the operating points as rows of words, the heading first."""
    head = (
        "", "speed", "torque", "shaft power", "supply", "line current, RMS", "efficiency", "losses"
    )  # fmt: skip
    rows: list[tuple[str, ...]] = [head]
    points = list(sheet.operating_points)
    if sheet.thermal.warm_point is not None:
        cold = next((at for at, point in enumerate(points) if point.name == "load"), -1)
        points.insert(cold + 1, replace(sheet.thermal.warm_point, name="load, warm"))
    for point in points:
        if point.speed_rpm is None:
            rows.append((point.name, "not reached: see the checks", *[""] * (len(head) - 2)))
            continue
        losses = ", ".join(
            f"{_LOSSES.get(kind, kind)} {quantity(watt, 'W', count=2)}"
            for kind, watt in point.losses_W.items()
            if watt >= LEAST_LOSS * max(point.losses_W.values())
        )
        share = point.efficiency
        current = quantity(point.supply_current_A, "A", count=3)
        supply = f"{current}, {quantity(point.supply_power_W, 'W', count=3)}"
        rows.append(
            (
                point.name,
                quantity(point.speed_rpm, "rpm", count=3),
                quantity(point.torque_Nm, "N m", count=3),
                quantity(point.shaft_power_W, "W", count=3),
                supply,
                quantity(point.line_current_A, "A", count=3),
                "–" if share is None else f"{100 * share:.0f} %",
                losses,
            )
        )
    return tuple(rows)


def operating_note(sheet: PerformanceSheet) -> str:
    """Return what was computed for the operating points, and how warm warm is."""
    when = sheet.thermal.warm_when
    warm = f" Warm: {when}." if sheet.thermal.warm_point is not None else ""
    return _OPERATING_NOTE + warm


def turning_rows(sheet: PerformanceSheet) -> tuple[tuple[str, str], ...]:
    """Return the forces of turning at the highest speed, as (what, value)."""
    turning = sheet.mechanics
    hoop = turning.hoop_stress_MPa
    margin = turning.overspeed_margin
    return (
        ("Hoop stress of the wall that holds the magnets",
         NOT_COMPUTED if hoop is None else f"{digits(hoop, 3)} MPa"),
        ("Strength over stress at 1.2 times the highest speed",
         NOT_COMPUTED if margin is None else digits(margin, 3)),
        ("Pull outwards on one magnet", quantity(turning.magnet_pull_N, "N", count=3)),
        ("Side pull without current", quantity(turning.unbalanced_pull_N, "N", count=3)),
        ("Load on the bearings", quantity(turning.bearing_load_N, "N", count=3)),
        ("Mass of the rotor", quantity(turning.rotor_mass_kg, "kg", count=3)),
    )  # fmt: skip


def share_rows(sheet: PerformanceSheet) -> tuple[tuple[str, float], ...]:
    """Return where the magnets' drive is spent as (where, share), the largest first."""
    shares = sheet.limiter.shares.items()
    return tuple(
        (_SHARES.get(name, name), share) for name, share in sorted(shares, key=lambda it: -it[1])
    )


def coil_rows(sheet: PerformanceSheet) -> tuple[str, ...]:
    """Return the coils tooth by tooth, each with the number of its tooth: ``1 U+``."""
    return tuple(f"{tooth} {coil or '–'}" for tooth, coil in enumerate(sheet.winding.coils, 1))
