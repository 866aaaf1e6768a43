"""The time column of a log: jumps, rollovers, repeats and holes, mended or told."""

from dataclasses import dataclass

import numpy as np

from fem_motor.arrays import BoolArray, FloatArray
from fem_motor.bench.records import Discarded
from fem_motor.errors import InputError
from fem_motor.findings import Finding

_MOST_JUMPS = 1000
"""A clock that goes back more often is none."""
_ROLLOVERS = {
    "a day": 86_400.0,
    "32 bits of microseconds": 2**32 * 1e-6,
    "32 bits of milliseconds": 2**32 * 1e-3,
    "16 bits of milliseconds": 2**16 * 1e-3,
}
"""s after which clocks start again."""
_COARSE = 0.2
"""Share of repeated stamps from which on the clock is coarse rather than its rows repeated."""
HOLE = 10.0
"""Median steps that make a hole in the log."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MendedClock:
    """Times of the rows that stay.

    Attributes
    ----------
    time : (n,)
        s from the first, strictly rising.
    kept : (m,) of bool
        Which of the rows given stay.
    dropped : tuple of Discarded
    findings : tuple of Finding
    """

    time: FloatArray
    kept: BoolArray
    dropped: tuple[Discarded, ...]
    findings: tuple[Finding, ...]


def mend_clock(time: FloatArray, *, file: str) -> MendedClock:
    """Return rising times from `time` (m,), s, with what was mended and dropped on the way.

    Raises
    ------
    InputError
        Where the column is no clock, or fewer than two rows stay.
    """
    kept = np.ones(len(time), dtype=bool)
    findings: list[Finding] = []
    time = np.array(time)
    out_of_order = _mend_jumps(time, kept, findings, file)
    stamps = time[kept]
    repeats = np.concatenate(([False], np.diff(stamps) <= 0)) if len(stamps) else kept[:0]
    repeated = 0
    if repeats.mean() > _COARSE if len(repeats) else False:
        stamps = _spread(stamps)
        findings.append(_coarse_finding(float(repeats.mean())))
    else:
        repeated = int(repeats.sum())
        stamps = stamps[~repeats]
        kept[np.flatnonzero(kept)[repeats]] = False
    if len(stamps) < 2 or stamps[-1] <= stamps[0]:  # noqa: PLR2004  (a log has a beginning and an end)
        raise InputError(
            "is no clock.", why="it does not rise.", place=f"{file}: time",
            do='name the right column in a column map: columns.time = { heading = "…" }.',
        )  # fmt: skip
    findings += _hole_finding(stamps)
    dropped = (
        Discarded(reason="time stamp out of order", rows=out_of_order),
        Discarded(reason="time stamp as in the row before", rows=repeated),
    )
    return MendedClock(
        time=stamps - stamps[0],
        kept=kept,
        dropped=tuple(entry for entry in dropped if entry.rows),
        findings=tuple(findings),
    )


def _mend_jumps(time: FloatArray, kept: BoolArray, findings: list[Finding], file: str) -> int:
    """Mend steps back in place; return how many rows were dropped for a wrong stamp."""
    backs = np.flatnonzero(np.diff(time) < 0) + 1
    if len(backs) > max(_MOST_JUMPS, 0) or len(backs) > len(time) / 4:
        raise InputError(
            "is no clock.", why=f"it goes back {len(backs)} times in {len(time)} rows.",
            place=f"{file}: time",
            do='name the right column in a column map: columns.time = { heading = "…" }.',
        )  # fmt: skip
    steps = np.diff(time)
    usual = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 1.0
    dropped = 0
    for at in backs.tolist():
        before = int(np.flatnonzero(kept[:at])[-1]) if kept[:at].any() else at
        if not kept[at] or time[at] >= time[before]:
            continue
        earlier = time[before - 1] if before > 0 else -np.inf
        if time[at] > earlier and time[before] - earlier > HOLE * usual:
            kept[before] = False  # one stamp was far ahead
            dropped += 1
        elif at + 1 < len(time) and time[at + 1] >= time[before]:
            kept[at] = False  # one stamp fell behind
            dropped += 1
        else:
            back = float(time[before] - time[at])
            time[at:] += _bridge(back, usual)
            findings.append(_jump_finding(back, at))
    return dropped


def _bridge(back: float, usual: float) -> float:
    """Return what to add after a step back: a rollover's period, or as if one usual step passed."""
    for period in _ROLLOVERS.values():
        if 0 < period - back < max(HOLE * usual, 1e-3 * period):
            return period
    return back + usual


def _jump_finding(back: float, row: int) -> Finding:
    kind = next(
        (name for name, period in _ROLLOVERS.items() if 0 < period - back < 1e-3 * period), None
    )
    why = (
        f"the clock goes back at data row {row + 1}; "
        + (f"it starts again after {kind}." if kind else "it was set, or the logger started again.")
    )  # fmt: skip
    return Finding(
        name="clock of the log, s back",
        status="watch",
        value=back,
        why=why,
        do="nothing: later rows are shifted to go on after it; log each run into a file of its "
        "own to be sure.",
    )


def _spread(stamps: FloatArray) -> FloatArray:
    """Return coarse stamps with the rows of each tick spread evenly over it."""
    starts = np.flatnonzero(np.concatenate(([True], np.diff(stamps) > 0)))
    counts = np.diff(np.concatenate((starts, [len(stamps)])))
    ticks = stamps[starts]
    usual = float(np.median(np.diff(ticks))) if len(ticks) > 1 else 1.0
    # A tick lasts to the next one, the last and those before a hole as long as usual.
    lengths = np.minimum(np.append(np.diff(ticks), usual), 2 * usual)
    within = np.arange(len(stamps)) - np.repeat(starts, counts)
    return np.asarray(np.repeat(ticks, counts) + within * np.repeat(lengths / counts, counts))


def _coarse_finding(share: float) -> Finding:
    return Finding(
        name="rows whose time stamp is that of the row before, share",
        status="watch",
        value=share,
        limit=_COARSE,
        why="the clock is coarser than the rows; they are spread evenly over each tick.",
        do="log the time in milliseconds.",
    )


def _hole_finding(time: FloatArray) -> list[Finding]:
    steps = np.diff(time)
    usual = float(np.median(steps))
    holes = steps[steps > HOLE * usual]
    if not len(holes):
        return []
    return [
        Finding(
            name="longest hole in the log, s",
            status="watch",
            value=float(holes.max()),
            limit=HOLE * usual,
            why=f"{len(holes)} holes, {float(holes.sum()):.4g} s together; no segment reaches "
            "across one.",
            do="look for a loose plug or a logger that is too slow, if they were not meant.",
        )
    ]
