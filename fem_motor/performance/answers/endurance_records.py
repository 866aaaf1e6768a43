"""What heat and turning leave of a motor: a line of the duty card, forces at top speed."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyRow:
    """So long at full throttle, and at least so long at rest, for ever.

    Attributes
    ----------
    on_s : float
    rest_s : float or None
        0 where the load can stay on; None where no rest is long enough.
    rest_low_s, rest_high_s : float or None
        With films, contacts and mount at the ends of their ranges; the second is None where no
        rest need be long enough.
    part : str or None
        What sets it.
    """

    on_s: float
    rest_s: float | None
    rest_low_s: float | None
    rest_high_s: float | None
    part: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MechanicsSummary:
    """Forces of turning at the highest speed; None where the strength is not known."""

    hoop_stress_MPa: float | None
    magnet_pull_N: float
    overspeed_margin: float | None
    unbalanced_pull_N: float
    bearing_load_N: float
    rotor_mass_kg: float
