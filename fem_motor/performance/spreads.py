"""How wide the range of the flux linkage and of the cogging is, and why."""

from fem_motor.design import Motor
from fem_motor.findings import Headline
from fem_motor.mesh import MotorMesh
from fem_motor.performance.quality import QualitySettings
from fem_motor.performance.trust import REMANENCE_SPREAD, Spread, Spreads
from fem_motor.quantities import MotorModel, permeability_ratios
from fem_motor.winding import Winding


def spreads_of(
    motor: Motor,
    winding: Winding,
    mesh: MotorMesh,
    model: MotorModel,
    settings: QualitySettings,
    *,
    factor: Headline,
    rated_torque: float,
) -> Spreads:
    """Return the ranges: magnets, core, ends and mesh, worst cases together.

    Parameters
    ----------
    motor, winding, mesh, model, settings
    factor : Headline
        End factor.
    rated_torque : float
        N m. A core that hardly cogs is computed as well as its loaded torque is, no better.
    """
    peak = model.cogging_peak_to_peak / 2
    floor = 2e-2 * settings.cogging_error * rated_torque
    cogging_error = max(settings.cogging_error, floor / peak if peak else 1.0)
    flux_error = settings.flux_error
    low, high = 1 - REMANENCE_SPREAD, 1 + REMANENCE_SPREAD
    cogs_low, cogs_high = low**2, high**2  # cogging goes with the square of the field
    causes = [f"magnets ±{REMANENCE_SPREAD:.0%}"]
    span = motor.stator.core.relative_permeability_range
    if span is not None:
        linkage, cogging = permeability_ratios(motor, winding, mesh, span)
        low, high = low * min(1.0, *linkage), high * max(1.0, *linkage)
        cogs_low, cogs_high = cogs_low * min(1.0, *cogging), cogs_high * max(1.0, *cogging)
        causes.append(f"core permeability {span[0]:g} to {span[1]:g}")
    uneven = "; uneven magnets and an offset rotor add to it"
    cogs = Spread(
        low=max(0.0, cogs_low * (1 - cogging_error)),
        high=cogs_high * (1 + cogging_error),
        because=", ".join([*causes, f"mesh ±{cogging_error:.1%} of the peak"]) + uneven,
    )
    if factor.value is not None and factor.low is not None and factor.high is not None:
        low, high = low * factor.low / factor.value, high * factor.high / factor.value
        causes.append(f"ends {factor.low:.2f} to {factor.high:.2f} of the section's flux")
    flux = Spread(
        low=low * (1 - flux_error),
        high=high * (1 + flux_error),
        because=", ".join(causes) + f", mesh ±{flux_error:.2%}",
    )
    return Spreads(flux=flux, cogging=cogs)
