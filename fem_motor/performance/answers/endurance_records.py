"""What heat and turning leave of a motor: a line of the duty card, forces at top speed."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyRow:
    """So long at full throttle, and at least so long at rest, for ever.

    Attributes
    ----------
    on_s : float
        At full throttle.
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
    """Forces of turning at the highest speed; None where the strength is not known.

    Attributes
    ----------
    hoop_stress_MPa : float or None
        Mean over the wall that holds the magnets.
    magnet_pull_N : float
        What flings one magnet outwards.
    overspeed_margin : float or None
        What the wall may bear over its largest stress at 1.2 times this speed; 1 or more holds.
    unbalanced_pull_N : float
        What pulls the rotor to one side, without current.
    bearing_load_N : float
        On all bearings together: side pull, weight and unbalance.
    rotor_mass_kg : float
        Magnets, ring, housing and its closed end; shaft left out.
    """

    hoop_stress_MPa: float | None
    magnet_pull_N: float
    overspeed_margin: float | None
    unbalanced_pull_N: float
    bearing_load_N: float
    rotor_mass_kg: float
