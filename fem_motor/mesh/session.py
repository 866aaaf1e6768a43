"""gmsh, opened and closed so that nobody else notices."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

from fem_motor.errors import MeshError


@contextmanager
def gmsh_model(name: str) -> Iterator[Any]:
    """Open a gmsh model and yield the module; leave gmsh as it was, whatever happens.

    gmsh keeps one global state per process and would read the user's own configuration, which
    makes meshes differ between desks: the configuration is shut out. Where the caller works
    with gmsh already, his models and options are kept.
    """
    gmsh = _gmsh()
    was_open = bool(gmsh.isInitialized())
    previous, options = None, {}
    if was_open:
        previous = gmsh.model.getCurrent()
        options = {option: gmsh.option.getNumber(option) for option in _OPTIONS}
    else:
        gmsh.initialize(readConfigFiles=False, interruptible=False)
        _restore_broken_pipes()
    gmsh.model.add(name)
    try:
        for option, value in _OPTIONS.items():
            gmsh.option.setNumber(option, value)
        yield gmsh
    finally:
        if was_open:
            gmsh.model.remove()
            for option, value in options.items():
                gmsh.option.setNumber(option, value)
            gmsh.model.setCurrent(previous)
        else:
            gmsh.finalize()


def _restore_broken_pipes() -> None:
    """Let a pipe without a reader be an error again: gmsh makes it the end of the process.

    Else a worker that dies could take the program along that waits for it.
    """
    # Python's own table still has what stood before. Windows knows no such signal, and only the
    # main thread may set one.
    with suppress(AttributeError, ValueError, TypeError):
        signal.signal(signal.SIGPIPE, signal.getsignal(signal.SIGPIPE))


def _gmsh() -> Any:  # noqa: ANN401  (gmsh has no types)
    """Return gmsh; where it does not load, say so and who knows what is missing."""
    try:
        import gmsh  # noqa: PLC0415  (heavy; needs system libraries)
    except (ImportError, OSError) as error:
        raise MeshError(
            "cannot be made.",
            why=f"gmsh does not load: {error}.",
            do="run fem-motor doctor: it names each library that is missing and its package.",
            place="mesh",
        ) from error
    return gmsh


_OPTIONS = {
    "General.Terminal": 0,
    "General.Verbosity": 5,
    "General.NumThreads": 1,
    "Mesh.RandomSeed": 1,
    "Mesh.ElementOrder": 2,
    "Mesh.Algorithm": 6,
    "Mesh.SecondOrderLinear": 0,
    "Mesh.HighOrderOptimize": 0,
    "Mesh.MeshSizeExtendFromBoundary": 1,
    "Mesh.MeshSizeFromPoints": 1,
    "Mesh.MeshSizeFromCurvature": 0,
    "Mesh.MeshSizeMin": 0,
    "Mesh.MeshSizeMax": 1e22,
    "Mesh.MeshSizeFactor": 1,
    "Mesh.LcIntegrationPrecision": 1e-9,
    "Mesh.ToleranceEdgeLength": 0,
    "Mesh.RandomFactor": 1e-9,
    "Mesh.Smoothing": 1,
    "Mesh.RecombineAll": 0,
    "Mesh.SubdivisionAlgorithm": 0,
    "Mesh.SecondOrderIncomplete": 0,
    "Geometry.AutoCoherence": 0,
    "Geometry.Tolerance": 1e-12,
}
"""Those that change a mesh. Most are gmsh's defaults, stated because a caller who has gmsh open may
have changed them."""
