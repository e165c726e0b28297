"""Arc-flow graphs by a general packing library, solved by HiGHS, where that model applies.

It knows makes with costs, several resources and hours, but no conflicts, no limits on the whole, and no
costs of an item that depend on the make. The library's programs ``vbp2afg`` and ``afg2mps`` write the model;
``pip install --no-deps pyvpsolver==3.1.4`` brings them.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sysconfig
import tempfile
from pathlib import Path

from tests.benchmarks.peers import highs
from tests.benchmarks.peers.child import Job, Teller, serve
from tests.benchmarks.peers.task import Task


def obstacle(task: Task) -> str:
    """Say why the model does not apply, or why it cannot be written; empty where it can."""
    if task.conflicts:
        return "it knows no conflicts"
    if task.rows or any(make.each for make in task.makes):
        return "it knows no limits on the whole and no costs of an item by machine"
    if len({item for make in task.makes for item in make.sizes}) < task.items:
        return "an item fits nowhere"
    if _program("vbp2afg") is None or _program("afg2mps") is None:
        return "vbp2afg is not installed (pip install --no-deps pyvpsolver==3.1.4)"
    return ""


def _program(name: str) -> str | None:
    path = os.pathsep.join((sysconfig.get_path("scripts"), os.environ.get("PATH", "")))
    return shutil.which(name, path=path)


def _written(task: Task) -> str:
    """Write a task in the library's own form for several kinds of bin; equal items are counted."""
    sizes = {item: size for make in task.makes for item, size in make.sizes.items()}
    counts: dict[tuple[float, ...], int] = {}
    for size in sizes.values():
        counts[size] = counts.get(size, 0) + 1
    lines = [str(len(task.makes[0].capacity)), str(len(task.makes))]
    for make in task.makes:
        units = -1 if make.units >= task.items else make.units
        lines.append(" ".join(str(round(figure)) for figure in (*make.capacity, make.fixed, units)))
    lines.append(str(len(counts)))
    for size, count in counts.items():
        lines += [f"1 {count}", " ".join(str(round(figure)) for figure in size)]
    return "\n".join(lines) + "\n"


def _run(job: Job, teller: Teller) -> None:
    assert job.task is not None
    reason = obstacle(job.task)
    if reason:
        teller.skip(reason)
        return
    with tempfile.TemporaryDirectory() as folder:
        bins, graph, model = (Path(folder) / f"task.{ending}" for ending in ("mvp", "afg", "mps"))
        bins.write_text(_written(job.task))
        for program, source, target in (("vbp2afg", bins, graph), ("afg2mps", graph, model)):
            left = job.seconds - teller.seconds
            try:
                done = subprocess.run(
                    [str(_program(program)), str(source), str(target)],
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                    timeout=max(0.01, left),
                    check=False,
                )
            except subprocess.TimeoutExpired:
                teller.last(False, None, reason="the time was up before the graph was written")
                return
            if done.returncode:
                teller.skip(f"{program} failed ({done.returncode})")
                return
        answer = highs.solve(model, max(0.01, job.seconds - teller.seconds), job, teller, job.task.constant)
    teller.last(answer.proven, answer.bound)


if __name__ == "__main__":
    serve(_run)
