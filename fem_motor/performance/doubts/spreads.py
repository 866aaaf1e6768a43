"""How wide the range of the flux linkage and of the cogging is, and why."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fem_motor.design import Motor
from fem_motor.findings import Headline
from fem_motor.performance.doubts.quality import QualitySettings
from fem_motor.performance.doubts.trust import REMANENCE_SPREAD, Spread, Spreads
from fem_motor.quantities import MotorModel, permeability_ratios
from fem_motor.winding import Winding

Ratios = tuple[float, float]
"""True over computed at either end of what is not known, the low end of the cause first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknowns:
    """What is not known of flux linkage and cogging, cause by cause.

    Attributes
    ----------
    flux, cogging : mapping of magnets, core, ends, mesh to ratios
        A cause that does not count is left out.
    because : mapping of the same to words
        With the numbers.
    """

    flux: Mapping[str, Ratios]
    cogging: Mapping[str, Ratios]
    because: Mapping[str, str]

    def __post_init__(self) -> None:
        for name in ("flux", "cogging", "because"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))

    @property
    def spreads(self) -> Spreads:
        """The ranges, all causes at their worst together."""
        uneven = "; uneven magnets and an offset rotor add to it"
        cogging_causes = [
            self.because[cause] for cause in ("magnets", "core") if cause in self.cogging
        ]
        share = f"mesh ±{self.cogging['mesh'][1] - 1:.1%} of the peak"
        return Spreads(
            flux=_together(self.flux, ", ".join(self.because[cause] for cause in self.flux)),
            cogging=_together(self.cogging, ", ".join([*cogging_causes, share]) + uneven),
        )


def _together(ratios: Mapping[str, Ratios], because: str) -> Spread:
    low = high = 1.0
    for pair in ratios.values():
        low, high = low * min(1.0, *pair), high * max(1.0, *pair)
    return Spread(low=low, high=high, because=because)


def sizes(low: float, high: float) -> Ratios:
    """Return the ratios of sizes from those of values that may have turned their sign.

    >>> sizes(0.9, 1.2)
    (0.9, 1.2)
    >>> sizes(-3.0, 1.5)
    (0.0, 3.0)
    """
    if low < 0 or high < 0:  # on the way it vanishes
        return 0.0, max(abs(low), abs(high))
    return low, high


def unknowns_of(
    motor: Motor,
    winding: Winding,
    model: MotorModel,
    settings: QualitySettings,
    *,
    factor: Headline,
    rated_torque: float,
    known: Unknowns | None = None,
) -> Unknowns:
    """Return what magnets, core, ends and mesh leave open.

    Parameters
    ----------
    motor, winding, model, settings
    factor : Headline
        End factor.
    rated_torque : float
        N m. A core that hardly cogs is computed as well as its loaded torque is, no better.
    known : Unknowns, optional
        Of the same section with other turns or stack length: what its core leaves open holds.
    """
    peak = model.cogging_peak_to_peak / 2
    floor = 2e-2 * settings.cogging_error * rated_torque
    cogging_error = max(settings.cogging_error, floor / peak if peak else 1.0)
    low, high = 1 - REMANENCE_SPREAD, 1 + REMANENCE_SPREAD
    flux: dict[str, Ratios] = {"magnets": (low, high)}
    cogging = {"magnets": (low**2, high**2)}  # cogging goes with the square of the field
    because = {
        "magnets": f"magnets ±{REMANENCE_SPREAD:.0%}",
        "mesh": f"mesh ±{settings.flux_error:.2%}",
    }
    span = motor.stator.core.relative_permeability_range
    if span is not None:
        if known is None:
            linkage, cogs = permeability_ratios(motor, winding, span, as_given=model.solved)
            flux["core"] = float(linkage[0]), float(linkage[1])
            cogging["core"] = sizes(float(cogs[0]), float(cogs[1]))
        else:
            flux["core"], cogging["core"] = known.flux["core"], known.cogging["core"]
        because["core"] = f"core permeability {span[0]:g} to {span[1]:g}"
    if factor.value is not None and factor.low is not None and factor.high is not None:
        flux["ends"] = factor.low / factor.value, factor.high / factor.value
        because["ends"] = f"ends {factor.low:.2f} to {factor.high:.2f} of the section's flux"
    flux["mesh"] = 1 - settings.flux_error, 1 + settings.flux_error
    cogging["mesh"] = max(0.0, 1 - cogging_error), 1 + cogging_error
    return Unknowns(flux=flux, cogging=cogging, because=because)
