"""One door for both ways to solve: superposition where the cores are linear, Newton elsewhere."""

from fem_motor.arrays import FloatArray
from fem_motor.field.solving.newton import TOLERANCE, solve_newton
from fem_motor.field.solving.problem import FieldProblem
from fem_motor.field.solving.solution import Fields, FieldSweep, Keep
from fem_motor.field.solving.superposition import LinearModel, linear_model, solve_linear
from fem_motor.progress import OnStep, ignore


def solve(
    problem: FieldProblem,
    *,
    angles: FloatArray,
    ampere_turns: FloatArray,
    keep: Keep = "fields",
    tolerance: float = TOLERANCE,
    start: Fields | None = None,
    on_step: OnStep = ignore,
) -> FieldSweep:
    """Return the fields at the rotor's `angles`.

    Parameters
    ----------
    problem : FieldProblem
    angles : (n,) rad
    ampere_turns : (n, slots, 2) A
        Along +z in the half slots, see `FieldProblem.current_load`.
    keep : "fields" or "readings"
        Linear problems: whether the unknowns inside the bodies are worked out too.
    tolerance : float
        Saturating problems: residual over load at which Newton's method stops.
    start : unknowns of stator and rotor, (size,) each, optional
        Saturating problems: a field near that of the first angle.
    on_step : callable
        Called with (done, of).

    Raises
    ------
    SolverError
        Where Newton's method does not converge.
    """
    if problem.is_linear:
        if "linear" not in problem.prepared:
            problem.prepared["linear"] = linear_model(problem)
        model: LinearModel = problem.prepared["linear"]
        return solve_linear(
            model, angles=angles, ampere_turns=ampere_turns, keep=keep, on_step=on_step
        )
    return solve_newton(
        problem,
        angles=angles,
        ampere_turns=ampere_turns,
        tolerance=tolerance,
        start=start,
        on_step=on_step,
    )
