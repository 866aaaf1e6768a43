"""What is installed and what is missing: packages, system libraries, machine."""

import ctypes
import os
import platform
import re
import subprocess
import sys
from importlib import metadata
from pathlib import Path

PACKAGES = (
    "numpy",
    "scipy",
    "scikit-fem",
    "cvxopt",
    "ezdxf",
    "gmsh",
    "matplotlib",
    "meshio",
    "pandas",
    "pillow",
    "reportlab",
    "threadpoolctl",
    "tomlkit",
)
# What libgmsh is linked against and a bare system lacks, with the Debian package that brings it.
DEBIAN_PACKAGES = {
    "libGL.so.1": "libgl1",
    "libGLU.so.1": "libglu1-mesa",
    "libX11.so.6": "libx11-6",
    "libXcursor.so.1": "libxcursor1",
    "libXext.so.6": "libxext6",
    "libXfixes.so.3": "libxfixes3",
    "libXft.so.2": "libxft2",
    "libXinerama.so.1": "libxinerama1",
    "libXrender.so.1": "libxrender1",
    "libfontconfig.so.1": "libfontconfig1",
    "libgcc_s.so.1": "libgcc-s1",
    "libgomp.so.1": "libgomp1",
    "libstdc++.so.6": "libstdc++6",
    "libz.so.1": "zlib1g",
}
_MISSING = re.compile(r"(\S+\.so[.\d]*): cannot open shared object file")
_KIB = 1024


def versions() -> dict[str, str | None]:
    """Return the versions of Python, the system and each package, None where one is missing."""
    found: dict[str, str | None] = {
        "python": platform.python_version(),
        "system": f"{platform.system()} {platform.release()} {platform.machine()}",
    }
    return found | {package: version_of(package) for package in ("fem_motor", *PACKAGES)}


def version_of(package: str) -> str | None:
    """Return the version of an installed package, None where it is not installed."""
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return None


def gmsh_failure() -> str | None:
    """Return why gmsh does not load, None where it does.

    It is tried in a process of its own: a library that crashes on loading takes only that along.
    """
    trial = subprocess.run(
        [sys.executable, "-c", "import gmsh"], capture_output=True, text=True, check=False
    )
    if trial.returncode == 0:
        return None
    lines = trial.stderr.strip().splitlines()
    return lines[-1] if lines else f"the process ended with status {trial.returncode}"


def missing_libraries(failure: str) -> tuple[str, ...]:
    """Return the system libraries that are missing, by the loader's message and by trial.

    The loader names only the first; the others that gmsh is known to need are tried as well.
    """
    named = _MISSING.findall(failure)
    if not named:
        return ()
    return tuple(dict.fromkeys([*named, *filter(_is_missing, DEBIAN_PACKAGES)]))


def remedy(libraries: tuple[str, ...]) -> str:
    """Return the command that installs what is missing, as far as it is known.

    >>> remedy(("libGLU.so.1", "libXft.so.2"))
    'install libGLU.so.1, libXft.so.2; on Debian and Ubuntu: apt-get install libglu1-mesa libxft2'
    """
    packages = [DEBIAN_PACKAGES[name] for name in libraries if name in DEBIAN_PACKAGES]
    debian = f"; on Debian and Ubuntu: apt-get install {' '.join(packages)}" if packages else ""
    return f"install {', '.join(libraries)}{debian}"


def _is_missing(name: str) -> bool:
    try:
        ctypes.CDLL(name)
    except OSError:
        return True
    return False


def free_memory_GiB() -> float | None:
    """Return the memory that is available, None where the system does not say."""
    try:
        text = Path("/proc/meminfo").read_text(encoding="ascii")
    except OSError:
        return None
    found = re.search(r"^MemAvailable:\s+(\d+) kB", text, re.MULTILINE)
    return int(found[1]) / _KIB**2 if found else None


def cores() -> int:
    """Return the number of processor cores that this process may use."""
    usable = getattr(os, "sched_getaffinity", None)
    return len(usable(0)) if usable else os.cpu_count() or 1


def blas_threads() -> dict[str, int]:
    """Return how many threads each linear-algebra library would use by itself."""
    import numpy as np
    import scipy.linalg
    from threadpoolctl import threadpool_info

    np.zeros(1), scipy.linalg.norm  # loaded, so that their libraries are seen
    return {pool["internal_api"]: int(pool["num_threads"]) for pool in threadpool_info()}
