"""Cubic pieces of H over B through a table: monotone, C1, nowhere steeper than vacuum."""

import numpy as np
from scipy.interpolate import PchipInterpolator

from fem_motor.arrays import FloatArray
from fem_motor.errors import Problem
from fem_motor.units import MU_0

SLOPE_ROUNDING = 1e-6
"""Relative amount by which dB/dH may fall below μ₀: tables are printed with few digits."""

_LEAST_AT_END = 0.1
"""Least slope at either end over that of the first or last row: PCHIP may begin flat, with ν = 0,
and may end flat, where B over H would be vertical."""

LARGEST_POLARISATION = 3.0
"""T; iron with half cobalt, the strongest, reaches 2.4 T (R. M. Bozorth, Ferromagnetism, from
memory); a table may be a little off."""

_SHOWN = 3
"""Problems of one kind that are told of a table: with wrong units every row is wrong."""

_BLEND = 1e-4
"""Width in T over which the slope of the last row turns into that of vacuum: C1, and B within
half of it of the kinked law."""

Pieces = tuple[FloatArray, FloatArray, FloatArray]
"""Points (n,), coefficients (4, n) in ascending powers, stored energy (n,)."""


def table_problems(H: FloatArray, B: FloatArray) -> list[Problem]:
    """Return what is wrong with a table of H in A/m and B in T; empty where nothing is."""
    if H.ndim != 1 or H.shape != B.shape or len(H) < 2:  # noqa: PLR2004  (a piece has two ends)
        return [
            Problem(
                what="is not a B-H table.",
                why="it needs two rows or more, each with H in A/m and B in T.",
                do="give rows like [[0, 0], [100, 0.8], [1000, 1.4]].",
            )
        ]
    if not (np.all(np.isfinite(H)) and np.all(np.isfinite(B))):
        return [
            Problem(
                what="holds entries that are not finite numbers.",
                why="every row is H in A/m and B in T.",
                do="mend or leave out these rows.",
            )
        ]
    return [*_start_problems(H, B), *_rise_problems(H, B), *_polarisation_problems(H, B)]


def _start_problems(H: FloatArray, B: FloatArray) -> list[Problem]:
    if H[0] == 0 and B[0] == 0:
        return []
    return [
        Problem(
            what="does not begin at (0, 0).",
            why=f"its first row is ({H[0]:g} A/m, {B[0]:g} T).",
            do="begin with the row [0, 0].",
        )
    ]


def _rise_problems(H: FloatArray, B: FloatArray) -> list[Problem]:
    rise_H, rise_B = np.diff(H), np.diff(B)
    falling = [
        Problem(
            what=f"does not rise from row {row + 1} to row {row + 2}.",
            why=f"({H[row]:g} A/m, {B[row]:g} T) is followed by "
            f"({H[row + 1]:g} A/m, {B[row + 1]:g} T).",
            do="sort the rows; take an anhysteretic or normal magnetisation curve.",
        )
        for row in np.flatnonzero((rise_H <= 0) | (rise_B <= 0))[:_SHOWN]
    ]
    flat = (rise_H > 0) & (rise_B > 0) & (rise_B < MU_0 * rise_H * (1 - SLOPE_ROUNDING))
    below_vacuum = [
        Problem(
            what=f"rises less than vacuum from row {row + 1} to row {row + 2}.",
            why=f"B grows by {rise_B[row]:.6g} T, in vacuum by {MU_0 * rise_H[row]:.6g} T.",
            do="check whether the table gives J instead of B (B = J + μ₀ H), and its units.",
        )
        for row in np.flatnonzero(flat)[:_SHOWN]
    ]
    return [*falling, *below_vacuum]


def _polarisation_problems(H: FloatArray, B: FloatArray) -> list[Problem]:
    too_much = np.flatnonzero(B - MU_0 * H > LARGEST_POLARISATION)
    if not too_much.size:
        return []
    row = too_much[0]
    return [
        Problem(
            what=f"goes beyond what any material carries in row {row + 1}.",
            why=f"B = {B[row]:g} T at {H[row]:g} A/m; the best alloys saturate at 2.4 T.",
            do="check the units: B in T, not mT or gauss (10 000 gauss are 1 T); H in A/m.",
        )
    ]


def pieces_through(B: FloatArray, H: FloatArray, slopes: FloatArray | None = None) -> Pieces:
    """Return the cubic pieces through points (n,) in T and A/m, and the continuation.

    `slopes` are those of dH/dB at the points; without them PCHIP chooses. Where a piece would be
    steeper than vacuum it is divided in three, and a short piece leads from the slope of the last
    point to 1/μ₀.
    """
    if slopes is None:
        slopes = PchipInterpolator(B, H).derivative()(B)
        for end, row in ((0, 0), (-1, -2)):
            secant = (H[row + 1] - H[row]) / (B[row + 1] - B[row])
            slopes[end] = max(slopes[end], _LEAST_AT_END * secant)
    slopes = np.minimum(slopes, 1 / MU_0)
    B, H, slopes = _divided(B, H, slopes)
    if slopes[-1] < 1 / MU_0:
        rise = _BLEND * (slopes[-1] + 1 / MU_0) / 2
        B, H = np.append(B, B[-1] + _BLEND), np.append(H, H[-1] + rise)
        slopes = np.append(slopes, 1 / MU_0)
    return _hermite(B, H, slopes)


def _hermite(B: FloatArray, H: FloatArray, slopes: FloatArray) -> Pieces:
    """Return cubic pieces with these values and slopes; the last is straight."""
    width = np.diff(B)
    secant = np.diff(H) / width
    square = (3 * secant - 2 * slopes[:-1] - slopes[1:]) / width
    cube = (slopes[:-1] + slopes[1:] - 2 * secant) / width**2
    coefficients = np.array([H, slopes, np.append(square, 0.0), np.append(cube, 0.0)])
    energy = width * (H[:-1] + width * (slopes[:-1] / 2 + width * (square / 3 + width * cube / 4)))
    return B, coefficients, np.concatenate([[0.0], np.cumsum(energy)])


def _divided(
    B: FloatArray, H: FloatArray, slopes: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the points with two more in every piece that would be steeper than vacuum.

    There the slope goes straight from its value at either end to one steady value between: the
    ramps together are as short as the distance of the secant from 1/μ₀ asks.
    """
    steep = _steepest(B, H, slopes) > (1 + SLOPE_ROUNDING) / MU_0
    parts_B, parts_H, parts_slopes = [B[:1]], [H[:1]], [slopes[:1]]
    for piece in range(len(B) - 1):
        if steep[piece]:
            left, right = slopes[piece : piece + 2]
            width = B[piece + 1] - B[piece]
            secant = (H[piece + 1] - H[piece]) / width
            ramp = float(np.clip(1 - MU_0 * secant, SLOPE_ROUNDING, 0.4)) * width
            steady = (secant * width - (left + right) * ramp / 2) / (width - ramp)
            parts_B.append(np.array([B[piece] + ramp, B[piece + 1] - ramp]))
            before, after = (left + steady) * ramp / 2, (right + steady) * ramp / 2
            parts_H.append(np.array([H[piece] + before, H[piece + 1] - after]))
            parts_slopes.append(np.array([steady, steady]))
        parts_B.append(B[piece + 1 : piece + 2])
        parts_H.append(H[piece + 1 : piece + 2])
        parts_slopes.append(slopes[piece + 1 : piece + 2])
    return np.concatenate(parts_B), np.concatenate(parts_H), np.concatenate(parts_slopes)


def _steepest(B: FloatArray, H: FloatArray, slopes: FloatArray) -> FloatArray:
    """Return the largest dH/dB within each piece (its parabola over [0, 1])."""
    left, right = slopes[:-1], slopes[1:]
    secant = np.diff(H) / np.diff(B)
    # slope(t) = left + 2 (3s − 2 left − right) t + 3 (left + right − 2s) t²
    linear, square = 3 * secant - 2 * left - right, left + right - 2 * secant
    with np.errstate(divide="ignore", invalid="ignore"):
        top = np.clip(np.nan_to_num(-linear / (3 * square)), 0, 1)
    return np.maximum(np.maximum(left, right), left + 2 * linear * top + 3 * square * top**2)
