"""The machine as an ordinary NGSolve script: one mesh of everything per angle, Newton from zero.

    python -m benchmarks.plain_ngsolve 0.75 --order 3

High-order curved triangles, static condensation, sparse Cholesky, torque by the Arkkio average
over the middle of the air gap. Nothing is carried from one angle to the next.
"""

import argparse
import math
import time
from dataclasses import dataclass
from typing import Any

import netgen.geom2d
import ngsolve
import numpy as np
from ngsolve import CoefficientFunction as Field
from ngsolve import InnerProduct, dx, grad, x, y
from threadpoolctl import threadpool_limits

from benchmarks import machine
from benchmarks.machine import DEFAULT_WALLS, NU_0, Edge, Outline, Sizes, Solved, Walls


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How finely and how far to solve.

    Attributes
    ----------
    order : int
        Polynomials on the triangles.
    sizes : Sizes
    walls : Walls
    tolerance : float
        Residual at which Newton stops, over the first one.
    held : str
        Boundaries with A = 0: "wall", or "wall|near" for the nearest walls too.
    """

    order: int
    sizes: Sizes
    walls: Walls = DEFAULT_WALLS
    tolerance: float = 1e-6
    held: str = "wall"


ORDER_3 = Settings(
    order=3, sizes=Sizes(tip=0.02, opening=0.2, gap=0.3, magnet=1.0, iron=2.0, far=5.0)
)
ORDER_4 = Settings(
    order=4, sizes=Sizes(tip=0.01, opening=0.1, gap=0.3, magnet=1.0, iron=1.5, far=5.0)
)
# Finer in the gap too: the coarsest of a dozen tried (tips of 5 and 10 µm, openings of 0.05 to
# 0.2 mm, gap of 0.2 to 0.3 mm, iron of 1 and 1.5 mm) within 0.1 % of the peak at all three angles.
ORDER_4_WITHIN_A_THOUSANDTH = Settings(
    order=4, sizes=Sizes(tip=0.005, opening=0.1, gap=0.2, magnet=1.0, iron=1.5, far=5.0)
)


def cogging(angle_deg: float, settings: Settings) -> Solved:
    """Return torque, seconds by stage and unknowns of the machine at one rotor angle."""
    ngsolve.SetNumThreads(1)
    clock = [time.perf_counter()]
    mesh = _mesh(machine.outline(angle_deg, settings.walls), settings)
    clock.append(time.perf_counter())
    space = ngsolve.H1(mesh, order=settings.order, dirichlet=settings.held)
    form = _form(space, mesh)
    clock.append(time.perf_counter())
    A = ngsolve.GridFunction(space)
    steps = _newton(form, A, settings.tolerance)
    clock.append(time.perf_counter())
    torque = _arkkio(A, mesh)
    clock.append(time.perf_counter())
    seconds = dict(
        zip(("mesh", "set-up", "newton", "torque"), np.diff(clock).tolist(), strict=True)
    )
    return Solved(torque_Nm=torque, seconds=seconds, dofs=sum(space.FreeDofs()), newton_steps=steps)


def _form(space: Any, mesh: Any) -> Any:
    """Return ν ∇A·∇v − ν_m (B_rx ∂v/∂y − B_ry ∂v/∂x), nonlinear in A in the steel."""
    A, v = space.TnT()
    form = ngsolve.BilinearForm(space, condense=True)
    form += _steel(InnerProduct(grad(A), grad(A))) * grad(A) * grad(v) * dx("stator|ring")
    form += NU_0 * grad(A) * grad(v) * dx("slots|band|gap|outside|beyond|bore")
    nu_m = NU_0 / machine.RECOIL_PERMEABILITY
    form += nu_m * grad(A) * grad(v) * dx("magnet.*")
    signs = {machine.magnet_name(k): machine.magnet_sign(k) for k in range(machine.POLES)}
    strength = machine.REMANENCE_T * mesh.MaterialCF(signs, default=0)
    outward = Field((x, y)) / ngsolve.sqrt(x * x + y * y)
    turned = Field((-outward[1], outward[0]))  # ẑ × e_r, so that (ẑ × B_r)·∇v = B_rx v_y − B_ry v_x
    form += -nu_m * strength * turned * grad(v) * dx("magnet.*")
    return form


def _steel(b_squared: Any) -> Any:
    """Return ν(B²), the law of `machine.reluctivity`."""
    floor, knee, last = machine.STEEL_FLOOR, machine.STEEL_KNEE, machine.STEEL_LAST_T
    law = NU_0 * (floor + (1 - floor) * b_squared**6 / (knee + b_squared**6))
    end, _ = machine.reluctivity(np.array(last**2))
    beyond = NU_0 - (NU_0 - float(end)) * last / ngsolve.sqrt(b_squared)
    return ngsolve.IfPos(b_squared - last**2, beyond, law)


def _newton(form: Any, A: Any, tolerance: float) -> int:
    """Solve from zero; halve a step until the residual falls."""
    space = A.space
    free = space.FreeDofs()
    wall = ngsolve.Projector(free, range=True)
    load, step, trial = (A.vec.CreateVector() for _ in range(3))
    A.vec[:] = 0
    form.Apply(A.vec, load)
    load.data = wall * load
    first = size = ngsolve.Norm(load)
    steps = 0
    while size > tolerance * first and steps < 50:
        form.AssembleLinearization(A.vec)
        inverse = form.mat.Inverse(space.FreeDofs(coupling=True), inverse="sparsecholesky")
        load.data += form.harmonic_extension_trans * load
        step.data = inverse * load
        step.data += form.harmonic_extension * step
        step.data += form.inner_solve * load
        for halving in range(8):
            trial.data = A.vec - 0.5**halving * step
            form.Apply(trial, load)
            load.data = wall * load
            if ngsolve.Norm(load) < size:
                break
        A.vec.data, size = trial, ngsolve.Norm(load)
        steps += 1
    return steps


def _arkkio(A: Any, mesh: Any) -> float:
    """Return −ν₀ L/(r₂ − r₁) ∫ r B_r B_θ dS over the band: torque on the body outside of it."""
    inner, outer = machine.BAND_RADII_MM
    B_x, B_y = grad(A)[1], -grad(A)[0]
    stress = (x * B_x + y * B_y) * (x * B_y - y * B_x) / ngsolve.sqrt(x * x + y * y)
    moment_mm3 = ngsolve.Integrate(stress * dx("band", bonus_intorder=2), mesh)
    # A is in T mm, so B in T; ∫ r … dS/(r₂ − r₁) is in T² mm².
    return -NU_0 * machine.STACK_LENGTH_MM * 1e-3 * float(moment_mm3) * 1e-6 / (outer - inner)


def _mesh(section: Outline, settings: Settings) -> Any:
    """Return the mesh with curved arcs."""
    geometry = netgen.geom2d.SplineGeometry()
    numbers = _draw(geometry, section, settings)
    for name, number in numbers.items():
        geometry.SetMaterial(number, name)
    coarse = geometry.GenerateMesh(maxh=settings.sizes.far, grading=0.3)
    mesh = ngsolve.Mesh(coarse)
    mesh.Curve(settings.order)
    return mesh


def _draw(geometry: Any, section: Outline, settings: Settings) -> dict[str, int]:
    """Draw the outline; return the number of each region."""
    numbers = {name: k + 1 for k, name in enumerate(machine.regions(settings.walls))}
    numbers[""] = 0
    points = [
        geometry.AppendPoint(r * math.cos(a), r * math.sin(a), maxh=settings.sizes.at(spot))
        for (r, a), spot in zip(section.points, section.spots, strict=True)
    ]
    for edge in section.edges:
        kind = ["line", points[edge.start], points[edge.end]]
        spots = (section.spots[edge.start], section.spots[edge.end])
        if edge.kind == "arc":
            radius, start = section.points[edge.start]
            half = (section.points[edge.end][1] - start) % (2 * math.pi) / 2
            apex, middle = radius / math.cos(half), start + half
            control = geometry.AppendPoint(apex * math.cos(middle), apex * math.sin(middle))
            kind = ["spline3", points[edge.start], control, points[edge.end]]
        geometry.Append(
            kind,
            leftdomain=numbers[edge.left],
            rightdomain=numbers[edge.right],
            maxh=max(settings.sizes.at(spot) for spot in spots),
            bc=_border(edge),
        )
    del numbers[""]
    return numbers


def _border(edge: Edge) -> str:
    """Return the boundary name of an edge: "near" is where the nearest wall would stand."""
    sides = {edge.left, edge.right}
    if "" in sides:
        return "wall"
    if sides in ({"outside", "beyond"}, {"bore", "stator"}):
        return "near"
    return "inside"


def main() -> None:
    """Print torque, unknowns and seconds for the angles of the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("angles_deg", nargs="*", type=float, default=[0.75])
    parser.add_argument("--order", choices=(3, 4), type=int, default=3)
    options = parser.parse_args()
    settings = ORDER_3 if options.order == 3 else ORDER_4
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
