"""Round enamelled wire: gauges and outer diameters."""

import numpy as np

from fem_motor.errors import MaterialError
from fem_motor.units import MM

GRADES = (1, 2)
"""Of the enamel; also the columns of the table."""

# Nominal bare diameter, largest outer diameter of grade 1 and grade 2, mm.
# Source: IEC 60317-0-1, from memory.
_ENAMEL_MM = np.array(
    [
        [0.200, 0.226, 0.239],
        [0.250, 0.281, 0.297],
        [0.315, 0.349, 0.367],
        [0.400, 0.439, 0.459],
        [0.500, 0.544, 0.566],
        [0.630, 0.679, 0.704],
        [0.800, 0.855, 0.884],
        [1.000, 1.062, 1.094],
        [1.250, 1.316, 1.349],
        [1.600, 1.670, 1.706],
    ]
)


def wire_diameter_from_awg(gauge: float) -> float:
    """Return the bare diameter of an American wire gauge, m.

    0.127 mm · 92^((36 − n)/39). Source: ASTM B258.

    >>> round(1e3 * wire_diameter_from_awg(24), 4)
    0.5106
    """
    return float(0.127 * MM * 92 ** ((36 - gauge) / 39))


def enamelled_diameter(bare_diameter: float, grade: int = 1) -> float:
    """Return the largest outer diameter of an enamelled wire, m; grade 1 or 2.

    Interpolated between the nominal sizes of IEC 60317-0-1 (from memory), and the same thickness
    of enamel beyond them.

    Raises
    ------
    MaterialError
        Where the grade is another one.

    >>> round(1e3 * enamelled_diameter(0.5e-3), 3)
    0.544
    """
    if grade not in GRADES:
        raise MaterialError(
            f"= {grade} is not tabulated.",
            why="the table of IEC 60317-0-1 here holds enamel of grade 1 (thin) and 2 (thick).",
            do="use 1 or 2.",
            place="grade",
        )
    nominal = _ENAMEL_MM[:, 0]
    build = _ENAMEL_MM[:, grade] - nominal
    return float(bare_diameter + MM * np.interp(bare_diameter / MM, nominal, build))
