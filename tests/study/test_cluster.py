"""A cluster gives the table of one process, also where one of its workers is killed."""

import os
import signal
from pathlib import Path

import pytest
from distributed import LocalCluster
from small_studies import study_file

from fem_motor.batch import ResultStore
from fem_motor.errors import InputError
from fem_motor.study import cluster, load_study, run_study


@pytest.mark.slow
def test_a_worker_that_is_killed_changes_no_byte(tmp_path: Path) -> None:
    study = load_study(study_file(tmp_path))
    killed: list[int] = []
    with (
        LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as here,
        cluster(here.scheduler_address) as executor,
    ):

        def kill_one(done: int, _of: int) -> None:
            if done == 1 and not killed:
                killed.append(next(iter(here.workers.values())).pid)
                os.kill(killed[0], signal.SIGKILL)

        store = ResultStore(tmp_path / "cluster.sqlite")
        found = run_study(study, executor=executor, store=store, on_step=kill_one)
    assert killed
    alone = run_study(study)
    assert [row.outcome for row in found.rows] == [row.outcome for row in alone.rows]
    assert found.verdict == alone.verdict
    assert len(found.solved) == 3


@pytest.mark.slow
def test_workers_of_several_threads_are_refused() -> None:
    with LocalCluster(
        n_workers=1, threads_per_worker=2, processes=True, dashboard_address=None
    ) as here:
        address = here.scheduler_address
        with pytest.raises(InputError) as caught, cluster(address):
            pass
    assert str(caught.value) == (
        f"--cluster {address} has workers of several threads.\n"
        "  why: a process can mesh one design at a time.\n"
        f"  do:  start them by `dask worker {address} --nthreads 1 --nworkers N`."
    )
