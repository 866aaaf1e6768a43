"""The machine as an ordinary scikit-fem script: one mesh of everything per angle, Newton from zero.

    python -m benchmarks.plain_skfem 0.75

Second-order triangles (curved with the arcs), SuperLU, torque by the Arkkio average over the
middle of the air gap. Nothing is carried from one angle to the next.
"""

import argparse
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Literal

import gmsh
import numpy as np
import skfem
from skfem.helpers import dot, grad
from threadpoolctl import threadpool_limits

from benchmarks import machine
from benchmarks.machine import (
    DEFAULT_WALLS,
    NU_0,
    BoolArray,
    FloatArray,
    Outline,
    Sizes,
    Solved,
    Walls,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How finely and how far to solve.

    Attributes
    ----------
    sizes : Sizes
    order : 1 or 2
        Of elements and mesh; 2 follows the arcs.
    walls : Walls
    tolerance : float
        Residual at which Newton stops, over the first one.
    """

    sizes: Sizes
    order: Literal[1, 2] = 2
    walls: Walls = DEFAULT_WALLS
    tolerance: float = 1e-6


COARSE = Settings(
    sizes=Sizes(tip=0.2, opening=0.3, gap=0.25, magnet=0.6, iron=1.0, far=4.0),
)
FINE = Settings(
    sizes=Sizes(tip=0.02, opening=0.2, gap=0.12, magnet=0.3, iron=0.6, far=3.0),
)


@skfem.BilinearForm
def tangent(u: Any, v: Any, w: Any) -> Any:
    """Return ν ∇u·∇v + 2 ν' (∇A·∇u)(∇A·∇v)."""
    field = grad(w["A"])
    return w["nu"] * dot(grad(u), grad(v)) + 2 * w["slope"] * dot(field, grad(u)) * dot(
        field, grad(v)
    )


@skfem.LinearForm
def residual(v: Any, w: Any) -> Any:
    """Return ν ∇A·∇v − ν_m (B_rx ∂v/∂y − B_ry ∂v/∂x)."""
    dv_dx, dv_dy = grad(v)
    source = w["nu"] * (w["rem_x"] * dv_dy - w["rem_y"] * dv_dx)
    return w["nu"] * dot(grad(w["A"]), grad(v)) - source


@skfem.Functional
def stress(w: Any) -> Any:
    """Return r B_r B_θ."""
    x, y = w.x
    B_x, B_y = grad(w["A"])[1], -grad(w["A"])[0]
    radius = np.hypot(x, y)
    return (x * B_x + y * B_y) * (x * B_y - y * B_x) / radius


def cogging(angle_deg: float, settings: Settings) -> Solved:
    """Return torque, seconds by stage and unknowns of the machine at one rotor angle."""
    clock = [time.perf_counter()]
    mesh, region = _mesh(machine.outline(angle_deg, settings.walls), settings)
    clock.append(time.perf_counter())
    element = skfem.ElementTriP2() if settings.order == 2 else skfem.ElementTriP1()
    basis = skfem.Basis(mesh, element, intorder=2 * settings.order)
    material = _Material.of(basis, region)
    free = basis.complement_dofs(_wall_dofs(basis, settings.walls))
    clock.append(time.perf_counter())
    A, steps = _newton(basis, material, free, settings.tolerance)
    clock.append(time.perf_counter())
    torque = _arkkio(basis, A, np.isin(region, ["band"]))
    clock.append(time.perf_counter())
    seconds = dict(
        zip(("mesh", "set-up", "newton", "torque"), np.diff(clock).tolist(), strict=True)
    )
    return Solved(torque_Nm=torque, seconds=seconds, dofs=len(free), newton_steps=steps)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Material:
    """Reluctivity and remanence at the quadrature points, (elements, points)."""

    steel: BoolArray
    linear: FloatArray
    rem_x: FloatArray
    rem_y: FloatArray

    @classmethod
    def of(cls, basis: Any, region: Any) -> "_Material":
        """Return the materials of all elements; `region` names the region of each."""
        x, y = basis.global_coordinates().value
        radius = np.hypot(x, y)
        steel = np.isin(region, ["stator", "ring"])
        strength = np.zeros(len(region))
        for pole in range(machine.POLES):
            strength[region == machine.magnet_name(pole)] = machine.magnet_sign(pole)
        linear = np.where(strength == 0, NU_0, NU_0 / machine.RECOIL_PERMEABILITY)
        remanence = machine.REMANENCE_T * strength[:, None]
        return cls(
            steel=steel[:, None],
            linear=np.broadcast_to(linear[:, None], x.shape),
            rem_x=remanence * x / radius,
            rem_y=remanence * y / radius,
        )

    def at(self, field: Any) -> tuple[FloatArray, FloatArray]:
        """Return ν and dν/d(B²)."""
        d_dx, d_dy = field.grad
        nu, slope = machine.reluctivity(d_dx**2 + d_dy**2)
        return np.where(self.steel, nu, self.linear), np.where(self.steel, slope, 0.0)


def _newton(basis: Any, material: _Material, free: Any, tolerance: float) -> tuple[FloatArray, int]:
    """Solve from zero; halve a step until the residual falls."""
    A = np.zeros(basis.N)
    load, nu, slope, field = _residual(basis, material, A)
    first = size = float(np.linalg.norm(load[free]))
    steps, trial = 0, A
    while size > tolerance * first and steps < 50:
        matrix = tangent.assemble(basis, A=field, nu=nu, slope=slope)
        step = skfem.solve(*skfem.condense(matrix, -load, I=free))
        for halving in range(8):
            trial = A + step / 2**halving
            load, nu, slope, field = _residual(basis, material, trial)
            if np.linalg.norm(load[free]) < size:
                break
        A, size = trial, float(np.linalg.norm(load[free]))
        steps += 1
    return A, steps


def _residual(basis: Any, material: _Material, A: FloatArray) -> tuple[Any, ...]:
    field = basis.interpolate(A)
    nu, slope = material.at(field)
    load = residual.assemble(basis, A=field, nu=nu, rem_x=material.rem_x, rem_y=material.rem_y)
    return load, nu, slope, field


def _arkkio(basis: Any, A: FloatArray, band: BoolArray) -> float:
    """Return −ν₀ L/(r₂ − r₁) ∫ r B_r B_θ dS over the band: torque on the body outside of it."""
    inner, outer = machine.BAND_RADII_MM
    ring = skfem.Basis(
        basis.mesh, basis.elem, intorder=2 * basis.elem.maxdeg, elements=np.flatnonzero(band)
    )
    moment_mm3 = float(stress.assemble(ring, A=ring.interpolate(A)))
    # A is in T mm, so B in T; ∫ r … dS/(r₂ − r₁) is in T² mm².
    return -NU_0 * machine.STACK_LENGTH_MM * 1e-3 * moment_mm3 * 1e-6 / (outer - inner)


def _wall_dofs(basis: Any, walls: Walls) -> Any:
    """Return the unknowns on the walls, where A = 0."""
    x, y = basis.doflocs
    radius = np.hypot(x, y)
    on_wall = radius > walls.outer_radius_mm - 1e-3
    if walls.bore == "flux wall":
        on_wall |= radius < machine.BORE_RADIUS_MM + 1e-3
    return np.flatnonzero(on_wall)


# -- meshing ---------------------------------------------------------------------------------


@contextmanager
def _gmsh() -> Iterator[None]:
    gmsh.initialize(readConfigFiles=False, interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("General.NumThreads", 1)
        yield
    finally:
        gmsh.finalize()


def _mesh(section: Outline, settings: Settings) -> tuple[Any, Any]:
    """Return the mesh and the name of the region of each element."""
    with _gmsh():
        names = _draw(section, settings.sizes)
        gmsh.model.mesh.generate(2)
        gmsh.model.mesh.setOrder(settings.order)
        return _read(names, settings.order)


def _draw(section: Outline, sizes: Sizes) -> dict[int, str]:
    """Draw the outline in gmsh; return the region name of each surface."""
    geo = gmsh.model.geo
    centre = geo.addPoint(0, 0, 0, sizes.far)
    points = [
        geo.addPoint(r * np.cos(a), r * np.sin(a), 0, sizes.at(spot))
        for (r, a), spot in zip(section.points, section.spots, strict=True)
    ]
    borders: dict[str, list[int]] = {}
    for edge in section.edges:
        start, end = points[edge.start], points[edge.end]
        if edge.kind == "line":
            curve = geo.addLine(start, end)
        else:
            curve = geo.addCircleArc(start, centre, end)
        for name in {edge.left, edge.right} - {""}:
            borders.setdefault(name, []).append(curve)
    names = {}
    for name, curves in borders.items():
        names[geo.addPlaneSurface(geo.addCurveLoops(curves))] = name
    geo.synchronize()
    return names


def _read(names: dict[int, str], order: int) -> tuple[Any, Any]:
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    place = np.zeros(int(tags.max()) + 1, dtype=np.int64)
    place[tags] = np.arange(len(tags))
    triangles, region = [], []
    for surface, name in names.items():
        _, _, nodes = gmsh.model.mesh.getElements(2, surface)
        corners = place[nodes[0]].reshape(-1, 3 if order == 1 else 6)
        triangles.append(corners)
        region.append(np.full(len(corners), name))
    connected = np.concatenate(triangles).T
    used, compact = np.unique(connected, return_inverse=True)
    nodes_xy = np.ascontiguousarray(coordinates.reshape(-1, 3)[used, :2].T)
    kind = skfem.MeshTri1 if order == 1 else skfem.MeshTri2
    mesh = kind(nodes_xy, compact.reshape(connected.shape))
    return mesh, np.concatenate(region)


def main() -> None:
    """Print torque, unknowns and seconds for the angles of the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("angles_deg", nargs="*", type=float, default=[0.75])
    parser.add_argument("--mesh", choices=("coarse", "fine"), default="coarse")
    options = parser.parse_args()
    settings = COARSE if options.mesh == "coarse" else FINE
    with threadpool_limits(1):
        for angle in options.angles_deg:
            solved = cogging(angle, settings)
            print(f"{angle:7.4f} deg  {1e3 * solved.torque_Nm:+.5f} mN m  {solved.dofs} unknowns  ")
            print(
                "  ",
                {stage: round(s, 3) for stage, s in solved.seconds.items()},
                solved.newton_steps,
            )


if __name__ == "__main__":
    main()
