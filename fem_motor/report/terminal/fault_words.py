"""Winding faults, ranked by readings at the leads, in words."""

import textwrap
from collections.abc import Sequence

from fem_motor.winding import WindingFault

_MOST = 6
_LEAST_SCORE = 0.005
_WIDTH = 98


def faults_text(faults: Sequence[WindingFault]) -> str:
    """Return the explanations that carry weight, the likeliest first, each with what to do next."""
    lines = ["What the readings at the leads say, the likeliest first"]
    shown = [fault for fault in faults[:_MOST] if fault.score >= _LEAST_SCORE] or list(faults[:1])
    for fault in shown:
        lines += _wrapped(fault.cause, f"  {fault.score:>4.0%}  ")
        lines += _wrapped(fault.why, "         why:  ")
        lines += _wrapped(fault.next_measurement, "         next: ")
        if fault.cannot_tell:
            alike = "; ".join(fault.cannot_tell[:3])
            more = len(fault.cannot_tell) - 3
            tail = f"; and {more} more" if more > 0 else ""
            lines += _wrapped(f"{alike}{tail}.", "         the readings cannot tell it from: ")
    left = sum(fault.score for fault in faults) - sum(fault.score for fault in shown)
    if left > _LEAST_SCORE:
        lines.append(f"  {left:>4.0%}  all others together")
    lines += _wrapped(
        "Shares are computed: one fault at a time, readings good to 2 % (ohm) and 1 % (volt); the "
        "resistance of the wire may be off by 5 % and the magnets by 10 % without being a fault.",
        "  ",
    )
    return "\n".join(lines)


def _wrapped(text: str, first: str) -> list[str]:
    rest = " " * (2 if not first.strip() else 15)
    return textwrap.wrap(text, _WIDTH, initial_indent=first, subsequent_indent=rest)
