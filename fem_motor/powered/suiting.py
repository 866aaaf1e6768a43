"""Rows of turns and wire, the best of them, and whether the design's suit its load."""

from dataclasses import dataclass

from fem_motor.findings import Finding

AS_GOOD = 0.05
"""Share of the power within which turns count as equally good; then more turns are better, for
they take less current and leave more seconds. Ours."""

SUITS = 0.05
"""Share of the power that may be lost before the turns are said not to suit; ours."""

WITHIN_HEAT = 1.25
"""Full throttle over lasting power up to which the turns suit: a third less throttle; ours."""

EQUAL_COPPER = (
    "With the same copper in the slots the motor constant (torque over the root of the copper "
    "loss) is the same whatever the turns: half the turns of twice the wire turn twice as fast for "
    "each volt and take twice the current, with the same torque, loss and heat. Turns do not make "
    "a motor stronger; they fit it to the battery and the load."
)
"""Why turns are chosen last. Source: D. Hanselman, Brushless Permanent Magnet Motor Design (2006),
from memory; power balance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnsRow:
    """One number of turns with the wire that fits, at full throttle on the design's load.

    Attributes
    ----------
    turns : int
        On a tooth.
    strands : int
        Wires in hand.
    wire_diameter_mm : float
        Bare.
    wire_awg : int or None
        None: a metric wire.
    copper_share : float
        Of the design's copper that whole wires leave.
    speed_constant_rpm_per_V : float
        Six-step on a DC supply.
    resistance_line_line_ohm : float
        With leads, 20 °C.
    motor_constant_Nm_per_sqrtW : float
        Sine, 20 °C, without leads.
    load_shaft_power_W, load_supply_current_A : float or None
        At full throttle, 20 °C; None where the motor does not reach its load.
    continuous_shaft_power_W : float or None
        Largest along the load's line, up to full throttle, for which no part passes its limit.
    seconds_to_soften_core : float or None
        At full throttle from cold; None: never.
    limit : str
        What ends the power: supply, current limit, controller speed, start, or the part.
    """

    turns: int
    strands: int
    wire_diameter_mm: float
    wire_awg: int | None
    copper_share: float
    speed_constant_rpm_per_V: float
    resistance_line_line_ohm: float
    motor_constant_Nm_per_sqrtW: float
    load_shaft_power_W: float | None
    load_supply_current_A: float | None
    continuous_shaft_power_W: float | None
    seconds_to_soften_core: float | None
    limit: str

    @property
    def lasting(self) -> float:
        """Shaft power that this winding gives for good, W; 0 where none."""
        return self.continuous_shaft_power_W or 0.0

    @property
    def wire(self) -> str:
        """The wire in words."""
        size = f"AWG {self.wire_awg}" if self.wire_awg is not None else _millimetres(self)
        return f"{self.strands} × {size}"


def _millimetres(row: TurnsRow) -> str:
    return f"{row.wire_diameter_mm:.3g} mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class WindingToLoad:
    """Turns and wire against this supply, load and temperature limit.

    Attributes
    ----------
    rows : tuple of TurnsRow
        By turns; empty where there is no load.
    designed : TurnsRow or None
        The design's.
    best : TurnsRow or None
        The one that gives the most shaft power for good; of those that give as much, the one with
        the most turns.
    explanation : str
        Why the turns neither help nor harm what the core survives.
    finding : Finding
        Whether the design's turns suit, and what to do.
    """

    rows: tuple[TurnsRow, ...]
    designed: TurnsRow | None
    best: TurnsRow | None
    explanation: str
    finding: Finding


def best_of(rows: tuple[TurnsRow, ...]) -> TurnsRow | None:
    """Return the most turns of those that give as much as the most."""
    most = max((row.lasting for row in rows), default=0.0)
    good = [row for row in rows if row.lasting > 0 and row.lasting >= (1 - AS_GOOD) * most]
    return max(good, key=lambda row: row.turns, default=None)


def verdict(designed: TurnsRow | None, best: TurnsRow | None) -> Finding:
    """Return whether the design's turns suit, with what to wind instead."""
    name = "turns on a tooth, for this load"
    if designed is None or best is None:
        return Finding(
            name=name,
            status="stop",
            why="with no turns that were tried does the motor turn its load for good.",
            do="use a smaller load, a higher current_limit, or a core that bears more heat.",
        )
    loss = 1 - designed.lasting / best.lasting
    is_hot = (designed.load_shaft_power_W or 0.0) > WITHIN_HEAT * designed.lasting
    if loss <= SUITS and not (is_hot and best.turns > designed.turns):
        return Finding(
            name=name,
            status="ok",
            value=float(designed.turns),
            why=f"{_lasts(designed)}; the most with this copper is {best.lasting:.3g} W.",
        )
    more = best.turns > designed.turns
    do = f"{'more' if more else 'fewer'} turns: wind {best.turns} turns of {best.wire}"
    do += "; or keep these and give full throttle for bursts only." if more and is_hot else "."
    return Finding(
        name=name,
        status="watch",
        value=float(designed.turns),
        why=_why(designed, best, is_hot=is_hot),
        do=do,
    )


def _why(designed: TurnsRow, best: TurnsRow, *, is_hot: bool) -> str:
    words = _lasts(designed)
    if is_hot:
        words += f", but take {designed.load_shaft_power_W:.3g} W at full throttle"
    elif best.turns < designed.turns:
        words += f", ended by the {designed.limit} before the heat"
    words += f"; {best.turns} turns hold {best.lasting:.3g} W"
    if best.turns > designed.turns:
        words += f" and take {best.load_shaft_power_W:.3g} W at full throttle"
    if best.wire_diameter_mm < designed.wire_diameter_mm and best.turns > designed.turns:
        words += "; thinner strands lose less in the magnets' field"
    return words + "."


def _lasts(row: TurnsRow) -> str:
    return f"{row.turns} turns on a tooth hold {row.lasting:.3g} W at the shaft for good"


def without_load() -> WindingToLoad:
    """Return what is to be said where nothing is turned."""
    return WindingToLoad(
        rows=(),
        designed=None,
        best=None,
        explanation=EQUAL_COPPER,
        finding=Finding(
            name="turns on a tooth, for this load",
            status="watch",
            why="the design turns no load, so no number of turns suits it better than another.",
            do="give a [load] that turns: a propeller by its coefficients, or a torque curve.",
        ),
    )
