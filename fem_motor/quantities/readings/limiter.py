"""How the magnets' drive is spent along the flux paths.

Without currents the work H·B of all space is zero, so what the magnets give, −∫ H·B inside them,
is what the rest takes, region by region. Each region's part is its ampere-turns, averaged over
the flux tubes by the flux that they carry.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import BoolArray, FloatArray
from fem_motor.design import Motor
from fem_motor.field import FieldProblem, field_work
from fem_motor.mesh import REGIONS, HalfCell, Region


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveShares:
    """Where the magnets' drive goes.

    Attributes
    ----------
    shares : mapping
        gap, core (with the hub inside it), ring, leakage (slots and the spaces between magnets),
        outside; they add up to 1.
    sentence : str
    """

    shares: Mapping[str, float]
    sentence: str


def drive_shares(
    problem: FieldProblem, motor: Motor, stator_values: FloatArray, rotor_values: FloatArray
) -> DriveShares:
    """Return the shares of the magnets' drive, rotor at angle 0, no current.

    Parameters
    ----------
    problem : FieldProblem
    motor : Motor
    stator_values, rotor_values : (size,)
        Unknowns with the rotor at angle 0.
    """
    found = field_work(problem, stator_values, rotor_values)
    stator, rotor = problem.stator.matrices.cell, problem.rotor.matrices.cell
    radius = _middle_radius(stator)
    in_hub = radius < motor.stator.inner_radius
    is_core = _is(stator, "core") | in_hub
    is_slot = ~is_core & ~_is(stator, "gap")
    radius = _middle_radius(rotor)
    below = _is(rotor, "air") & (radius < motor.rotor.magnet_inner_radius)
    beyond = _is(rotor, "air") & (radius > motor.rotor.magnet_outer_radius)
    between = _is(rotor, "air") & ~below & ~beyond
    work = {
        "gap": found.gap
        + found.stator[_is(stator, "gap")].sum()
        + found.rotor[_is(rotor, "gap") | below].sum(),
        "core": found.hub + found.stator[is_core].sum(),
        "ring": found.rotor[_is(rotor, "ring")].sum(),
        "leakage": found.stator[is_slot].sum() + found.rotor[between].sum(),
        "outside": found.outside + found.rotor[beyond].sum(),
    }
    total = sum(work.values())
    shares = {name: float(part / total) for name, part in work.items()}
    return DriveShares(shares=shares, sentence=_sentence(shares, motor))


def _is(cell: HalfCell, region: Region) -> BoolArray:
    return np.asarray(cell.region == REGIONS.index(region))


def _middle_radius(cell: HalfCell) -> FloatArray:
    return np.asarray(np.hypot(*cell.points[:, cell.triangles[:3]].mean(axis=1)))


_PLACE = {
    "gap": "the air gap",
    "core": "the stator core and the hub inside it",
    "ring": "the ring behind the magnets",
    "leakage": "slots and the spaces between magnets",
    "outside": "the open air outside the rotor",
}

_REMEDY = {
    "gap": "a thinner gap or thicker magnets would help most",
    "core": "a core of higher permeability would help most",
    "ring": "a thicker ring would help most",
    "leakage": "wider magnets or narrower slot openings would help most",
    "outside": "a steel ring or a Halbach layout would help most",
}


def _sentence(shares: Mapping[str, float], motor: Motor) -> str:
    """Return the shares in one plain sentence, with what to change."""
    place = dict(_PLACE)
    if motor.rotor.ring is not None:
        # Flux goes outside because the ring is full: what both take is the ring's doing.
        shares = {name: part for name, part in shares.items() if name != "outside"} | {
            "ring": shares["ring"] + shares["outside"]
        }
        place["ring"] += " and the air outside it"
    ranked = sorted(shares, key=lambda name: -shares[name])
    first, second = ranked[:2]
    remedy = _REMEDY[first]
    if first == "leakage" and motor.stator.core.curve.is_nearly_air:
        remedy = "a core this weak lets the flux through slots and teeth alike: " + _REMEDY["core"]
    return (
        f"{shares[first]:.0%} of the magnets' drive is spent in {place[first]}, "
        f"{shares[second]:.0%} in {place[second]}: {remedy}."
    )
