"""Our own side of the race: the site through its worker process, like everybody's."""

from __future__ import annotations

from planner.placement.result import Options, Progress
from planner.placement.worker import solve_apart
from planner.worker import Worker
from tests.benchmarks.peers.child import Job, Teller, limit_memory, serve
from tests.benchmarks.peers.tasks import filling_of

WORKER = Worker(("planner.placement.solve",))


def _run(job: Job, teller: Teller) -> None:
    assert job.site is not None
    aims = job.site.policy.aims

    def watch(progress: Progress) -> None:
        # Its best value while it runs may be a pool that is yet to be packed: only that of a plan counts.
        if progress.aim is aims[-1]:
            teller.better(progress.best if progress.state is not None else None, progress.bound)

    result = solve_apart(WORKER, job.site, Options(time_s=job.seconds, seed=job.seed), watch=watch)
    if result.plan is None:
        teller.last(
            False, None, note="; ".join((str(result.outcome), *(str(item.rule) for item in result.conflicts)))
        )
        return
    final, state = result.plan.aims[-1], result.plan.state
    teller.better(final.value, final.bound)
    teller.last(
        final.proven,
        final.bound,
        filling_of(job.site, state),
        cooling={season: sorted(names) for season, names in state.cooling.items()},
        earlier={str(aim.aim): aim.value for aim in result.plan.aims[:-1]},
    )


if __name__ == "__main__":
    limit_memory()
    WORKER.run("tests.kit.works:doubled", 1)  # the race begins once the solver is loaded
    serve(_run)
    WORKER.close()
