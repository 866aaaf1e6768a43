"""What draft, standard and fine mean.

Held against reference machines (docs/verification.md), the error of the cogging torque over its
peak is at most 5 %, 1 % and 0.1 %; coil flux is ten times better.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Quality = Literal["draft", "standard", "fine"]


@dataclass(frozen=True, slots=True, kw_only=True)
class QualitySettings:
    """Settings of one quality and the errors that it promises.

    Attributes
    ----------
    angles_per_period : int
        Rotor angles in one cogging period.
    mesh_with_currents : str
        Quality of the mesh on which saturating machines are solved with currents.
    cogging_error, flux_error : float
        Over the peak.
    """

    angles_per_period: int
    mesh_with_currents: Literal["flux", "standard"]
    cogging_error: float
    flux_error: float


SETTINGS: Mapping[Quality, QualitySettings] = MappingProxyType(
    {
        "draft": QualitySettings(
            angles_per_period=12, mesh_with_currents="flux", cogging_error=5e-2, flux_error=5e-3
        ),
        "standard": QualitySettings(
            angles_per_period=16, mesh_with_currents="flux", cogging_error=1e-2, flux_error=1e-3
        ),
        "fine": QualitySettings(
            angles_per_period=24, mesh_with_currents="standard", cogging_error=1e-3, flux_error=1e-4
        ),
    }
)
