"""Numbers as a person reads them: few digits, a unit, a prefix that fits."""

import math

from fem_motor.findings import Headline

# Endings of names, longest first where one ends in another, and the unit that they stand for.
_UNITS = (
    ("_V_per_rad_per_s", "V s/rad"),
    ("_Nm_per_sqrtW", "N m/√W"),
    ("_Nm_per_A", "N m/A"),
    ("_rpm_per_V", "rpm/V"),
    ("_kg_per_m3", "kg/m³"),
    ("_m_per_s", "m/s"),
    ("_mohm", "mΩ"),
    ("_mNm", "mN m"),
    ("_ohm", "Ω"),
    ("_rpm", "rpm"),
    ("_deg", "°"),
    ("_MPa", "MPa"),
    ("_Nm", "N m"),
    ("_mm", "mm"),
    ("_Wb", "Wb"),
    ("_kg", "kg"),
    ("_H", "H"),
    ("_V", "V"),
    ("_A", "A"),
    ("_W", "W"),
    ("_C", "°C"),
    ("_T", "T"),
    ("_N", "N"),
    ("_m", "m"),
    ("_s", "s"),
)
_TAKES_PREFIX = frozenset(
    ("V s/rad", "N m/√W", "N m/A", "Ω", "N m", "Wb", "H", "V", "A", "W", "N", "m", "s")
)
_PREFIXES = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"))
# Powers of ten between which a number is written out in full.
_SMALLEST_EXPONENT, _LARGEST_EXPONENT = -4, 7
NOT_COMPUTED = "not computed"
NEVER = "never"
"""How the reason of an answer begins that has no number because the thing does not happen."""


def split_name(name: str) -> tuple[str, str]:
    """Return the words of a name and its unit, empty where it has none.

    >>> split_name("cogging_peak_to_peak_Nm")
    ('cogging peak to peak', 'N m')
    >>> split_name("fill_factor")
    ('fill factor', '')
    >>> split_name("winding_resistance_20C_ohm")
    ('winding resistance at 20 °C', 'Ω')
    """
    ending, unit = next((one for one in _UNITS if name.endswith(one[0])), ("", ""))
    words = name.removesuffix(ending).replace("_20C", "_at 20 °C")
    return words.replace("_", " "), unit


def digits(value: float, count: int = 4) -> str:
    """Return `value` with `count` significant digits, a power of ten only where it must be.

    >>> digits(123456.0), digits(0.0012345), digits(2.0), digits(1e-7)
    ('123500', '0.001234', '2', '1e-07')
    """
    if value == 0 or not math.isfinite(value):
        return f"{value:g}".replace("-0", "0")
    exponent = math.floor(math.log10(abs(value)))
    if not _SMALLEST_EXPONENT <= exponent <= _LARGEST_EXPONENT:
        return f"{value:.{count}g}"
    rounded = round(value, count - 1 - exponent)
    text = f"{rounded:.{max(0, count - 1 - exponent)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_uncertainty(value: float, uncertainty: float) -> tuple[str, str]:
    """Return a value and its standard uncertainty, both to the second digit of the uncertainty.

    Source: JCGM 100:2008, 7.2.6.

    >>> with_uncertainty(0.0242812, 4.03e-5), with_uncertainty(-4.594e-08, 2.3e-05)
    (('0.024281', '0.000040'), ('0.000000', '0.000023'))
    >>> with_uncertainty(3000.21, 0.631), with_uncertainty(2.5, 0.0)
    (('3000.21', '0.63'), ('2.5', '0'))
    """
    if not (uncertainty > 0 and math.isfinite(uncertainty) and math.isfinite(value)):
        return digits(value), digits(uncertainty)
    first = math.floor(math.log10(float(f"{uncertainty:.1e}")))
    places = max(0, 1 - first)
    near, spread = (f"{round(one, 1 - first):.{places}f}" for one in (value, uncertainty))
    return near.lstrip("-") if float(near) == 0 else near, spread


def scale_of(size: float, unit: str) -> tuple[float, str]:
    """Return what to divide by, and the unit with the prefix that makes `size` handy.

    >>> scale_of(0.0016, "N m"), scale_of(372.0, "rpm/V"), scale_of(0.14, "%")
    ((0.001, 'mN m'), (1.0, 'rpm/V'), (0.01, '%'))
    """
    if unit == "%":
        return 0.01, unit
    if unit == "kg":
        return (1e-3, "g") if abs(size) < 1 else (1.0, "kg")
    if unit == "s" and abs(size) >= 1:
        return 1.0, unit
    if unit not in _TAKES_PREFIX or size == 0 or not math.isfinite(size):
        return 1.0, unit
    for factor, prefix in _PREFIXES:
        if abs(size) >= 0.9995 * factor:
            return factor, prefix + unit
    return _PREFIXES[-1][0], _PREFIXES[-1][1] + unit


def quantity(value: float | None, unit: str = "", *, count: int = 4) -> str:
    """Return a value with its unit, for a sentence or a table.

    >>> quantity(0.0016, "N m"), quantity(0.0583, "kg"), quantity(2.5, "°"), quantity(None, "H")
    ('1.6 mN m', '58.3 g', '2.5°', 'not computed')
    >>> quantity(1578.0, "s"), quantity(2e-4, "s")
    ('1578 s', '200 µs')
    """
    if value is None:
        return NOT_COMPUTED
    factor, label = scale_of(value, unit)
    gap = "" if label in {"°", ""} else " "
    return f"{digits(value / factor, count)}{gap}{label}"


def value_and_range(headline: Headline, unit: str) -> tuple[str, str]:
    """Return an answer and its range ("low to high", "from low"), both with the same prefix.

    >>> value_and_range(Headline(value=2e-3, low=1.9e-3, high=2.1e-3, because=""), "Wb")
    ('2 mWb', '1.9 to 2.1')
    >>> value_and_range(Headline(value=None, low=None, high=None, because="never: 41 °C"), "s")
    ('never', '')
    >>> value_and_range(Headline(value=212.0, low=140.0, high=None, because=""), "s")
    ('212 s', 'from 140')
    """
    if headline.value is None:
        return (NEVER if headline.because.startswith(NEVER) else NOT_COMPUTED), ""
    factor, _ = scale_of(headline.value, unit)
    low, high = (
        None if end is None else digits(end / factor, 3) for end in (headline.low, headline.high)
    )
    if low is None:
        return quantity(headline.value, unit), ""
    return quantity(headline.value, unit), f"from {low}" if high is None else f"{low} to {high}"
