"""Winding factors, cogging periods and layouts of 36 pairs of slots and poles.

Two layers of tooth coils, belts of 60°. The same factors are tabulated by F. Magnussen and
C. Sadarangani, "Winding factors and Joule losses of permanent magnet machines with concentrated
windings", IEMDC 2003; N. Bianchi, S. Bolognani, M. Dai Pré and G. Grezzani, IEEE Trans. Ind. Appl.
42 (2006) no. 4; A. El-Refaie, IEEE Trans. Ind. Electron. 57 (2010) no. 1. The citations are from
memory; the digits were not copied from print but recomputed by a separate star of slots, not the
program's. Cogging periods: lcm of slots and poles, Z. Zhu and D. Howe, IEEE Trans. Energy
Convers. 15 (2000) 407, from memory.
"""

from typing import NamedTuple

ORDERS = (1, 3, 5, 7)
"""Harmonics of the electrical fundamental for which the table has a factor."""


class Row(NamedTuple):
    """One pair.

    Attributes
    ----------
    factors : tuple of float
        Winding factors of `ORDERS`, four digits.
    periods : int
        Of the cogging in a turn.
    period_deg : float
        Mechanical.
    pull_pairs : int
        Number of equal sectors; 1: the loaded rotor is pulled to one side.
    times : int
        Repetitions of `block` around the stator.
    block : str
        Tooth by tooth.
    """

    slots: int
    poles: int
    factors: tuple[float, float, float, float]
    periods: int
    period_deg: float
    pull_pairs: int
    times: int
    block: str

    @property
    def coils(self) -> tuple[str, ...]:
        """All teeth."""
        return tuple(self.block.split() * self.times)


# fmt: off
ROWS = (
    Row(6, 4, (0.8660, 0.0000, 0.8660, 0.8660), 12, 30.000, 2, 2, "U+ V+ W+"),
    Row(6, 8, (0.8660, 0.0000, 0.8660, 0.8660), 24, 15.000, 2, 2, "U+ W+ V+"),
    Row(9, 6, (0.8660, 0.0000, 0.8660, 0.8660), 18, 20.000, 3, 3, "U+ V+ W+"),
    Row(9, 8, (0.9452, 0.5774, 0.1398, 0.0607), 72, 5.000, 1, 1, "U+ U- U+ V+ V- V+ W+ W- W+"),
    Row(9, 10, (0.9452, 0.5774, 0.1398, 0.0607), 90, 4.000, 1, 1, "U+ W+ W- W+ V+ V- V+ U+ U-"),
    Row(9, 12, (0.8660, 0.0000, 0.8660, 0.8660), 36, 10.000, 3, 3, "U+ W+ V+"),
    Row(12, 8, (0.8660, 0.0000, 0.8660, 0.8660), 24, 15.000, 4, 4, "U+ V+ W+"),
    Row(
        12, 10, (0.9330, 0.5000, 0.0670, 0.0670), 60, 6.000, 2, 1,
        "U+ U- V- V+ W+ W- U- U+ V+ V- W- W+",
    ),
    Row(
        12, 14, (0.9330, 0.5000, 0.0670, 0.0670), 84, 4.286, 2, 1,
        "U+ W+ W- V- V+ U+ U- W- W+ V+ V- U-",
    ),
    Row(12, 16, (0.8660, 0.0000, 0.8660, 0.8660), 48, 7.500, 4, 4, "U+ W+ V+"),
    Row(15, 10, (0.8660, 0.0000, 0.8660, 0.8660), 30, 12.000, 5, 5, "U+ V+ W+"),
    Row(
        15, 14, (0.9514, 0.6155, 0.1732, 0.1111), 210, 1.714, 1, 1,
        "U+ U- U+ U- U+ V+ V- V+ V- V+ W+ W- W+ W- W+",
    ),
    Row(
        15, 16, (0.9514, 0.6155, 0.1732, 0.1111), 240, 1.500, 1, 1,
        "U+ W+ W- W+ W- W+ V+ V- V+ V- V+ U+ U- U+ U-",
    ),
    Row(15, 20, (0.8660, 0.0000, 0.8660, 0.8660), 60, 6.000, 5, 5, "U+ W+ V+"),
    Row(18, 12, (0.8660, 0.0000, 0.8660, 0.8660), 36, 10.000, 6, 6, "U+ V+ W+"),
    Row(
        18, 14, (0.9019, 0.3333, 0.0378, 0.1359), 126, 2.857, 2, 1,
        "U+ U- V- W- W+ U+ V+ V- W- U- U+ V+ W+ W- U- V- V+ W+",
    ),
    Row(18, 16, (0.9452, 0.5774, 0.1398, 0.0607), 144, 2.500, 2, 2, "U+ U- U+ V+ V- V+ W+ W- W+"),
    Row(18, 20, (0.9452, 0.5774, 0.1398, 0.0607), 180, 2.000, 2, 2, "U+ W+ W- W+ V+ V- V+ U+ U-"),
    Row(
        18, 22, (0.9019, 0.3333, 0.0378, 0.1359), 198, 1.818, 2, 1,
        "U+ W+ V+ V- U- W- W+ V+ U+ U- W- V- V+ U+ W+ W- V- U-",
    ),
    Row(18, 24, (0.8660, 0.0000, 0.8660, 0.8660), 72, 5.000, 6, 6, "U+ W+ V+"),
    Row(
        21, 20, (0.9531, 0.6259, 0.1820, 0.1237), 420, 0.857, 1, 1,
        "U+ U- U+ U- U+ U- U+ V+ V- V+ V- V+ V- V+ W+ W- W+ W- W+ W- W+",
    ),
    Row(
        21, 22, (0.9531, 0.6259, 0.1820, 0.1237), 462, 0.779, 1, 1,
        "U+ W+ W- W+ W- W+ W- W+ V+ V- V+ V- V+ V- V+ U+ U- U+ U- U+ U-",
    ),
    Row(24, 16, (0.8660, 0.0000, 0.8660, 0.8660), 48, 7.500, 8, 8, "U+ V+ W+"),
    Row(
        24, 20, (0.9330, 0.5000, 0.0670, 0.0670), 120, 3.000, 4, 2,
        "U+ U- V- V+ W+ W- U- U+ V+ V- W- W+",
    ),
    Row(
        24, 22, (0.9495, 0.6036, 0.1629, 0.0959), 264, 1.364, 2, 1,
        "U+ U- U+ U- V- V+ V- V+ W+ W- W+ W- U- U+ U- U+ V+ V- V+ V- W- W+ W- W+",
    ),
    Row(
        24, 26, (0.9495, 0.6036, 0.1629, 0.0959), 312, 1.154, 2, 1,
        "U+ W+ W- W+ W- V- V+ V- V+ U+ U- U+ U- W- W+ W- W+ V+ V- V+ V- U- U+ U-",
    ),
    Row(
        24, 28, (0.9330, 0.5000, 0.0670, 0.0670), 168, 2.143, 4, 2,
        "U+ W+ W- V- V+ U+ U- W- W+ V+ V- U-",
    ),
    Row(24, 32, (0.8660, 0.0000, 0.8660, 0.8660), 96, 3.750, 8, 8, "U+ W+ V+"),
    Row(27, 24, (0.9452, 0.5774, 0.1398, 0.0607), 216, 1.667, 3, 3, "U+ U- U+ V+ V- V+ W+ W- W+"),
    Row(27, 30, (0.9452, 0.5774, 0.1398, 0.0607), 270, 1.333, 3, 3, "U+ W+ W- W+ V+ V- V+ U+ U-"),
    Row(
        36, 30, (0.9330, 0.5000, 0.0670, 0.0670), 180, 2.000, 6, 3,
        "U+ U- V- V+ W+ W- U- U+ V+ V- W- W+",
    ),
    Row(36, 32, (0.9452, 0.5774, 0.1398, 0.0607), 288, 1.250, 4, 4, "U+ U- U+ V+ V- V+ W+ W- W+"),
    Row(
        36, 38, (0.9525, 0.6220, 0.1787, 0.1190), 684, 0.526, 2, 1,
        "U+ W+ W- W+ W- W+ W- V- V+ V- V+ V- V+ U+ U- U+ U- U+ "
        "U- W- W+ W- W+ W- W+ V+ V- V+ V- V+ V- U- U+ U- U+ U-",
    ),
    Row(36, 40, (0.9452, 0.5774, 0.1398, 0.0607), 360, 1.000, 4, 4, "U+ W+ W- W+ V+ V- V+ U+ U-"),
    Row(
        36, 42, (0.9330, 0.5000, 0.0670, 0.0670), 252, 1.429, 6, 3,
        "U+ W+ W- V- V+ U+ U- W- W+ V+ V- U-",
    ),
    Row(36, 48, (0.8660, 0.0000, 0.8660, 0.8660), 144, 2.500, 12, 12, "U+ W+ V+"),
)
# fmt: on
