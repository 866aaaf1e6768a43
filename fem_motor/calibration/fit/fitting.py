"""Least squares with priors: the likeliest parameters, their covariance, what stays open.

Minimise Σ ρ(r_i) + Σ x_k², with r the residuals over their standard uncertainty, x the parameters
in prior standard deviations and ρ(r) = 2c²(√(1 + (r/c)²) − 1), which is r² for small r and grows
like |r| beyond c: a single bad point does not pull. The covariance is (JᵀJ + 1)⁻¹ (Gauss and
Newton; JCGM 100, 5.2 and annex H.3, with correlation).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.calibration.model.forward import Figures, ForwardModel
from fem_motor.calibration.model.surface import Surface
from fem_motor.calibration.planned import COVERAGE
from fem_motor.calibration.records import Parameter

CLIP = 3.0
"""c: residuals of this many standard uncertainties begin to count less."""

ROUNDS, SETTLED = 4, 0.02
"""The drive is expanded anew until the logarithms move by less than this."""

LARGEST = 60.0
"""Prior standard deviations beyond which nothing is looked for."""

OPEN = 0.8
"""Correlation from which parameters count as not told apart; common practice, no source."""

Residuals = Callable[[FloatArray], FloatArray]
"""(n,) residuals for a shift (k,)."""

NARROWED = 0.7
"""Posterior over prior spread below which the measurements have spoken on their own."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """The likeliest parameters.

    Attributes
    ----------
    parameters : tuple of Parameter
    shift : (k,)
        In prior standard deviations.
    covariance : (k, k)
        Of `shift`.
    residuals : (n,)
    jacobian : (n, k)
    cost : float
        Σ ρ + Σ x².
    figures : mapping of name to value
    residuals_at : callable
        Residuals (n,) for any shift (k,).
    """

    parameters: tuple[Parameter, ...]
    shift: FloatArray
    covariance: FloatArray
    residuals: FloatArray
    jacobian: FloatArray
    cost: float
    figures: Figures
    residuals_at: Residuals


def figures_of(model: ForwardModel, parameters: Sequence[Parameter], shift: FloatArray) -> Figures:
    """Return the values of all parameters for a shift in prior standard deviations."""
    return {**model.prior, **figures_in(parameters, shift)}


def figures_in(parameters: Sequence[Parameter], shift: FloatArray) -> dict[str, float]:
    """Return the values of these parameters alone."""
    return {one.name: value_of(one, float(x)) for one, x in zip(parameters, shift, strict=True)}


def value_of(parameter: Parameter, shift: float) -> float:
    """Return the value of one parameter so many prior standard deviations away."""
    if parameter.scale == "difference":
        return parameter.prior + parameter.spread * shift
    return parameter.prior * math.exp(parameter.spread * shift)


def fit(
    model: ForwardModel,
    parameters: Sequence[Parameter],
    *,
    expanded: tuple[Surface, ...] | None = None,
    give_up: float = math.inf,
) -> Fit:
    """Return the likeliest parameters of a model.

    Parameters
    ----------
    model, parameters
    expanded : surfaces, optional
        Of the points near the design, to begin with.
    give_up : float
        Cost from which on the solution is not refined.
    """
    shift = np.zeros(len(parameters))
    surfaces = expanded or model.surfaces(figures_of(model, parameters, shift))
    problem = _on(model, parameters, surfaces)
    found = solved(problem, shift)
    for _ in range(ROUNDS):
        at = figures_of(model, parameters, found)
        moved = [
            float(np.abs(model.place(at, point) - one.centre).max())
            for point, one in zip(model.evidence.points, surfaces, strict=True)
        ]
        residuals = flattened(problem(found))
        is_hopeless = float(residuals @ residuals + found @ found) > give_up
        if is_hopeless or max(moved, default=0.0) < SETTLED:
            break
        surfaces = model.surfaces(at)
        problem = _on(model, parameters, surfaces)
        found = solved(problem, found)
    return fit_at(problem, parameters, found, figures=figures_of(model, parameters, found))


def _on(
    model: ForwardModel, parameters: Sequence[Parameter], surfaces: tuple[Surface, ...]
) -> Residuals:
    return lambda shift: model.residuals(figures_of(model, parameters, shift), surfaces)


def solved(residuals: Residuals, start: FloatArray) -> FloatArray:
    """Return the shift (k,) of the least sum."""
    from scipy.optimize import least_squares  # noqa: PLC0415  (slow to load)

    def terms(shift: FloatArray) -> FloatArray:
        return np.concatenate([flattened(residuals(shift)), shift])

    start = np.clip(start, -0.99 * LARGEST, 0.99 * LARGEST)
    return np.asarray(least_squares(terms, start, bounds=(-LARGEST, LARGEST), xtol=1e-7).x)


def flattened(residuals: FloatArray) -> FloatArray:
    """Return √ρ with the sign of the residuals: like them up to `CLIP`, then like their root.

    >>> bool(np.allclose(flattened(np.array([-0.01, 0.01])), [-0.01, 0.01], rtol=1e-4))
    True
    """
    return np.asarray(
        np.sign(residuals) * CLIP * np.sqrt(2 * (np.sqrt(1 + (residuals / CLIP) ** 2) - 1))
    )


def cost_of(residuals: FloatArray, shift: FloatArray) -> float:
    """Return Σ ρ + Σ x²."""
    return float(np.sum(flattened(residuals) ** 2) + np.sum(shift**2))


def weights_of(residuals: FloatArray) -> FloatArray:
    """Return what each residual counts for in the covariance: ρ'/(2 r)."""
    return np.asarray(1 / np.sqrt(1 + (residuals / CLIP) ** 2))


def fit_at(
    residuals: Residuals,
    parameters: Sequence[Parameter],
    shift: FloatArray,
    *,
    figures: Figures,
) -> Fit:
    """Return the fit whose least sum is at `shift` (k,)."""
    step = 1e-3
    found = residuals(shift)
    jacobian = np.array(
        [
            (residuals(shift + step * one) - residuals(shift - step * one)) / (2 * step)
            for one in np.eye(shift.size)
        ]
    ).T.reshape(found.size, shift.size)
    weight = weights_of(found)
    information = (jacobian * weight[:, None]).T @ jacobian + np.eye(shift.size)
    return Fit(
        parameters=tuple(parameters),
        shift=shift,
        covariance=np.linalg.inv(information),
        residuals=found,
        jacobian=jacobian,
        cost=cost_of(found, shift),
        figures=figures,
        residuals_at=residuals,
    )


def interval(found: Fit, index: int) -> tuple[float, float, float]:
    """Return value, low and high of one parameter: 95 % by the covariance alone."""
    parameter, x = found.parameters[index], float(found.shift[index])
    width = COVERAGE * math.sqrt(float(found.covariance[index, index]))
    return value_of(parameter, x), value_of(parameter, x - width), value_of(parameter, x + width)


def correlation(covariance: FloatArray) -> FloatArray:
    """Return the correlation of a covariance, (k, k)."""
    spread = np.sqrt(np.diag(covariance))
    return np.asarray(covariance / np.outer(spread, spread))


def cannot_tell(found: Fit) -> tuple[tuple[str, ...], ...]:
    """Return groups of parameters of which the measurements see one combination only.

    Two parameters belong together where the measurements' own information about them, without
    the priors, has directions closer than `OPEN`: what one does to the residuals the other does
    too. Parameters that do nothing to the residuals stand alone and are left out.
    """
    size = np.linalg.norm(found.jacobian, axis=0)
    seen = [k for k in range(size.size) if size[k] > NARROWED / 2]
    groups: list[set[int]] = []
    for k in seen:
        alike = {k} | {
            other
            for other in seen
            if abs(float(found.jacobian[:, k] @ found.jacobian[:, other]))
            > math.sqrt(OPEN) * size[k] * size[other]
        }
        joined = [group for group in groups if group & alike]
        groups = [group for group in groups if not group & alike]
        groups.append(alike.union(*joined))
    names = [parameter.name for parameter in found.parameters]
    return tuple(tuple(names[k] for k in sorted(group)) for group in groups if len(group) > 1)
