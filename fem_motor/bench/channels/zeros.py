"""What the channels read at rest, and taking it off the load cells."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from fem_motor.arrays import FloatArray
from fem_motor.bench.bins import at_rest, bins_of, reading_of, stretches
from fem_motor.bench.log_file.column_map import ColumnMap, wants_tare
from fem_motor.bench.records import BenchLog, Channel, Reading, Zero
from fem_motor.findings import Finding

_ZEROED: tuple[Channel, ...] = ("thrust", "torque", "current")
_TARED = 2
"""Stretches at rest from which drift between them can be told."""


def take_zeros(log: BenchLog, rules: ColumnMap) -> BenchLog:
    """Return the log less the zeros of its load cells, straight lines between stretches at rest.

    Channels that the column map says not to tare (and the current, unless it says so) are left as
    they are; their zeros are noted all the same.
    """
    bins = bins_of(log)
    spans = [
        slice(int(bins.first_row[a]), int(bins.last_row[b]) + 1)
        for a, b in stretches(at_rest(bins), bins)
    ]
    channels, zeros = dict(log.channels), dict(log.zeros)
    findings = list(log.findings)
    for name in _ZEROED:
        if name not in channels:
            continue
        wanted = wants_tare(name, rules)
        rests = _rests(log, name, spans)
        if not rests:
            findings += [_no_rest(name)] if wanted else []
            continue
        at = [float(log.time[rows].mean()) for rows, _ in rests]
        levels = [reading.mean for _, reading in rests]
        zeros[name] = _zero(levels, [reading for _, reading in rests], wanted)
        if wanted:
            channels[name] = channels[name] - _line(log.time, at, levels)
            findings.append(_tared(name, levels))
    return replace(log, channels=channels, zeros=zeros, findings=tuple(findings))


def _rests(log: BenchLog, name: Channel, spans: Sequence[slice]) -> list[tuple[slice, Reading]]:
    found = []
    for rows in spans:
        reading = reading_of(log.time[rows], log.channels[name][rows])
        if reading is not None:
            found.append((rows, reading))
    return found


def _line(time: FloatArray, at: Sequence[float], levels: Sequence[float]) -> FloatArray | float:
    return levels[0] if len(levels) == 1 else np.interp(time, at, levels)


def _zero(levels: Sequence[float], rests: Sequence[Reading], wanted: bool) -> Zero:  # noqa: FBT001  (private)
    """Return the record; between two stretches the zero is somewhere between theirs.

    A rectangle of half-width |difference|/2 has the standard uncertainty half-width/√3
    (JCGM 100, 4.3.7).
    """
    widest = max((abs(b - a) for a, b in pairwise(levels)), default=0.0)
    own = max(reading.uncertainty for reading in rests)
    return Zero(
        first=levels[0],
        last=levels[-1],
        uncertainty=float(np.hypot(widest / 2 / np.sqrt(3), own)),
        stretches=len(levels),
        is_taken_off=wanted,
    )


def _tared(name: Channel, levels: Sequence[float]) -> Finding:
    one = len(levels) < _TARED
    why = "from the only stretch at rest: drift cannot be told. " if one else ""
    why += f"{len(levels)} stretches at rest, {min(levels):.4g} to {max(levels):.4g}."
    return Finding(
        name=f"zero of {name} taken off",
        status="watch" if one else "ok",
        value=levels[0],
        why=why,
        do="log ten seconds at rest before and after the run." if one else "",
    )


def _no_rest(name: Channel) -> Finding:
    return Finding(
        name=f"zero of {name}",
        status="watch",
        why="the log has no stretch at rest, so the zero of the load cell is taken as it is.",
        do="log ten seconds at rest, everything mounted, before and after the run.",
    )
