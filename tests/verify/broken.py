"""One plan or more for every rule of the judge, each broken in that rule and in nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from planner.domain.machines import Circuit, Role
from planner.domain.measures import Measure, SourceEffect
from planner.domain.plan import Outcome, Plan, Restart
from planner.domain.resources import Demand
from planner.domain.rules import Aim, Apart, Quorum, Together
from planner.domain.site import Site
from planner.domain.state import State
from tests.kit.plain import flat_sound
from tests.verify.clinic import (
    ALL_ON_HOST,
    SITE,
    TODAY,
    box,
    folded,
    plan_for,
    silent,
    unit,
    with_box,
    with_cooling,
    with_gpus,
    with_measure,
    with_policy,
    with_result,
    with_service,
)


@dataclass(frozen=True)
class Broken:
    """A plan for a site that breaks one rule; ``says`` is a part of the sentence about it."""

    rule: str
    says: str
    site: Site
    plan: Plan


def _state(rule: str, says: str, site: Site, state: State) -> Broken:
    return Broken(rule, says, site, silent(state))


PAIR = frozenset({"mail", "files"})
WITH_FILES_LEFT = box("birch", Role.HOST, "files")
DOOR_FAN = {"summer": frozenset({"split-unit"}), "winter": frozenset({"door-fan"})}
BOTH_IN_WINTER = {"summer": frozenset({"split-unit"}), "winter": frozenset({"split-unit", "door-fan"})}


def unknown() -> Iterator[Broken]:
    """List plans that name what is not there."""
    huge = replace(ALL_ON_HOST, kind="huge-host")
    yield _state("machine_known", "no kind huge-host", SITE, folded(huge))
    oak = replace(box("alder", Role.BARE), name="oak", box="oak")
    yield _state("machine_known", "no box oak", SITE, folded(ALL_ON_HOST, oak))
    both = replace(ALL_ON_HOST, name="alder", box="alder")
    yield _state("machine_known", "either", SITE, folded(both))
    first, second = unit("quiet-host", 1, "mail", "files"), unit("quiet-host", 1, "records-db")
    yield _state("machine_name", "2 machines are called quiet-host-1", SITE, folded(first, second))
    renamed = replace(box("alder", Role.BARE, "records-db", "mail"), name="old-alder")
    yield _state("machine_name", "box alder is called", SITE, folded(renamed, WITH_FILES_LEFT))
    switch = replace(ALL_ON_HOST, name="core-switch")
    yield _state("machine_name", "name of another thing", SITE, folded(switch))
    yield _state("circuit_known", "circuit-z", SITE, folded(replace(ALL_ON_HOST, circuit="circuit-z")))
    more = unit("quiet-host", 1, "records-db", "mail", "files", "payroll")
    yield _state("service_known", "payroll", SITE, folded(more))
    yield _state("measure_known", "no measure foam", SITE, folded(measures=["foam"]))
    ice = {"summer": frozenset({"split-unit"}), "winter": frozenset({"ice"})}
    yield _state("cooling_known", "no cooling option ice", SITE, folded(cooling=ice))
    autumn = {"summer": frozenset({"split-unit"}), "autumn": frozenset[str]()}
    yield _state("cooling_known", "no season autumn", SITE, folded(cooling=autumn))
    warm = {"summer": frozenset({"split-unit", "door-fan"})}
    yield _state(
        "cooling_season", "door-fan runs in summer; it can run in winter", SITE, folded(cooling=warm)
    )


def machines() -> Iterator[Broken]:
    """List plans with machines that may not be there, or not so."""
    three = (unit("quiet-host", n, name) for n, name in enumerate(("records-db", "mail", "files"), start=1))
    yield _state("units", "3 units of quiet-host; at most 2", SITE, folded(*three))
    tower = replace(unit("disk-tower", 1, "files"), role=Role.APPLIANCE)
    rest = unit("quiet-host", 1, "records-db", "mail")
    yield _state("role", "role appliance; it may be tower", SITE, folded(rest, tower))
    no_host = with_box("alder", may_host=False)
    alder, mail = box("alder", Role.HOST, "records-db"), unit("small-appliance", 1, "mail")
    hosted = folded(alder, mail, WITH_FILES_LEFT, cooling=TODAY.cooling)
    yield _state("role", "it may be bare", no_host, hosted)
    more = replace(SITE.supply, circuits=(*SITE.supply.circuits, Circuit("circuit-b", 230.0, 16.0, 2944.0)))
    moved = box("alder", Role.BARE, "records-db", "mail", circuit="circuit-b")
    rewired = folded(moved, WITH_FILES_LEFT, cooling=TODAY.cooling)
    yield _state("own_circuit", "its own circuit is", replace(SITE, supply=more), rewired)
    all_bare = box("alder", Role.BARE, "records-db", "mail", "files")
    yield _state("residents", "takes over files", SITE, folded(all_bare))
    appliance = unit("small-appliance", 1, "mail", "files")
    yield _state(
        "alone", "carries mail and files", SITE, folded(unit("quiet-host", 1, "records-db"), appliance)
    )
    yield _state("stays", "must stay on: tape", with_box("birch", stays="tape drive"), folded())
    yield _state("empty", "birch is on", SITE, folded(ALL_ON_HOST, box("birch", Role.HOST)))


def services() -> Iterator[Broken]:
    """List plans with services where they may not be."""
    yield _state(
        "service_once", "mail is carried by no", SITE, folded(unit("quiet-host", 1, "records-db", "files"))
    )
    twice = unit("disk-tower", 1, "mail")
    yield _state("service_once", "carried 2 times", SITE, folded(ALL_ON_HOST, twice))
    physical = with_service("mail", physical="fax card")
    yield _state("physical", "mail is a guest on quiet-host-1, but must not be: fax card", physical, folded())
    yield _state("stay_on", "it must stay on alder", with_service("mail", stay_on="alder"), folded())
    dongle = with_service("mail", needs=frozenset({"usb-dongle"}))
    yield _state("needs", "mail needs usb-dongle", dongle, folded())
    yield _state("zones", "2 zones (default, dmz), at most 1", with_service("mail", zone="dmz"), folded())
    bound = replace(SITE, together=(Together(PAIR, "shared files"),))
    yield _state("together", "they are on alder, birch", bound, TODAY)
    split = replace(SITE, apart=(Apart(PAIR, "twins"),))
    yield _state("apart", "files, mail share quiet-host-1", split, folded())
    outside = replace(SITE, quorums=(Quorum(PAIR, 1, "cold start"),))
    yield _state("quorum", "0 of files, mail run outside hosts, at least 1", outside, folded())


def capacities() -> Iterator[Broken]:
    """List plans with too little of a resource: 28 GiB + 3 x 0.5 + 30 = 59.5; 3 x 2 virtual cores = 6."""
    memory = "memory of quiet-host-1: 59.5 GiB needed, 64 GiB x 80 % = 51.2 GiB there"
    yield _state("capacity", memory, with_policy(host_memory_gib=30.0), folded())
    vcpu = "6 virtual cores needed, 16 cores x 0.25 = 4 virtual cores there"
    yield _state("capacity", vcpu, with_policy(vcpu_per_core=0.25), folded())
    busy = Demand((1.0, 9.0, 1.0), (2.0,), (8.0,), (100.0,), (50.0,), (20.0,))
    hourly = replace(with_service("mail", demand=busy), slots=3)
    # (2 + 9 + 0.5) x 1.1 = 12.65 of 16 x 75 % = 12
    yield _state("capacity", "in hour 1: 12.65 reference cores needed, 16", hourly, folded())
    disk = Demand((0.5,), (2.0,), (4.0,), (1801.0,), (50.0,), (20.0,))
    yield _state("capacity", "2001 GB needed, 2000 GB there", with_service("files", demand=disk), folded())
    bare = Demand((7.0,), (2.0,), (8.0,), (100.0,), (50.0,), (20.0,))
    # a bare box keeps no headroom: 2 + 7 = 9 of 8
    yield _state("capacity", "9 reference cores needed, 8 ref", with_service("mail", demand=bare), TODAY)
    gpus = "GPU memory of quiet-host-1: 16 GiB needed, 12 GiB there"
    yield _state("capacity", gpus, with_gpus(8.0, 12.0), folded())
    # a quarter of 20 GiB kept free leaves 15
    quarter = replace(SITE.policy, headroom={**SITE.policy.headroom, "gpu_memory_gib": 0.25})
    kept = "16 GiB needed, 20 GiB x 75 % = 15 GiB there"
    yield _state("capacity", kept, replace(with_gpus(8.0, 20.0), policy=quarter), folded())


def spares() -> Iterator[Broken]:
    """List plans in which the loss of a host leaves services without a place."""
    asked = with_policy(spare_hosts=1)
    yield _state("spare", "if quiet-host-1 is lost, there is no way", asked, folded())
    # files' 4 GiB fit on the large host (28.5 + 4.5 + 4.5 of 51.2), not the other way round:
    # 4 + 4.5 + 16.5 + 8.5 = 33.5 of birch's 12.8
    both = folded(unit("quiet-host", 1, "records-db", "mail"), WITH_FILES_LEFT, cooling=TODAY.cooling)
    yield _state("spare", "can carry mail, records-db", asked, both)
    twins = replace(asked, apart=(Apart(PAIR, "twins"),))
    first, second = unit("quiet-host", 1, "records-db", "mail"), unit("quiet-host", 2, "files")
    yield _state("spare", "can carry", twins, folded(first, second))


def said_restarts() -> Iterator[Broken]:
    """List good states with plans that say of a lost host what does not hold.

    records-db and mail on one large host, files on another: each takes all of the other's.
    """
    first, second = unit("quiet-host", 1, "records-db", "mail"), unit("quiet-host", 2, "files")
    site, plan = with_policy(spare_hosts=1), silent(folded(first, second))
    good = (
        Restart((first.name,), (("records-db", second.name), ("mail", second.name))),
        Restart((second.name,), (("files", first.name),)),
    )
    yield Broken("restarts", "is no host", site, replace(plan, restarts=(Restart(("alder",), ()), *good)))
    for to, says in (
        ((("files", second.name),), "files is not said to restart on one host that is left"),
        ((), "files is not said to restart"),
        ((("files", first.name), ("mail", first.name)), "mail is said to restart, and is not lost"),
    ):
        bad = Restart((second.name,), to)
        yield Broken("restarts", says, site, replace(plan, restarts=(good[0], bad)))
    birch = box("birch", Role.HOST, "files")
    # 4 + 4.5 + 16.5 + 8.5 = 33.5 GiB of birch's 12.8
    full = silent(folded(first, birch, cooling=TODAY.cooling))
    onto = Restart((first.name,), (("records-db", "birch"), ("mail", "birch")))
    plain = with_policy(spare_hosts=0)
    yield Broken("restarts", "birch cannot carry mail, records-db", plain, replace(full, restarts=(onto,)))


def steps() -> Iterator[Broken]:
    """List plans with measures and cooling that may not be, or not together."""
    panels = folded(measures=["wall-panels"])
    yield _state("measure_allowed", "not allowed", with_measure("wall-panels", allowed=False), panels)
    yield _state("measure_target", "slow-fans is taken on alder", SITE, folded(measures=["slow-fans"]))
    door = frozenset({"sealed-door"})
    yield _state("measure_requires", "sealed-door", with_measure("wall-panels", requires=door), panels)
    both = folded(measures=["wall-panels", "sealed-door"])
    yield _state("measure_excludes", "sealed-door", with_measure("wall-panels", excludes=door), both)
    for effect in (
        SourceEffect(sound=flat_sound(20.0)),
        SourceEffect(removes=True),
        SourceEffect(elsewhere=True),
    ):
        more = replace(SITE, measures=(*SITE.measures, Measure("swap", "phone-switch", effect)))
        yield _state("measure_clash", "new-switch, swap", more, folded(measures=["new-switch", "swap"]))
    needy = with_cooling("door-fan", requires=frozenset({"wall-panels"}))
    yield _state("cooling_requires", "in winter requires wall-panels", needy, folded(cooling=DOOR_FAN))
    shy = with_cooling("door-fan", excludes=frozenset({"split-unit"}))
    yield _state("cooling_excludes", "in winter excludes split-unit", shy, folded(cooling=BOTH_IN_WINTER))


def limits() -> Iterator[Broken]:
    """List plans over a limit of the whole."""
    yield _state("budget", "costs 1500 EUR, the budget is 1499 EUR", with_policy(budget=1499.0), folded())
    # two switches of 1 unit each
    yield _state("rack", "take 2 rack units", replace(SITE, room=replace(SITE.room, rack_u=1)), folded())
    weak = replace(SITE.supply, circuits=(Circuit("circuit-a", 230.0, 16.0, 800.0),))
    # 120 W host + 100 W + 40 W / 0.8 switches + 600 W split unit = 870 W
    yield _state("circuits", "carries up to 870 W, for hours", replace(SITE, supply=weak), folded())
    nothing = {"summer": frozenset[str](), "winter": frozenset[str]()}
    # 40 + 80 x 3.85 / 16 = 59.25 W host + 60 W + 50 W switches = 169.25 W over 50 W/K from 25 °C
    yield _state("heat", "169.25 W of heat bring the room to 28.385 °C", SITE, folded(cooling=nothing))
    sealed = replace(SITE, room=replace(SITE.room, ua_w_k=0.0))
    yield _state("heat", "no path for its heat", sealed, folded(cooling=nothing))


def claims() -> Iterator[Broken]:
    """List good states with plans that say too much about them."""
    good = plan_for(SITE, folded())
    yield Broken("aim_once", "2 results", SITE, replace(good, aims=(*good.aims, good.aims[0])))
    for aim in Aim:
        value = next(result.value for result in good.aims if result.aim is aim) + 0.5
        yield Broken("aim_value", f"{aim} is said", SITE, with_result(aim, value=value, bound=value))
    yield Broken("aim_bound", "proven", SITE, with_result(Aim.POWER, bound=0.0))
    yield Broken("aim_bound", "not proven", SITE, _open(with_result(Aim.COST, bound=9e9, proven=False)))
    yield Broken("outcome", "power is not", SITE, with_result(Aim.POWER, bound=0.0, proven=False))
    yield Broken("outcome", "no plan can exist", SITE, replace(good, outcome=Outcome.INFEASIBLE))


def _open(plan: Plan) -> Plan:
    return replace(plan, outcome=Outcome.STOPPED_WITH_PLAN)


BROKEN: tuple[Broken, ...] = (
    *unknown(),
    *machines(),
    *services(),
    *capacities(),
    *spares(),
    *said_restarts(),
    *steps(),
    *limits(),
    *claims(),
)
