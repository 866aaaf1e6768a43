"""A frozen prediction as a file: JSON with a hash of its content, so that nobody mends it later."""

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fem_motor.calibration.planned import NAMES, PlannedStep, Prediction, StopLimits
from fem_motor.calibration.predictions.prediction import predict
from fem_motor.design import MotorDesign
from fem_motor.errors import InputError
from fem_motor.findings import Headline
from fem_motor.plain import plain_data
from fem_motor.powered import PoweredMotor
from fem_motor.toml_file import is_number, read_text

FORMAT = "fem_motor.prediction"
KIND = "frozen prediction"


def prediction_text(prediction: Prediction, *, version: str) -> str:
    """Return the file of a prediction: its fields, and the hash of all of them."""
    plain: dict[str, Any] = {"format": FORMAT, "version": version}
    plain |= plain_data(prediction, "prediction", [])
    plain["content_hash"] = content_hash(plain)
    return json.dumps(plain, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def content_hash(plain: Mapping[str, Any]) -> str:
    """Return SHA-256 of all fields but the hash itself, in one fixed spelling."""
    rest = {name: value for name, value in plain.items() if name != "content_hash"}
    text = json.dumps(rest, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def freeze_prediction(
    path: str | Path,
    design: MotorDesign,
    *,
    powered: PoweredMotor,
    ends: Headline,
    date: str,
    log: str | Path,
    version: str,
) -> Prediction:
    """Write what a test of `design` should read into a new file, and return it.

    Parameters
    ----------
    path : path
    design, powered
        Solved.
    ends : Headline
        End factor.
    date, version : str
        Of today and of the program.
    log : path
        Of the test: where it is there already, the prediction is not blind.

    Raises
    ------
    InputError
        Where a file is there, or it cannot be written.
    """
    is_blind = not Path(log).exists()
    found = predict(design, powered, ends=ends, date=date, is_blind=is_blind)
    try:
        # x: the system itself refuses to overwrite.
        with Path(path).open("x", encoding="utf-8", newline="\n") as file:
            file.write(prediction_text(found, version=version))
    except FileExistsError as error:
        raise _wrong(
            path,
            "is left as it is.",
            why="a file of that name is there.",
            do="choose another name; a prediction is never written over.",
        ) from error
    except OSError as error:
        raise _wrong(
            path,
            "cannot be written.",
            why=f"{error.strerror or error}.",
            do="choose a folder that is there and that you may write to.",
        ) from error
    return found


def read_prediction(path: str | Path) -> Prediction:
    """Return a frozen prediction.

    Raises
    ------
    InputError
        Where it is no prediction, or was changed since it was frozen.
    """
    text = read_text(path, kind=KIND)
    try:
        plain = json.loads(text)
        if not isinstance(plain, dict) or plain.get("format") != FORMAT:
            raise _wrong(
                path,
                "is no frozen prediction.",
                why=f'its format is not "{FORMAT}".',
                do="give the file that --freeze wrote before the test.",
            )
        if plain.get("content_hash") != content_hash(plain):
            raise _wrong(
                path,
                "was changed after it was frozen.",
                why="its content does not give the hash that stands in it.",
                do="use the file as it was written, from your copy or its history.",
            )
        return _prediction(plain)
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise _wrong(
            path,
            "cannot be read as a frozen prediction.",
            why="it is not the JSON that --freeze writes.",
            do="use the file as it was written.",
        ) from error


def _wrong(path: str | Path, what: str, *, why: str, do: str) -> InputError:
    return InputError(what, why=why, do=do, place=str(path))


def _prediction(plain: Mapping[str, Any]) -> Prediction:
    limits = plain["limits"]
    return Prediction(
        title=str(plain["title"]),
        date=str(plain["date"]),
        is_blind=plain["is_blind"] is True,
        design=dict(plain["design"]),
        steps=tuple(
            PlannedStep(
                throttle=_number(step["throttle"]),
                values={name: _headline(step["values"][name]) for name in NAMES},
            )
            for step in plain["steps"]
        ),
        limits=StopLimits(
            current_A=_number(limits["current_A"]),
            speed_rpm=_number(limits["speed_rpm"]),
            winding_C=_number(limits["winding_C"]),
            because=str(limits["because"]),
        ),
        content_hash=str(plain["content_hash"]),
    )


def _headline(plain: Mapping[str, Any]) -> Headline:
    low, value, high = (_number(plain[name]) for name in ("low", "value", "high"))
    return Headline(value=value, low=low, high=high, because=str(plain["because"]))


def _number(value: object) -> float:
    if not is_number(value):
        message = "a number is missing"
        raise TypeError(message)
    return float(value)
