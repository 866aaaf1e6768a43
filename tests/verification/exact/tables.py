"""Loaders of the tables in `tests/verification/data`, and the machines their rows describe."""

import csv
import math
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from exact.annulus import (
    Annulus,
    Harmonics,
    Layer,
    alternating,
    halbach,
    ideal_halbach,
    segment_harmonics,
)

DATA = Path(__file__).parent.parent / "data"

SLOTLESS_ORDERS = (7, 21, 35, 49, 63)
SLOTLESS_POLE_PAIRS = 7
SLOTLESS_REMANENCE_T = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotlessRow:
    """One row of the slotless table.

    Attributes
    ----------
    magnets, back : str
    gap_harmonics : tuple of float
        Cosine amplitudes of B_r in T at 20.25 mm, orders `SLOTLESS_ORDERS`.
    potential : float
        |A_7| at 20 mm, Wb/m.
    """

    magnets: str
    back: str
    gap_harmonics: tuple[float, ...]
    potential: float


def slotless_rows() -> list[SlotlessRow]:
    """Return the slotless table: eight kinds of magnets with six kinds of iron each."""
    lines = (DATA / "slotless_annulus.csv").read_text(encoding="utf-8").splitlines()
    return [
        SlotlessRow(
            magnets=row["magnets"],
            back=row["back"],
            gap_harmonics=tuple(float(row[f"b{n}"]) for n in SLOTLESS_ORDERS),
            potential=float(row["A7"]) * 1e-3,
        )
        for row in csv.DictReader(line for line in lines if not line.startswith("#"))
    ]


def slotless_magnets(name: str) -> Harmonics:
    """Return the remanence harmonics behind a name in the column `magnets`."""
    p, remanence = SLOTLESS_POLE_PAIRS, SLOTLESS_REMANENCE_T
    if name == "ideal Halbach in":
        return ideal_halbach(p, remanence=remanence)
    if name.startswith("Halbach"):
        segments = halbach(
            p,
            remanence=remanence,
            segments_per_pole=int(name.removeprefix("Halbach ")[0]),
            strong_side="outside" if "wrong way" in name else "inside",
        )
    else:
        kind, cover = name.split(" cover ")
        segments = alternating(
            p,
            remanence=remanence,
            cover=float(cover),
            magnetisation="radial" if kind == "radial" else "parallel",
        )
    return segment_harmonics(segments, p, SLOTLESS_ORDERS)


def slotless_machine(
    back: str, remanence: Harmonics, *, recoil_permeability: float = 1.05
) -> Annulus:
    """Return the slotless machine with the iron of one of the backs a … f."""
    gap = Layer(inner_radius=0.020, outer_radius=0.0205)
    magnets = Layer(
        inner_radius=0.0205,
        outer_radius=0.0235,
        relative_permeability=recoil_permeability,
        remanence=remanence,
    )
    inner, outer = {
        "a": ([], []),
        "b": ([], []),
        "c": ([], []),
        "d": ([(0.0, 0.020, 4.0)], [(0.0235, 0.0265, 4.0)]),
        "e": ([(0.014, 0.020, 1.4)], []),
        "f": ([(0.014, 0.020, 1000.0)], [(0.0235, 0.026, 1000.0)]),
    }[back]
    return Annulus(
        layers=[*map(_plain, inner), gap, magnets, *map(_plain, outer)],
        inside="iron" if back in "ab" else "open",
        outside="iron" if back == "a" else "open",
    )


def _plain(ring: tuple[float, float, float]) -> Layer:
    return Layer(inner_radius=ring[0], outer_radius=ring[1], relative_permeability=ring[2])


# -- slotted machines ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class SlottedMachine:
    """Outrunner with slots bounded by circles and radii in an infinitely permeable stator.

    Lengths in m, angles in rad, values per metre of stack. Slot j is centred on 2πj/slots; the
    rotor angle is that of the centre of an outward-magnetised magnet. Torque is on the rotor,
    counter-clockwise positive. The recoil permeability fills the whole ring of magnets.

    Attributes
    ----------
    name : str
    slots, poles : int
    stator_radius, slot_bottom_radius : float
    opening_bottom_radius : float or None
        Where the opening widens to the slot body; None for a slot of one width.
    opening_angle : float
    body_angle : float
        Equal to the opening for a slot of one width.
    magnet_inner_radius, magnet_outer_radius : float
    magnetisation : "radial", "parallel" or "halbach"
    segments_per_pole : int
    cover : float
    remanence, recoil_permeability : float
    outside : "iron", "air" or "ring"
    ring_outer_radius, ring_permeability : float or None
    cogging_period : float
    cogging : tuple of (rotor angle, torque)
    cogging_peak : tuple of (rotor angle, torque)
    cogging_sines : tuple of float
        Amplitudes of sin kx over the period, k = 1, 2, 3.
    cogging_uncertainty : float
    linkage_harmonics : mapping of electrical order to amplitude
        Of A(slot 1) − A(slot 0), each the mean over the slot body, over the rotor angle, Wb/m.
    linkage : tuple of (rotor angle, linkage)
    currents : mapping of slot to A
        Net slot currents of the loaded case, spread evenly over the slot body; empty if none.
    loaded : tuple of (rotor angle, torque)
    """

    name: str
    slots: int
    poles: int
    stator_radius: float
    slot_bottom_radius: float
    opening_bottom_radius: float | None
    opening_angle: float
    body_angle: float
    magnet_inner_radius: float
    magnet_outer_radius: float
    magnetisation: Literal["radial", "parallel", "halbach"]
    segments_per_pole: int
    cover: float
    remanence: float
    recoil_permeability: float
    outside: Literal["iron", "air", "ring"]
    ring_outer_radius: float | None
    ring_permeability: float | None
    cogging_period: float
    cogging: tuple[tuple[float, float], ...]
    cogging_peak: tuple[float, float]
    cogging_sines: tuple[float, ...]
    cogging_uncertainty: float
    linkage_harmonics: dict[int, float]
    linkage: tuple[float, float]
    currents: dict[int, float]
    loaded: tuple[tuple[float, float], ...]


def slotted_machines() -> dict[str, SlottedMachine]:
    """Return the machines C1 … C8 by name."""
    tables = tomllib.loads((DATA / "slotted_machines.toml").read_text(encoding="utf-8"))
    return {table["name"]: _slotted(table) for table in tables["machine"]}


def machine_constants() -> dict[str, float]:
    """Return the constants of the sine machine with p = 7 and ψ = 2 mV s, SI and rpm/V."""
    return dict(tomllib.loads((DATA / "machine_constants.toml").read_text(encoding="utf-8")))


_MM, _DEG = 1e-3, math.pi / 180


def _slotted(table: dict[str, Any]) -> SlottedMachine:
    def length(key: str) -> float:
        return float(table[key]) * _MM

    def length_or_none(key: str) -> float | None:
        return length(key) if key in table else None

    def curve(key: str) -> tuple[tuple[float, float], ...]:
        return tuple((angle * _DEG, value) for angle, value in table.get(key, []))

    peak_angle, peak = table["cogging_peak_Nm_per_m"]
    linkage_angle, linkage = table["linkage_mWb_per_m"]
    opening = table["opening_deg"] * _DEG
    return SlottedMachine(
        name=table["name"],
        slots=table["slots"],
        poles=table["poles"],
        stator_radius=length("stator_radius_mm"),
        slot_bottom_radius=length("slot_bottom_radius_mm"),
        opening_bottom_radius=length_or_none("opening_bottom_radius_mm"),
        opening_angle=opening,
        body_angle=table["body_deg"] * _DEG if "body_deg" in table else opening,
        magnet_inner_radius=length("magnet_inner_radius_mm"),
        magnet_outer_radius=length("magnet_outer_radius_mm"),
        magnetisation=table["magnetisation"],
        segments_per_pole=table.get("segments_per_pole", 1),
        cover=table["cover"],
        remanence=table["remanence_T"],
        recoil_permeability=table["recoil_permeability"],
        outside=table["outside"],
        ring_outer_radius=length_or_none("ring_outer_radius_mm"),
        ring_permeability=table.get("ring_permeability"),
        cogging_period=table["cogging_period_deg"] * _DEG,
        cogging=curve("cogging_Nm_per_m"),
        cogging_peak=(peak_angle * _DEG, peak),
        cogging_sines=tuple(table["cogging_sines_Nm_per_m"]),
        cogging_uncertainty=table["cogging_uncertainty_Nm_per_m"],
        linkage_harmonics={
            int(n): value * 1e-3 for n, value in table["linkage_harmonics_mWb_per_m"].items()
        },
        linkage=(linkage_angle * _DEG, linkage * 1e-3),
        currents={int(slot): amps for slot, amps in table.get("currents_A", {}).items()},
        loaded=curve("loaded_Nm_per_m"),
    )
