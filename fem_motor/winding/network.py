"""Between the terminals: what a meter reads across three branches in star or delta.

A phase is a branch: terminal to star point, or in delta U from U to V, V from V to W, W from W to
U. Pairs of terminals are in the order U-V, V-W, W-U. An open branch or lead has an infinite
resistance. All functions take further axes behind the first one.
"""

import numpy as np

from fem_motor.arrays import ComplexArray, FloatArray
from fem_motor.design import Connection


def terminal_resistances(
    branches: FloatArray, leads: FloatArray, connection: Connection
) -> FloatArray:
    """Return the resistance of each pair of terminals, (3, …) ohm, with its two leads.

    Parameters
    ----------
    branches, leads : (3, …)
        Of the phases and of the leads U, V, W, ohm.
    connection : "star" or "delta"

    >>> terminal_resistances(np.array([1.0, 2.0, 3.0]), np.zeros(3), "star").tolist()
    [3.0, 5.0, 4.0]
    >>> terminal_resistances(np.array([3.0, 3.0, 3.0]), np.zeros(3), "delta").tolist()
    [2.0, 2.0, 2.0]
    """
    following, third = np.roll(branches, -1, axis=0), np.roll(branches, -2, axis=0)
    both_leads = leads + np.roll(leads, -1, axis=0)
    if connection == "star":
        return np.asarray(branches + following + both_leads)
    return np.asarray(_parallel(branches, following + third) + both_leads)


def terminal_voltages(
    induced: ComplexArray, branches: FloatArray, leads: FloatArray, connection: Connection
) -> FloatArray:
    """Return the amplitude between each pair of open terminals, (3, …).

    In star the difference of two branches. In delta the voltages that do not add up to nothing
    drive a current around, which takes from each branch its share of the resistance: reactance
    is left out, which holds at the speed of a hand drill. Where a pair has no connection the
    meter reads nothing. Derived from Kirchhoff's laws.

    Parameters
    ----------
    induced : (3, …)
        Phasors of the voltages in the branches, any unit.
    branches, leads : (3, …)
        Ohm.
    connection : "star" or "delta"
    """
    if connection == "star":
        across = induced - np.roll(induced, -1, axis=0)
    else:
        across = induced - _shares(branches) * np.sum(induced, axis=0)
    closed = np.isfinite(terminal_resistances(branches, leads, connection))
    return np.where(closed, np.abs(across), 0.0)


def _parallel(one: FloatArray, other: FloatArray) -> FloatArray:
    with np.errstate(divide="ignore"):
        return np.asarray(1 / (1 / one + 1 / other))


def _shares(branches: FloatArray) -> FloatArray:
    """Return each branch's share of the resistance around the delta; an open one has it all."""
    is_open = np.isinf(branches)
    weights = np.where(np.any(is_open, axis=0), is_open, np.where(is_open, 0.0, branches))
    return np.asarray(weights / np.sum(weights, axis=0))
