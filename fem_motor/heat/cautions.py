"""What can hurt: heat, fumes, water with electricity, in sentences for the report."""

from typing import Literal

_HEAT = """\
Windings above 60 °C burn skin, and the housing hides how hot they are: let the motor cool before \
you touch it, and measure rather than feel.
Overheated plastic, enamel, glue and potting give off vapours that irritate or poison: cut the \
power, leave, ventilate; do not breathe them.
Printed parts soften without warning and let magnets and shaft go: stay behind the guard, and give \
the first runs a thermometer and a time limit.
Temperatures and seconds are estimates with the ranges that stand beside them: test them with \
short runs before you rely on them."""

_WATER = """\
Enamel has pinholes: a bare winding under water leaks current and corrodes. Pot or varnish it \
twice, and test its insulation with the controller disconnected.
In or near water use batteries of extra-low voltage only: wet skin bears less than dry skin. \
Supplies fed by the mains belong to licensed practice under the local electrical code, with \
residual-current protection."""


def cautions(medium: Literal["air", "water"] = "air") -> tuple[str, ...]:
    """Return the cautions of a motor that gets hot, in air or in water.

    >>> len(cautions("air")), len(cautions("water"))
    (4, 6)
    """
    return tuple(f"{_HEAT}\n{_WATER}".splitlines() if medium == "water" else _HEAT.splitlines())
