"""Feed the program files that somebody spoilt, and look for what must never happen.

    python -m benchmarks.mutations [--number 10000] [--first 0] [--kind design]

The kinds are design, material, study, log, columns, prices, profile and checks. Each file is one
of ours with one to three pieces spoilt: bytes, lines, values, structure, encoding or size. File n
is the same on every desk. For each one: the program answers, or refuses with an error that says
why and what to do and exit status 2; no traceback, no bug report, nothing on stdout beside an
error, nothing over ten seconds, no new files, no nan or inf in an answer.
"""

import argparse
import contextlib
import io
import random
import re
import signal
import sys
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

from benchmarks.spoilt_kinds import KINDS, Kind, Source

PATIENCE_S = 10
NUMBERS = (
    "0", "-1", "1e308", "1e-308", "-0.0", "nan", "inf", "-inf", "1e400", "9" * 400, "0x10", "1_0",
    "true", '""', "[]", "{}", "[[[]]]", "1979-05-27", "'x'", "0.1.2", "1,5", "٣", "",
)  # fmt: skip
TEXTS = (
    '"',
    "'",
    "\\",
    "\x00",
    "\x1b[31m",
    "=",
    "[",
    "]]",
    "#",
    "<script>",
    "=1+1",
    "é",
    "\U0001f600",
)


def swap_number(data: bytes, rng: random.Random) -> bytes:
    """Return the file with one number replaced."""
    found = list(re.finditer(rb"(?<![\w.])-?\d+(?:\.\d+)?(?:e-?\d+)?", data))
    if not found:
        return data + rng.choice(NUMBERS).encode()
    chosen = rng.choice(found)
    return data[: chosen.start()] + rng.choice(NUMBERS).encode() + data[chosen.end() :]


def scale_number(data: bytes, rng: random.Random) -> bytes:
    """Return the file with one number a little or very different."""
    found = list(re.finditer(rb"(?<![\w.-])\d+(?:\.\d+)?", data))
    if not found:
        return data
    chosen = rng.choice(found)
    value = float(chosen[0]) * 10 ** rng.uniform(-3, 3) * rng.choice((1, 1, 1, -1))
    return data[: chosen.start()] + f"{value:.6g}".encode() + data[chosen.end() :]


def flip_bytes(data: bytes, rng: random.Random) -> bytes:
    """Return the file with some bytes changed."""
    spoilt = bytearray(data)
    for _ in range(rng.randint(1, 8)):
        spoilt[rng.randrange(len(spoilt))] = rng.randrange(256)
    return bytes(spoilt)


def insert_text(data: bytes, rng: random.Random) -> bytes:
    """Return the file with something in it that does not belong there."""
    place = rng.randrange(len(data))
    return data[:place] + rng.choice(TEXTS).encode() * rng.randint(1, 3) + data[place:]


def cut(data: bytes, rng: random.Random) -> bytes:
    """Return the file with a piece missing, or only a piece of it."""
    start, end = sorted((rng.randrange(len(data)), rng.randrange(len(data))))
    return data[:start] + data[end:] if rng.random() < 0.5 else data[start:end]


def move_lines(data: bytes, rng: random.Random) -> bytes:
    """Return the file with lines missing, doubled or in another order."""
    lines = data.splitlines(keepends=True)
    at, to = rng.randrange(len(lines)), rng.randrange(len(lines))
    way = rng.randrange(3)
    if way == 0:
        del lines[at]
    elif way == 1:
        lines.insert(to, lines[at])
    else:
        lines[at], lines[to] = lines[to], lines[at]
    return b"".join(lines)


def misspell(data: bytes, rng: random.Random) -> bytes:
    """Return the file with a letter of a word changed."""
    found = list(re.finditer(rb"[a-z_]{3,}", data))
    if not found:
        return data
    chosen = rng.choice(found)
    at = rng.randrange(chosen.start(), chosen.end())
    return data[:at] + rng.choice(b"abcxyz_").to_bytes(1, "big") + data[at + 1 :]


def encode(data: bytes, rng: random.Random) -> bytes:
    """Return the file in an encoding that is not ours, or with other line ends."""
    text = data.decode("utf-8", "replace")
    ways: tuple[Callable[[], bytes], ...] = (
        lambda: text.encode("utf-16"),
        lambda: text.encode("latin-1", "replace"),
        lambda: b"\xef\xbb\xbf" + data,
        lambda: data.replace(b"\n", b"\r\n"),
        lambda: data.replace(b"\n", b"\r"),
        lambda: b"",
        lambda: b"\x1f\x8b" + data,
    )
    return rng.choice(ways)()


def swell(data: bytes, rng: random.Random) -> bytes:
    """Return the file much longer, or with something deep or long in it."""
    ways: tuple[Callable[[], bytes], ...] = (
        lambda: data * rng.randint(2, 50),
        lambda: data + b"\nx = " + b"[" * 3000,
        lambda: data + b"\n# " + b"x" * 300_000,
        lambda: data + b"\n" + b"\n".join(b"key%d = %d" % (k, k) for k in range(3000)),
        lambda: data + b"\n\n" + b"a." * 500 + b"b = 1",
    )
    return rng.choice(ways)()


WAYS = (swap_number, swap_number, scale_number, scale_number, flip_bytes, insert_text, cut,
        move_lines, misspell, encode, swell)  # fmt: skip


def spoilt(kind: Kind, number: int) -> Source:
    """Return spoilt file `number`, under the name of the one it came from."""
    rng = random.Random(number)  # noqa: S311  (repeatable is what is wanted)
    name, data = rng.choice(kind.sources())
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        data = rng.choice(WAYS)(data or b"\n", rng)
    return Source(name, data)


class TooLongError(Exception):
    """The program did not come back in time."""


def faults_of(kind: Kind, file: Source) -> Iterator[str]:
    """Yield what the program did wrong with a spoilt file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / file.name
        path.write_bytes(file.data)
        out, err = io.StringIO(), io.StringIO()
        started = time.process_time()
        signal.signal(signal.SIGALRM, _too_long)
        signal.alarm(6 * PATIENCE_S)
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                status = kind.read(path)
        except BaseException as error:  # noqa: BLE001  (whatever it is, it is what is looked for)
            yield f"{type(error).__name__}: {error}"
            return
        finally:
            signal.alarm(0)
        seconds = time.process_time() - started  # of this process: others may share the machine
        if seconds > PATIENCE_S:
            yield f"took {seconds:.0f} s"
        yield from _bad_manners(status, out.getvalue(), err.getvalue())
        left = [one.name for one in Path(folder).iterdir() if one != path]
        if left:
            yield f"left behind: {left}"


def _bad_manners(status: int, out: str, err: str) -> Iterator[str]:
    if status not in {0, 1, 2}:
        yield f"exit status {status}"
    if "Traceback" in err or "this is a bug" in err:
        yield f"bug: {err[-300:]}"
    if status == 2 and out:
        yield f"an error and an answer: {out[:100]}"
    if status == 2 and not ("do:" in err and err.strip()):
        yield f"an error without advice: {err[:200]}"
    if status != 2 and re.search(r"\b(NaN|Infinity|nan|inf)\b", out):
        yield f"nonsense in the answer: {out[:200]}"


def _too_long(*_: object) -> None:
    raise TooLongError


def main() -> None:
    """Spoil, feed, and print what went wrong."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--number", type=int, default=10_000, help="files of each kind")
    parser.add_argument("--first", type=int, default=0, help="number of the first file")
    parser.add_argument("--kind", choices=tuple(KINDS), help="one kind only")
    parser.add_argument("--show", action="store_true", help="print the first file")
    options = parser.parse_args()
    warnings.simplefilter("error")
    kinds = [options.kind] if options.kind else list(KINDS)
    if options.show:
        sys.stdout.buffer.write(spoilt(KINDS[kinds[0]], options.first).data)
        return
    wrong = 0
    for name in kinds:
        words: Counter[str] = Counter()
        for number in range(options.first, options.first + options.number):
            faults = list(faults_of(KINDS[name], spoilt(KINDS[name], number)))
            words["faulty" if faults else "well met"] += 1
            for fault in faults:
                print(f"{name} {number}: {' '.join(fault.split())}", flush=True)
        wrong += words["faulty"]
        print(f"{name}: {', '.join(f'{count} {word}' for word, count in sorted(words.items()))}")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
