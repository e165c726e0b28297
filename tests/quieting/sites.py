"""Sites for the ladder: one whose sums can be checked by hand, and one on which greed costs a fifth more."""

from __future__ import annotations

from dataclasses import replace

from planner.domain.air import Cooling, Removal, Room, Season
from planner.domain.machines import Circuit, Gear, Supply
from planner.domain.measures import ROOM, Measure, SourceEffect
from planner.domain.resources import Demand
from planner.domain.rules import Policy
from planner.domain.services import Service
from planner.domain.site import Site
from planner.domain.sound import Listener, Surface
from tests.kit.plain import flat_sound, plain_site


def bare_site(gear: tuple[Gear, ...], measures: tuple[Measure, ...], target_dba: float) -> Site:
    """Make a room of 59 m² with mean absorption 0.2 in which a silent box and some gear stand.

    A listener at 2 m hears a source of L in every band with the same transfer in every band: the level is
    that of the flat source A-weighted, plus 10 lg(2 / (16 pi) + 4 / 14.75) = -5.06 dB.
    """
    still = replace(plain_site().boxes[0].spec, sound=flat_sound(-30.0), idle_w=50.0, peak_w=50.0)
    surfaces = (Surface("all", 59.0, (0.2,) * 8),)
    box = replace(plain_site().boxes[0], name="still", spec=still)
    demand = Demand((1.0,), (1.0,), (1.0,), (1.0,), (1.0,), (1.0,))
    return Site(
        name="bare",
        currency="EUR",
        room=Room(4.0, 3.0, 2.5, surfaces, ua_w_k=200.0),
        listeners=(Listener("desk", target_dba, distance_m=2.0, directivity_q=2.0),),
        seasons=(Season("all year", 20.0, 8760.0),),
        supply=Supply((Circuit("wall", 230.0, 16.0, 2944.0),), price_kwh=0.25),
        cooling=(),
        policy=Policy(),
        boxes=(replace(box, circuit="wall", may_host=False),),
        services=(Service("all", "still", demand),),
        gear=gear,
        kinds=(),
        measures=measures,
    )


def gear(name: str, level_db: float, power_w: float = 50.0) -> Gear:
    """Make a piece of gear with one level in every band."""
    return Gear(name, power_w, flat_sound(level_db), "wall")


def fans(name: str, target: str, less_db: float, price: float, hours: float = 0.0) -> Measure:
    """Make quieter fans for a source."""
    return Measure(name, target, SourceEffect((less_db,) * 8), price=price, hours=hours)


def greedy_loses() -> Site:
    """Make a site on which the ladder pays 80 where 60 is enough.

    The switch leads. A hood (12 dB for 20) takes more away for its money than taking it out (60 for the
    30 dB down to the router), but leaves 48 dB a band, over the target; then it has to go anyway.
    """
    hood = fans("hood", "switch", 12.0, 20.0)
    out = Measure("elsewhere", "switch", SourceEffect(removes=True), price=60.0)
    return bare_site((gear("switch", 60.0), gear("router", 30.0)), (hood, out), 45.0)


def hot_site() -> Site:
    """Make a room whose loud cooler may go only where the heat then leaves another way.

    700 W of gear and 50 W of box: walls of 20 W/K alone would bring 20 °C to 57.5 °C. A duct with
    0.15 m³/s at 18 °C carries 181 W/K: about 21.9 °C.
    """
    site = bare_site((gear("switch", 40.0, 700.0),), (fans("slow", "switch", 8.0, 30.0),), 40.0)
    cooler = Cooling(
        name="cooler",
        owned=True,
        power_w=500.0,
        sound=flat_sound(60.0),
        circuit="wall",
        removal={"all year": Removal(capacity_w=2000.0)},
        runs_today=frozenset({"all year"}),
        setpoint_c=24.0,
    )
    duct = Cooling(
        name="duct",
        owned=False,
        power_w=20.0,
        sound=flat_sound(25.0),
        circuit="wall",
        removal={"all year": Removal(flow_m3_s=0.15, supply_c=18.0)},
        price=300.0,
        hours=5.0,
        cautions=("hvac",),
    )
    return replace(site, room=replace(site.room, ua_w_k=20.0), cooling=(cooler, duct))


def on_room(name: str, surface_m2: float, price: float) -> Measure:
    """Make an absorber on the walls."""
    from planner.domain.measures import RoomEffect

    effect = RoomEffect((Surface(name, surface_m2, (0.9,) * 8),))
    return Measure(name, ROOM, room_effect=effect, price=price)
