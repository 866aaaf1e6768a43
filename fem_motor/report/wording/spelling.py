"""Numbers on paper: they keep their unit on the line, and a check has them in its unit."""

import math
import re

from fem_motor.findings import Finding
from fem_motor.numbers import digits, scale_of

_NO_BREAK = "\u00a0"
_UNIT = r"(?:N m|rpm|mm|°C|A/mm|MPa|AWG|ohm|min|[nµmkM]?(?:V|A|W|N|H|Ω|T|K|m|g|s|Wb|Hz)|%)"
_BEFORE_A_UNIT = re.compile(rf"(?<=\d) (?={_UNIT}(?![A-Za-z]))")
_WIRE = re.compile(r"(?<=\d) × (?:AWG )?(?=\d)|(?<=AWG) (?=\d)")
_HALF_RANGE = re.compile(r"± (?=\d)")
_NEWTON_METRE = re.compile(r"(?<=\d.[nµmk]N) (?=m(?![A-Za-z]))|(?<=\d.N) (?=m(?![A-Za-z]))")
_UNIT_OF_A_NAME = re.compile(r", (N m|rpm|mm|m/s|MPa|°C|T|N|V|s|A|W)(?:(?= peak to peak)|(?=,|$))")
_FAR_BELOW = 1e-2
"""Part of its limit that a value is written to at least."""


def unbroken(text: str) -> str:
    r"""Return a text whose numbers and units do not part at the end of a line.

    >>> unbroken("12 mN m and 7000 rpm at 20 °C").replace("\xa0", "_")
    '12_mN_m and 7000_rpm at 20_°C'
    """
    text = _WIRE.sub(lambda found: found[0].replace(" ", _NO_BREAK), text)
    text = _HALF_RANGE.sub(f"±{_NO_BREAK}", text)
    return _NEWTON_METRE.sub(_NO_BREAK, _BEFORE_A_UNIT.sub(_NO_BREAK, text))


def check_words(finding: Finding) -> tuple[str, str]:
    """Return the name of a check without its unit, and its numbers in that unit.

    >>> check_words(Finding(name="air gap, mm", status="ok", value=0.8, limit=0.5))
    ('air gap', 'value 0.8 mm, should be at least 0.5 mm')
    >>> check_words(Finding(name="spread, N m", status="ok", value=2.3e-7, limit=4.4e-6))
    ('spread', 'value 0.23 µN m, should be at most 4.4 µN m')
    >>> check_words(Finding(name="share", status="ok", value=3.1e-5, limit=0.02))
    ('share', 'value 0.00003, should be at most 0.02')
    """
    value, limit = finding.value, finding.limit
    found = _UNIT_OF_A_NAME.search(finding.name)
    if value is None or not math.isfinite(value):
        return finding.name, ""
    unit = found[1] if found else ""
    name = finding.name
    if found:
        after = name[found.end() :]
        name = name[: found.start()] + ("," if after.startswith(" ") else "") + after
    factor, label = scale_of(max(abs(value), abs(limit or 0.0)), unit)
    words = f"value {_written(value / factor, (limit or 0.0) / factor)} {label}".rstrip()
    if limit is not None and math.isfinite(limit):
        asks = f"should be {finding.bound}" if finding.bound else "limit"
        words += f", {asks} {digits(limit / factor)} {label}".rstrip()
    return name, words


def _written(value: float, limit: float) -> str:
    """Return a number; one far below its limit without a power of ten."""
    if limit and abs(value) < _FAR_BELOW * abs(limit):
        places = max(1, 3 - math.floor(math.log10(abs(limit) or 1.0)))
        return f"{value:.{places}f}".rstrip("0").rstrip(".").replace("-0", "0")
    return digits(value)
