"""Winding faults in words: the cause, what it does, what to measure next."""

from collections.abc import Mapping, Sequence

from fem_motor.arrays import FloatArray
from fem_motor.winding.suspects import FaultKind, Suspect
from fem_motor.winding.wound import Winding

PROPELLER_OFF = "with the propeller off and the leads open"

EFFECT: Mapping[FaultKind, str] = {
    "as described": "all three pairs of leads are alike.",
    "swapped leads": "swapped leads change no reading; the motor turns the other way.",
    "reversed coil": "a coil wound the other way round leaves the resistances alone and takes "
    "twice its voltage from its phase.",
    "lost turns": "a lost turn lowers resistance and voltage of its phase together.",
    "extra turns": "a turn too many raises resistance and voltage of its phase together.",
    "skipped coil": "a coil that is not connected lowers resistance and voltage of its phase.",
    "shorted turns": "shorted turns are missing from resistance and voltage of their phase, and "
    "the current that runs in them brakes the rotor and heats the coil (estimate at low speed).",
    "wrong phase": "a coil on another phase lowers the resistance of one phase and raises that of "
    "the other.",
    "reversed phase": "a phase with its ends swapped leaves the resistances alone; in star the "
    "line voltages then stand as 1 : √3 : 1.",
    "open phase": "a broken phase carries no current: in star two pairs are open, in delta all "
    "pairs are connected but unequal.",
    "open lead": "a broken lead opens its two pairs and leaves the third alone.",
    "open circuit": "a broken parallel circuit raises the resistance of its phase and leaves the "
    "voltages alone.",
    "bad joint in a phase": "a bad joint raises the resistance of its phase and leaves the "
    "voltages alone.",
    "bad joint in a lead": "a bad joint in a lead raises its two pairs alike and leaves the "
    "voltages alone.",
    "missing strands": "a strand that is not connected raises the resistance of its phase in steps "
    "of whole strands and leaves the voltages alone.",
}

_COMPASS = (
    "send a direct current of a few amperes through the phase for some seconds and go around the "
    "teeth with a compass: coils marked + and − must show opposite poles, and each its full share"
)
_COUNT = "read the inductance of each pair at the same rotor position: it goes with turns squared"

NEXT: Mapping[FaultKind, str] = {
    "as described": "none is needed for the winding; look at the rotor or the controller.",
    "swapped leads": "see which way the motor turns, propeller off; swap any two leads.",
    "reversed coil": f"{_COMPASS}.",
    "lost turns": f"{_COUNT}; then turn the rotor by hand, leads open: no drag means turns lost, "
    "drag means turns shorted.",
    "extra turns": f"{_COUNT}; then count the turns of the coil.",
    "skipped coil": f"{_COMPASS}.",
    "shorted turns": f"turn the rotor with a drill, {PROPELLER_OFF}: shorted turns brake it and "
    "warm one coil within a minute. Stop when it smells.",
    "wrong phase": f"{_COMPASS}.",
    "reversed phase": f"{_COMPASS}; or swap the two ends of the phase and read the voltages again.",
    "open phase": "look for the break with a continuity meter, from the lead coil by coil.",
    "open lead": "look at the lead and its joint with a continuity meter.",
    "open circuit": "look for the break with a continuity meter, circuit by circuit.",
    "bad joint in a phase": "send a few amperes of direct current through the phase and read "
    "millivolts across each joint; a bad one also grows warm. Then move the wires: a loose joint "
    "changes its reading.",
    "bad joint in a lead": "send a few amperes of direct current through the lead and read "
    "millivolts across its joint.",
    "missing strands": "send a direct current through the phase and read millivolts across the "
    "joints and along a coil: with a strand missing the whole coil has more, with a bad joint only "
    "the joint.",
}

SPIN = (
    f"turn the rotor with a drill at one known speed, {PROPELLER_OFF}, and read the voltage of all "
    "three pairs (they can be dangerous above 50 V); "
)


def cause_words(
    suspect: Suspect, winding: Winding, *, size: float, fitting_sizes: tuple[float, float]
) -> str:
    """Return the cause: what, where, and how much.

    Parameters
    ----------
    suspect : Suspect
    winding : Winding
    size : float
        Turns, ohm or strands that fit best.
    fitting_sizes : (float, float)
        Smallest and largest that fit nearly as well.
    """
    coil = f"coil of tooth {_or(suspect.teeth)}"
    turns = f"{size:.0f} {'turn' if size == 1 else 'turns'}"
    low, high = fitting_sizes
    fit = f" ({low:.0f} to {high:.0f} fit)" if high > low else ""
    phase, strands, circuits = suspect.phase, winding.strands, winding.parallel_circuits
    ohms = f"{size:.3g} Ω ({low:.2g} to {high:.2g} fit)"
    to, _, direction = suspect.target.partition(" ")
    words: dict[FaultKind, str] = {
        "as described": "nothing wrong with the winding",
        "swapped leads": "two leads swapped (harmless)",
        "reversed coil": f"{coil} reversed",
        "lost turns": f"{coil} short of {turns}{fit}",
        "extra turns": f"{coil} with {turns} too many{fit}",
        "skipped coil": f"{coil} not connected",
        "shorted turns": f"{turns} of the {coil} shorted{fit}",
        "wrong phase": f"{coil} on phase {to} instead of {phase}, direction {direction}",
        "reversed phase": f"phase {phase} with its two ends swapped",
        "open phase": f"phase {phase} open",
        "open lead": f"lead {phase} open",
        "open circuit": f"{size:.0f} of {circuits} circuits of phase {phase} open",
        "bad joint in a phase": f"bad joint in phase {phase}, {ohms}",
        "bad joint in a lead": f"bad joint in lead {phase}, {ohms}",
        "missing strands": f"{size:.0f} of {strands} strands of phase {phase} not connected",
    }
    return words[suspect.kind]


def why_words(
    kind: FaultKind,
    resistances: FloatArray,
    voltages: FloatArray | None,
    *,
    misfit: float,
    of: int,
) -> str:
    """Return the effect of a fault, what it predicts, and how well that fits.

    Parameters
    ----------
    kind : FaultKind
    resistances, voltages : (3,) or None
        Predicted, ohm and V.
    misfit : float
    of : int
        Number of readings.
    """
    text = f"{EFFECT[kind]} It predicts {_three(resistances)} Ω"
    if voltages is not None:
        text += f" and {_three(voltages)} V"
    return f"{text} at U-V, V-W, W-U; misfit {misfit:.1f} of {of} readings."


def next_measurement(kind: FaultKind, *, has_voltages: bool) -> str:
    """Return what to measure next."""
    return NEXT[kind] if has_voltages else SPIN + "then " + NEXT[kind]


def _three(values: FloatArray) -> str:
    return ", ".join("open" if value == float("inf") else f"{value:.4g}" for value in values)


def _or(teeth: Sequence[int]) -> str:
    *first, last = (str(tooth) for tooth in teeth) if teeth else ("",)
    return f"{', '.join(first)} or {last}" if first else last
