"""Single readings that no sensor can mean: counter glitches, saturated and frozen channels."""

import numpy as np
from scipy.ndimage import median_filter

from fem_motor.arrays import BoolArray, FloatArray
from fem_motor.bench.records import Channel, Discarded
from fem_motor.findings import Finding

_NEIGHBOURS = 7
"""Samples of the running median that a glitch is held against: up to three in a row are seen."""
_GLITCH_SHARE = 0.2
"""Of the running median: a rotor does not change speed so much and back within three samples."""
_GLITCH_SIGMAS = 8.0
_GLITCHING: tuple[Channel, ...] = ("speed", "voltage", "throttle")
"""Counters and digital channels. Load cells and currents vibrate: their averages are robust."""
_LIVELY = 0.2
"""Share of equal neighbours up to which a channel is lively, so that equal ones in a row say
something; coarse or smoothed channels repeat themselves anyway."""
_SATURATED_RUN, _FROZEN_RUN = 5, 40
_MAD_TO_SIGMA = 1.4826
"""Of a normal distribution."""


def blank_bad_readings(
    rows: int, channels: dict[Channel, FloatArray]
) -> tuple[dict[Channel, FloatArray], tuple[Discarded, ...], tuple[Finding, ...]]:
    """Return the channels with NaN for glitches, saturated and frozen stretches, and what went.

    Speeds come back without their sign. `channels` is empty afterwards: a log of ten hours should
    not stand in the memory twice.
    """
    cleaned: dict[Channel, FloatArray] = {}
    blanked: list[Discarded] = []
    findings: list[Finding] = []
    for name in list(channels):
        given = channels.pop(name)
        values = np.abs(given) if name == "speed" else np.array(given)
        for reason, bad in (
            ("glitch of one to three samples", _glitches(name, values)),
            *_stuck(name, values),
        ):
            count = int(bad.sum())
            if count:
                values[bad] = np.nan
                blanked.append(Discarded(reason=f"{name}: {reason}", rows=count))
                findings.append(_finding(name, reason, count, rows))
        cleaned[name] = values
    return cleaned, tuple(blanked), tuple(findings)


def _finding(name: Channel, reason: str, count: int, rows: int) -> Finding:
    share = count / rows
    do = {
        "glitch of one to three samples": "shield the wire of the sensor, or filter its edges.",
        "at the end of its range": "use a sensor or a gain with more range: peaks are missing, "
        "and averages near the end are too small.",
        "frozen": "look for a loose plug, or a sensor bus that hangs.",
    }[reason]
    return Finding(
        name=f"readings of {name} set aside, {reason}, share",
        status="watch" if share < 0.01 else "stop",  # noqa: PLR2004  (one in a hundred spoils no average)
        value=share,
        limit=0.01,
        bound="at most",
        why=f"{count} of {rows} readings.",
        do=do,
    )


def filled(values: FloatArray) -> FloatArray:
    """Return a copy with each missing reading replaced by the last one before (or after) it."""
    good = np.isfinite(values)
    if good.all() or not good.any():
        return values
    at = np.where(good, np.arange(len(values)), 0)
    np.maximum.accumulate(at, out=at)
    at[: int(np.argmax(good))] = int(np.argmax(good))
    return np.asarray(values[at])


def _glitches(name: Channel, values: FloatArray) -> BoolArray:
    if name not in _GLITCHING or len(values) < 3 * _NEIGHBOURS:
        return np.zeros(len(values), dtype=bool)
    smooth = median_filter(filled(values), size=_NEIGHBOURS, mode="nearest")
    off = np.abs(values - smooth)
    noise = _MAD_TO_SIGMA * float(np.nanmedian(off)) if np.isfinite(off).any() else 0.0
    top = float(np.nanpercentile(smooth, 99)) if np.isfinite(smooth).any() else 0.0
    # The floor keeps the quantisation of a slow counter from looking like a glitch.
    limit = np.maximum(_GLITCH_SHARE * np.abs(smooth), 0.05 * abs(top)) + _GLITCH_SIGMAS * noise
    return np.asarray(off > limit)


def _stuck(name: Channel, values: FloatArray) -> list[tuple[str, BoolArray]]:
    """Return where a lively channel repeats itself: at an end of its range, or elsewhere."""
    good = np.flatnonzero(np.isfinite(values))
    nowhere = np.zeros(len(values), dtype=bool)
    if len(good) < 10 * _FROZEN_RUN or name == "throttle":
        return []
    kept = values[good]
    is_same = np.diff(kept) == 0
    starts = np.flatnonzero(np.concatenate(([True], ~is_same)))
    lengths = np.diff(np.append(starts, len(kept)))
    level = kept[starts]
    long = lengths >= _SATURATED_RUN
    # How lively the channel is apart from what may be stuck, and from plain zero.
    free = ~long & (level != 0)
    if lengths[free].sum() < len(kept) / 4 or lengths[free].mean() > 1 / (1 - _LIVELY):
        return []
    ends = (level == kept.max()) | (level == kept.min())
    found = []
    for reason, which in (
        ("at the end of its range", long & ends & (level != 0)),
        ("frozen", (lengths >= _FROZEN_RUN) & ~ends & (level != 0)),
    ):
        bad = nowhere.copy()
        bad[good[np.repeat(which, lengths)]] = True
        found.append((reason, bad))
    return found
