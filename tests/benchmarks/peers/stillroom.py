"""Our own side of the race: the site through the one door, like everybody's."""

from __future__ import annotations

from planner.placement import Options, Progress, solve
from tests.benchmarks.peers.child import Job, Teller, serve
from tests.benchmarks.peers.tasks import filling_of


def _run(job: Job, teller: Teller) -> None:
    assert job.site is not None
    aims = job.site.policy.aims

    def watch(progress: Progress) -> None:
        # Its best value while it runs may be a pool that is yet to be packed: only that of a plan counts.
        if progress.aim is aims[-1]:
            teller.better(progress.best if progress.state is not None else None, progress.bound)

    result = solve(job.site, Options(time_s=job.seconds, seed=job.seed), watch=watch)
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
    serve(_run)
