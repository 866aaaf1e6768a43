"""How sure the losses are, what is not known of them, and what a maker should look at."""

from collections.abc import Mapping

from fem_motor.design import Motor
from fem_motor.findings import Finding
from fem_motor.losses.core import has_loss_law
from fem_motor.losses.records import Losses, LossRange
from fem_motor.quantities import MotorModel
from fem_motor.winding import Winding

STRAND_LIMIT = 0.2
"""Of the strands' eddy loss over that of direct current in copper; common practice (0.1 to 0.2)."""

MAGNET_LIMIT = 0.02
"""Of the magnets' and the ring's eddy loss over the shaft power; common practice, no source."""

SHEETS = LossRange(
    low=0.8,
    high=2.0,
    because="cutting small teeth raises the loss of sheet 1.2 to 2 times, turning flux in tooth "
    "tips 1.2 to 1.8 times (from memory); the split of the loss is an assumption",
)
FILLED = LossRange(
    low=0.3,
    high=3.0,
    because="no measurement of the loss of iron-filled plastic was found; scaled by mass from "
    "pressed iron powder",
)
ONE_STRAND = LossRange(
    low=0.8, high=1.2, because="where the wires lie in the slot, and the field of the currents"
)
MANY_STRANDS = LossRange(
    low=0.8,
    high=2.0,
    because="currents that circulate between parallel strands are not computed; twisting avoids "
    "them",
)
MAGNETS = LossRange(
    low=0.5,
    high=3.0,
    because="an estimate: the teeth alone, magnets in one piece; currents in the coils add to it",
)
RING = LossRange(
    low=0.2,
    high=3.0,
    because="an estimate: permeability and skin depth at the mean flux density, no reaction of the "
    "eddy currents; currents in the coils add to it",
)
WINDAGE = LossRange(
    low=0.7, high=3.0, because="smooth surfaces; holes and spokes take 2 to 5 times as much"
)
BEARING = LossRange(
    low=0.3,
    high=3.3,
    because="two small sealed ball bearings with 0.1 to 1 mN m each; the design does not say which",
)


def loss_ranges(motor: Motor, winding: Winding) -> Mapping[str, LossRange]:
    """Return how sure each estimated kind of loss is."""
    core = FILLED if motor.stator.core.iron_volume_fraction is not None else SHEETS
    return {
        "strand_eddy": ONE_STRAND if winding.strands == 1 else MANY_STRANDS,
        "core_teeth": core,
        "core_yoke": core,
        "magnet_eddy": MAGNETS,
        "ring_eddy": RING,
        "windage": WINDAGE,
        "bearing": BEARING,
    }


def unknown_losses(motor: Motor, model: MotorModel) -> tuple[Finding, ...]:
    """Return a finding for every loss that could not be computed."""
    core, magnet, ring = motor.stator.core, motor.rotor.magnet, motor.rotor.ring
    found = []
    if not has_loss_law(core):
        found.append(
            _unknown(
                "core loss",
                f"{core.name} has no density or no loss coefficients; the sums leave it out.",
                "give density_kg_per_m3 and hysteresis_loss, eddy_loss or excess_loss.",
            )
        )
    if magnet.resistivity is None:
        found.append(
            _unknown(
                "eddy loss of the magnets",
                f"the resistivity of {magnet.name} is not known; the sums leave the loss out.",
                "give resistivity_ohm_m; bonded magnets hardly conduct.",
            )
        )
    if ring is not None and (ring.resistivity is None or not model.is_as_designed):
        why = (
            f"the resistivity of {ring.name} is not known"
            if ring.resistivity is None
            else "it is computed for machines as designed only"
        )
        found.append(
            _unknown(
                "eddy loss of the ring",
                f"{why}; the sums leave the loss out.",
                "give resistivity_ohm_m." if ring.resistivity is None else "",
            )
        )
    return tuple(found)


def _unknown(name: str, why: str, do: str) -> Finding:
    return Finding(name=name, status="watch", why=why, do=do)


def loss_findings(losses: Losses, *, shaft_power: float) -> tuple[Finding, ...]:
    """Return what a maker should look at in the losses of a loaded machine.

    Parameters
    ----------
    losses : Losses
    shaft_power : float
        W.

    Examples
    --------
    >>> losses = Losses(speed=600.0, watts={"copper": 10.0, "strand_eddy": 4.0}, ranges={})
    >>> print(loss_findings(losses, shaft_power=100.0)[0])
    watch  eddy loss of the strands over copper loss: 0.4 (at most 0.2)
      why: the turning magnets drive 4 W of eddy currents in the wire, against 10 W by current.
      do:  wind more strands of thinner wire, twisted: the loss goes with the diameter squared.
    """
    watts = losses.watts
    copper, strand = watts.get("copper", 0.0), watts.get("strand_eddy", 0.0)
    rotor = watts.get("magnet_eddy", 0.0) + watts.get("ring_eddy", 0.0)
    found = []
    if copper > 0:
        much = strand > STRAND_LIMIT * copper
        found.append(
            Finding(
                name="eddy loss of the strands over copper loss",
                status="watch" if much else "ok",
                value=strand / copper,
                limit=STRAND_LIMIT,
                why=f"the turning magnets drive {strand:.3g} W of eddy currents in the wire, "
                f"against {copper:.3g} W by current.",
                do="wind more strands of thinner wire, twisted: the loss goes with the diameter "
                "squared."
                if much
                else "",
            )
        )
    if shaft_power > 0:
        much = rotor > MAGNET_LIMIT * shaft_power
        found.append(
            Finding(
                name="eddy loss of the rotor over shaft power",
                status="watch" if much else "ok",
                value=rotor / shaft_power,
                limit=MAGNET_LIMIT,
                why=f"the passing teeth drive an estimated {rotor:.3g} W of eddy currents in "
                "magnets and ring.",
                do="divide the magnets along the shaft, or narrow the slot openings."
                if much
                else "",
            )
        )
    return tuple(found)
