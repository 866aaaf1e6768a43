"""Half cells made of rings on a regular grid: sections whose field is known in closed form."""

from collections.abc import Sequence

import numpy as np

from fem_motor.mesh import REGIONS, HalfCell, Region

Ring = tuple[float, Region, int]
"""Outer radius, region and number of steps of one ring."""


def ring_cell(
    *, inner_radius: float, rings: Sequence[Ring], steps: int, half_pitch: float, gap_outside: bool
) -> HalfCell:
    """Return a half cell of concentric rings from the inside outwards.

    `gap_outside`: the gap circle is the outermost circle (stator), else the innermost (rotor).
    """
    radii = [inner_radius]
    regions: list[Region] = []
    for outer, region, number in rings:
        radii += list(np.linspace(radii[-1], outer, number + 1)[1:])
        regions += [region] * number
    fine = np.interp(np.arange(2 * len(radii) - 1) / 2, np.arange(len(radii)), radii)
    theta = np.linspace(0, half_pitch, 2 * steps + 1)
    node = np.arange(fine.size * theta.size).reshape(fine.size, theta.size)
    triangles, region_of = [], []
    for i, region in enumerate(regions):
        for j in range(steps):
            corner = [
                (2 * i, 2 * j),
                (2 * i + 2, 2 * j),
                (2 * i + 2, 2 * j + 2),
                (2 * i, 2 * j + 2),
            ]
            for picked in ((0, 1, 2), (0, 2, 3)):
                at = np.array([corner[k] for k in picked])
                middle = (at[[0, 1, 0]] + at[[1, 2, 2]]) // 2
                triangles.append([node[tuple(k)] for k in np.concatenate([at, middle])])
                region_of.append(REGIONS.index(region))
    return HalfCell(
        points=np.array([np.outer(fine, np.cos(theta)), np.outer(fine, np.sin(theta))]).reshape(
            2, -1
        ),
        triangles=np.array(triangles).T,
        region=np.array(region_of),
        start_side=node[:, 0],
        end_side=node[:, -1],
        gap_circle=node[-1] if gap_outside else node[0],
        far_circle=node[0] if gap_outside else node[-1],
        half_pitch=half_pitch,
        gap_radius=fine[-1] if gap_outside else fine[0],
        far_radius=fine[0] if gap_outside else fine[-1],
    )
