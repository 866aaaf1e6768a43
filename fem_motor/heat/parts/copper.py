"""Copper alone: temperature by resistance, conduction across the wires."""

INFERRED_ZERO = 234.5
"""K: copper's resistance, drawn as a straight line, ends at −234.5 °C (IEC 60034-1)."""


def copper_temperature(*, cold: float, cold_C: float, hot: float) -> float:
    """Return the mean temperature of a copper winding by its resistance, °C.

    T₂ = (R₂/R₁)(234.5 + T₁) − 234.5. Source: IEC 60034-1, from memory.

    Parameters
    ----------
    cold, hot : float
        Resistances, in the same unit.
    cold_C : float
        Temperature at the first.

    Examples
    --------
    >>> round(copper_temperature(cold=0.100, cold_C=20.0, hot=0.125), 1)
    83.6
    """
    return hot / cold * (INFERRED_ZERO + cold_C) - INFERRED_ZERO


def winding_conductivity(fill: float, *, filler: float, wire: float = 395.0) -> float:
    """Return the conductivity of a coil across its wires, W/(m K).

    k = k_f [(1+v) k_Cu + (1−v) k_f]/[(1−v) k_Cu + (1+v) k_f]: round wires that do not touch, the
    lower bound of Z. Hashin and S. Shtrikman in the plane; for windings N. Simpson, R. Wrobel,
    P. Mellor, IEEE Trans. Ind. Appl. 49 (2013), from memory.

    Parameters
    ----------
    fill : float
        v, share of copper.
    filler, wire : float
        k_f of what is between the wires, k_Cu of the wires, W/(m K).

    Examples
    --------
    >>> round(winding_conductivity(0.4, filler=0.2), 2)
    0.47
    """
    share = min(fill, 0.999)
    return (
        filler
        * ((1 + share) * wire + (1 - share) * filler)
        / ((1 - share) * wire + (1 + share) * filler)
    )
