"""How soon a solve lets go when it is cancelled, by size and moment.

``python -m tests.benchmarks.letting_go [--sizes 200,1000,2000]`` cancels a solve while its programme is
written and while its first relaxation is solved, and prints the seconds until it gave what it had.
"""

from __future__ import annotations

import argparse
import sys
import threading
import time

from planner.domain.rules import Aim
from planner.domain.site import Site
from planner.placement.result import Options, Result
from planner.placement.worker import solve_apart
from planner.worker import Worker
from tests.benchmarks.generated import generated_site
from tests.kit.sites import tiny_site

MOMENTS_S = (0.5, 1.5, 5.0)


def let_go(site: Site, after_s: float) -> tuple[float, Result]:
    """Cancel a solve in a warm worker after some seconds; measure how long it goes on, and give its end."""
    cancel, moments = threading.Event(), list[float]()

    def stop() -> None:
        moments.append(time.monotonic())
        cancel.set()

    worker = Worker(("planner.placement.solve",))
    worker.run("planner.placement.solve:solve", tiny_site(0))
    timer = threading.Timer(after_s, stop)
    timer.start()
    result = solve_apart(worker, site, Options(time_s=120.0), cancel=cancel)
    ended = time.monotonic()
    timer.join()
    worker.close()
    return ended - moments[0], result


def main() -> int:
    """Print a row for each size and moment."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", default="200,1000,2000")
    for size in map(int, parser.parse_args().sizes.split(",")):
        site = generated_site(size, aims=(Aim.POWER,))
        for after_s in MOMENTS_S:
            seconds, result = let_go(site, after_s)
            print(
                f"{size:5} services, cancelled after {after_s:g} s: "
                f"{max(0.0, seconds):6.2f} s, {result.outcome}",
                flush=True,
            )
    return 0


if __name__ == "__main__":
    sys.exit(main())
