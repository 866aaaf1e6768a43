"""What mechanics answers."""

from dataclasses import dataclass

from fem_motor.findings import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Mechanics:
    """Stresses and forces of the rotor, SI, with what they are held against.

    Attributes
    ----------
    top_speed, test_speed : float
        Highest speed and 1.2 times it, rad/s.
    hoop_stress : float or None
        Mean hoop stress of the wall that holds the magnets, at top speed, Pa (thin ring); None:
        nothing holds them.
    peak_hoop_stress : float or None
        The largest in it, at its inside, at top speed, Pa (thick ring).
    stress_at_test_speed : float or None
        As `peak_hoop_stress`, at the test speed, Pa.
    allowed_stress : float or None
        What the wall may bear, Pa; None: its strength is not known.
    overspeed_margin : float or None
        `allowed_stress` over `stress_at_test_speed`; 1 or more holds.
    magnet_pull : float
        What flings one magnet outwards at top speed, N.
    magnet_attraction : float
        What pulls one magnet inwards, N, as given.
    unbalanced_pull : float
        What pulls the rotor to one side, N, as given.
    bearing_load : float
        On all bearings together: side pull, weight and unbalance added up, N.
    gap_deflection : float or None
        How far the side pull bends the shaft, m; None: it does not hold.
    rotor_mass : float
        kg.
    rim_speed : float
        Of the outside at top speed, m/s.
    findings : tuple of Finding
    """

    top_speed: float
    test_speed: float
    hoop_stress: float | None
    peak_hoop_stress: float | None
    stress_at_test_speed: float | None
    allowed_stress: float | None
    overspeed_margin: float | None
    magnet_pull: float
    magnet_attraction: float
    unbalanced_pull: float
    bearing_load: float
    gap_deflection: float | None
    rotor_mass: float
    rim_speed: float
    findings: tuple[Finding, ...]
