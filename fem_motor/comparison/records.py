"""Records of a comparison and of a ranking; their field names are those of the JSON."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal

from fem_motor.arrays import FloatArray, frozen
from fem_motor.findings import Finding, Headline
from fem_motor.plain import gap_finding, plain_data, provenance

Quality = Literal["draft", "standard", "fine"]
Hold = Literal["as-drawn", "supply-and-load"]
Goal = Literal[
    "continuous-power",
    "60-s-power",
    "continuous-torque",
    "motor-constant",
    "motor-constant-per-mass",
]
Verdict = Literal["gain", "tied", "no-gain", "loss"]

GOAL_NAMES: Mapping[Goal, str] = {
    "continuous-power": "continuous_shaft_power_W",
    "60-s-power": "shaft_power_for_60_s_W",
    "continuous-torque": "continuous_standstill_torque_Nm",
    "motor-constant": "motor_constant_Nm_per_sqrtW",
    "motor-constant-per-mass": "motor_constant_per_mass_Nm_per_sqrtW_kg",
}
"""Goals as they are typed, and the answer each is about."""

GOAL_WORDS: Mapping[Goal, str] = {
    "continuous-power": "shaft power that every part survives for good, along the load's line",
    "60-s-power": "shaft power that every part survives for 60 s from cold, along the load's line",
    "continuous-torque": "torque at standstill that every part survives for good",
    "motor-constant": "motor constant: torque over the root of the copper loss, 20 °C",
    "motor-constant-per-mass": "motor constant over the mass of core, copper and rotor",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Something that a fair comparison holds equal, or has to confess it does not.

    Attributes
    ----------
    what : str
    status : "equal", "taken from the first" or "differs"
    values : tuple of str
        One where all are equal, else one for each design.
    why : str
    """

    what: str
    status: Literal["equal", "taken from the first", "differs"]
    values: tuple[str, ...]
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curves:
    """What the picture of a comparison shows of one candidate.

    Attributes
    ----------
    speed_rpm, torque_Nm, shaft_power_W, load_torque_Nm : (n,)
        At full throttle, 20 °C; the load's torque at the same speeds, empty without a load.
    held_power_W, seconds_to_soften : (m,)
        Seconds from cold until the core is soft when it gives that shaft power along the load's
        line; empty where the core does not soften or there is no load.
    """

    speed_rpm: FloatArray
    torque_Nm: FloatArray
    shaft_power_W: FloatArray
    load_torque_Nm: FloatArray
    held_power_W: FloatArray
    seconds_to_soften: FloatArray

    def __post_init__(self) -> None:
        for name in self.__slots__:
            object.__setattr__(self, name, frozen(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """One design of a comparison.

    Attributes
    ----------
    title, file : str
    answers : mapping of name to Headline
    winding : str
        Turns and wire it is compared with.
    limiting_part : str or None
        What gives way first at the goal.
    limiter : str
        Where its magnets' drive goes.
    curves : Curves
    design : mapping
        The complete design as compared.
    """

    title: str
    file: str
    answers: Mapping[str, Headline]
    winding: str
    limiting_part: str | None
    limiter: str
    curves: Curves
    design: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Versus:
    """One candidate over the best.

    Attributes
    ----------
    file : str
    of : str
        The best one's file.
    gain_fraction, low, high : float
    verdict : Verdict
    why : str
    """

    file: str
    of: str
    gain_fraction: float
    low: float
    high: float
    verdict: Verdict
    why: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparison:
    """Designs side by side.

    Attributes
    ----------
    version, quality : str
    goal : Goal
        By which they are ordered.
    hold : Hold
    held_equal : tuple of Held
    candidates : tuple of Candidate
        As given.
    order : tuple of str
        Files, best first.
    ties : tuple of tuple of str
        Files whose difference may go either way.
    differences : tuple of Versus
        Each but the best against the best.
    verdict : tuple of str
        Sentences.
    findings : tuple of Finding
    """

    version: str
    quality: str
    goal: Goal
    hold: Hold
    held_equal: tuple[Held, ...]
    candidates: tuple[Candidate, ...]
    order: tuple[str, ...]
    ties: tuple[tuple[str, ...], ...]
    differences: tuple[Versus, ...]
    verdict: tuple[str, ...]
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain data for JSON, by the field names."""
        return _plain(self, "fem_motor.comparison")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a change costs, as changed less as it was.

    Attributes
    ----------
    cogging_peak_to_peak_Nm, ripple_peak_to_peak_fraction : float or None
    mass_kg, outer_diameter_mm, length_mm : float
    money : float or None
        In the currency of the prices; None where a price is missing.
    currency : str or None
    money_missing : tuple of str
        Materials without a price.
    """

    cogging_peak_to_peak_Nm: float | None
    ripple_peak_to_peak_fraction: float | None
    mass_kg: float
    outer_diameter_mm: float
    length_mm: float
    money: float | None = None
    currency: str | None = None
    money_missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeResult:
    """What a change, or doing nothing, does for the goal.

    Attributes
    ----------
    key : str
        ``section.key``; "nothing" for doing nothing.
    from_value, to_value : object
        "from" and "to" in the JSON.
    title : str
        In the maker's words.
    also : mapping of key to value
        What has to change with it.
    gain_fraction, low, high : float or None
        Of the goal; None where it could not be computed, with the reason.
    gain_per_unit : float or None
        The gain over the difference of the values, per unit of the key: how steep the goal is on
        the way to this step. None where no number changes, or something else with it.
    value : float or None
        The goal's value after the change.
    other_gains : mapping of goal to gain
        The same for the other goals, likely values.
    cost : Cost or None
    verdict : Verdict or None
        None where it could not be computed.
    why : str
    limiting_part : str or None
    limiter : str
    quality : str
        Of the mesh behind these numbers.
    """

    key: str
    from_value: object
    to_value: object
    title: str
    also: Mapping[str, object] = field(default_factory=dict)
    gain_fraction: float | None = None
    low: float | None = None
    high: float | None = None
    gain_per_unit: float | None = None
    value: float | None = None
    other_gains: Mapping[Goal, float] = field(default_factory=dict)
    cost: Cost | None = None
    verdict: Verdict | None = None
    why: str = ""
    limiting_part: str | None = None
    limiter: str = ""
    quality: str = ""

    def __post_init__(self) -> None:
        for name in ("also", "other_gains"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))


@dataclass(frozen=True, slots=True, kw_only=True)
class PairResult:
    """Two changes at once.

    Attributes
    ----------
    first, second : ChangeResult
        Each by itself; without numbers where it cannot be built alone.
    both : ChangeResult
    together : "add up", "help each other", "get in each other's way" or "only together"
    """

    first: ChangeResult
    second: ChangeResult
    both: ChangeResult
    together: Literal["add up", "help each other", "get in each other's way", "only together"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A change that cannot be built, and why.

    Attributes
    ----------
    key, title : str
    from_value, to_value : object
    why : str
    """

    key: str
    title: str
    from_value: object
    to_value: object
    why: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ranking:
    """What to change first.

    Attributes
    ----------
    version, quality, screening_quality : str
        Of the finalists, and of the rest.
    title, file : str
    goal : Goal
        The one that was looked at.
    goal_words : str
    hold : Hold
    base : mapping of name to Headline
        Each goal that can be computed, of the design as it is.
    base_limiting_part : str or None
    base_limiter : str
    changes : tuple of ChangeResult
        Best first; doing nothing among them.
    pairs : tuple of PairResult
        Best first.
    refused : tuple of Refusal
    limits : mapping of key to words
        Within which changes were looked for.
    next_limit : str
        What limits the motor after the best change, or pair.
    verdict : tuple of str
        Sentences.
    findings : tuple of Finding
    """

    version: str
    quality: str
    screening_quality: str
    title: str
    file: str
    goal: Goal
    goal_words: str
    hold: Hold
    base: Mapping[str, Headline]
    base_limiting_part: str | None
    base_limiter: str
    changes: tuple[ChangeResult, ...]
    pairs: tuple[PairResult, ...]
    refused: tuple[Refusal, ...]
    limits: Mapping[str, str]
    next_limit: str
    verdict: tuple[str, ...]
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain data for JSON, by the field names, with "from" and "to"."""
        return _plain(self, "fem_motor.ranking")


_JSON_NAMES = {"from_value": "from", "to_value": "to"}
"""Names that Python keeps for itself."""


def _plain(result: Comparison | Ranking, format_name: str) -> dict[str, Any]:
    gaps: list[str] = []
    parts = {
        name: _renamed(plain_data(getattr(result, name), name, gaps)) for name in result.__slots__
    }
    parts["findings"] += [plain_data(gap_finding(place), "findings", []) for place in gaps]
    return {"format": format_name, **parts, "provenance": provenance(parts)}


def _renamed(value: Any) -> Any:  # noqa: ANN401  (JSON data)
    if isinstance(value, dict):
        return {_JSON_NAMES.get(key, key): _renamed(inside) for key, inside in value.items()}
    return [_renamed(inside) for inside in value] if isinstance(value, list) else value
