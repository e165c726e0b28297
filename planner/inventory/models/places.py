"""The room, the listeners, the seasons, the supply and the cooling options."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from planner.inventory.models.sound import SoundModel
from planner.inventory.models.types import (
    AltitudeM,
    Amperes,
    AreaM2,
    Co2KgKwh,
    ConductanceWK,
    Decibels,
    Efficiency,
    EnergyWh,
    FlowM3S,
    HeatCapacityJK,
    Hours,
    LengthM,
    LevelDba,
    Money,
    Name,
    PowerW,
    PriceKwh,
    RoomSize,
    Section,
    SetpointC,
    Share,
    TemperatureC,
    Text,
    Volts,
    Whole,
    Yes,
    choice,
)
from planner.inventory.text.errors import show
from planner.inventory.text.units import DECIBELS, UnitError
from planner.physics.absorption import ABSORPTION
from planner.physics.bands import OCTAVE_HZ, Bands
from planner.physics.elements import TRANSMISSION_LOSS
from planner.physics.room import mean_absorption
from planner.physics.sound import SURFACE_Q

ABSORPTION_WAYS = 8
LEAST_ABSORBED, MOST_ABSORBED = 0.005, 0.995
"""Mean absorption that a room can have; bare concrete swallows 1 %, and no room swallows everything."""

LEAST_ABSORBED_BESIDE = 0.01
LEAST_SURE, MOST_SURE = 0.5, 0.99
LEAST_RECIRCULATION = 0.1


def parse_absorption(value: Any) -> Bands:
    """Read eight absorption coefficients; UnitError when there are not eight between 0 and 1."""
    numbers = isinstance(value, list) and all(isinstance(v, int | float) and 0 <= v <= 1 for v in value)
    if not numbers or len(value) != ABSORPTION_WAYS:
        raise UnitError(f"{show(value)}?", "write eight coefficients between 0 and 1, 63 Hz to 8 kHz")
    return tuple(float(v) for v in value)


def parse_loss(value: Any) -> Bands:
    """Read a transmission loss in dB: one figure for all octaves, or eight; UnitError otherwise."""
    if isinstance(value, list):
        if len(value) != ABSORPTION_WAYS:
            raise UnitError(f"{len(value)} values?", "write one loss in dB, or eight from 63 Hz to 8 kHz")
        return tuple(DECIBELS.parse(f"{v} dB" if isinstance(v, int | float) else v) for v in value)
    return (DECIBELS.parse(value),) * ABSORPTION_WAYS


BANDS_FORM = {"type": "array", "items": {"type": ["number", "string"]}, "minItems": 8, "maxItems": 8}
LOSS_FORM = {"anyOf": [{"type": "string", "examples": ["32 dB"]}, BANDS_FORM]}

SurfaceMaterial = Annotated[str, *choice("surface in the table", *ABSORPTION)]
ElementMaterial = Annotated[str, *choice("building element in the table", *TRANSMISSION_LOSS)]
Absorption = Annotated[Bands, BeforeValidator(parse_absorption), WithJsonSchema(BANDS_FORM)]
Loss = Annotated[Bands, BeforeValidator(parse_loss), WithJsonSchema(LOSS_FORM)]


class SurfaceModel(Section):
    """A surface with its area and what it is made of."""

    area_m2: AreaM2 = Field(alias="area", description="Area.")
    material: SurfaceMaterial | None = Field(default=None, description="Material in the absorption table.")
    absorption: Absorption | None = Field(default=None, description="Absorption coefficients, eight octaves.")

    @model_validator(mode="after")
    def _one_way(self) -> SurfaceModel:
        if (self.material is None) == (self.absorption is None):
            raise UnitError("material or absorption?", "write one of the two")
        return self


class RoomModel(Section):
    """The room that holds the machines."""

    size: RoomSize = Field(description="Length x width x height.")
    surfaces: Mapping[Name, SurfaceModel] | None = Field(default=None, description="Surfaces by name.")
    ua_w_k: ConductanceWK | None = Field(
        default=None, alias="heat_loss", description="Heat through all walls."
    )
    leak_m3_s: FlowM3S | None = Field(default=None, alias="leak", description="Air exchanged through gaps.")
    altitude_m: AltitudeM | None = Field(default=None, alias="altitude", description="Height above the sea.")
    rack_u: Whole | None = Field(default=None, alias="rack_units", description="Rack units there are.")
    heat_capacity_j_k: HeatCapacityJK | None = Field(
        default=None, alias="heat_capacity", description="Heat that air, walls and equipment take up."
    )

    @model_validator(mode="after")
    def _swallows_some_sound(self) -> RoomModel:
        surfaces = [
            (item.area_m2, item.absorption or ABSORPTION[item.material or ""])
            for item in (self.surfaces or {}).values()
        ]
        for octave_hz, mean in zip(OCTAVE_HZ, mean_absorption(surfaces) if surfaces else (), strict=False):
            if not LEAST_ABSORBED <= mean <= MOST_ABSORBED:
                words = f"the surfaces swallow {100 * mean:.3g} % of the sound at {octave_hz:g} Hz."
                raise UnitError(words, "No room does: correct the absorption, or leave the surfaces out.")
        return self


class ElementLossModel(Section):
    """How much sound a building element holds back: by its material, or in figures."""

    material: ElementMaterial | None = Field(
        default=None, description="Element in the transmission loss table."
    )
    loss_db: Loss | None = Field(default=None, alias="loss", description="Transmission loss.")

    @model_validator(mode="after")
    def _one_way(self) -> ElementLossModel:
        if (self.material is None) == (self.loss_db is None):
            raise UnitError("material or loss?", "write one of the two")
        return self


class ElementModel(Section):
    """A part of a partition: a material or loss with its area, or a gap."""

    area_m2: AreaM2 | None = Field(default=None, alias="area", description="Area.")
    material: ElementMaterial | None = Field(
        default=None, description="Element in the transmission loss table."
    )
    loss_db: Loss | None = Field(default=None, alias="loss", description="Transmission loss.")
    gap_m2: AreaM2 | None = Field(
        default=None, alias="gap", description="Open area: lets everything through."
    )

    @model_validator(mode="after")
    def _one_way(self) -> ElementModel:
        ways = [self.material, self.loss_db, self.gap_m2]
        if sum(way is not None for way in ways) != 1:
            raise UnitError("material, loss or gap?", "write exactly one of the three")
        if self.gap_m2 is None and self.area_m2 is None:
            raise UnitError("no area.", "Write its area, such as 'area: 9 m2'.")
        return self


class OtherRoomModel(Section):
    """The room in which a listener sits behind a partition."""

    size: RoomSize = Field(description="Length x width x height.")
    absorption: Share | None = Field(default=None, description="Mean absorption of its surfaces.")

    @model_validator(mode="after")
    def _swallows_some_sound(self) -> OtherRoomModel:
        if self.absorption is not None and self.absorption < LEAST_ABSORBED_BESIDE:
            raise UnitError(f"{100 * self.absorption:g} % absorption?", "write 1 to 100 %, or leave it out")
        return self


class BehindModel(Section):
    """What stands between the room and a listener."""

    elements: Mapping[Name, ElementModel] = Field(min_length=1, description="Parts of the partition.")
    ceiling_cac_db: Decibels | None = Field(
        default=None, alias="ceiling_path", description="CAC of a lay-in ceiling that runs over the wall."
    )
    room: OtherRoomModel = Field(description="The listener's own room.")


class ListenerModel(Section):
    """A position where the level counts."""

    distance_m: LengthM | None = Field(
        default=None, alias="distance", description="Distance to the machines."
    )
    behind: BehindModel | None = Field(default=None, description="The partition, for a desk in another room.")
    sources_stand: Annotated[str, *choice("place", *SURFACE_Q)] = Field(
        default="floor", description="Where the machines stand: free, floor, edge or corner."
    )
    target_dba: LevelDba | None = Field(
        default=None, alias="target", description="Most that may be heard there."
    )
    background_dba: LevelDba | None = Field(
        default=None, alias="background", description="Level of all else there."
    )
    confidence: Share | None = Field(
        default=None, description="How sure it must be that the target is met, 50 to 99 %."
    )
    use: Text | None = Field(default=None, description="What the place is used for.")

    @model_validator(mode="after")
    def _sure_of_something(self) -> ListenerModel:
        if self.confidence is None:
            return self
        if self.target_dba is None:
            raise UnitError("a confidence, but no target?", "write the target that is to be met so surely")
        if not LEAST_SURE <= self.confidence <= MOST_SURE:
            raise UnitError(f"{100 * self.confidence:g} % sure?", "write 50 to 99 %")
        return self

    @model_validator(mode="after")
    def _inside_or_behind(self) -> ListenerModel:
        if (self.distance_m is None) == (self.behind is None):
            raise UnitError(
                "inside the room or behind a partition?", "write 'distance' for inside, or 'behind'"
            )
        return self


class SeasonModel(Section):
    """A design condition."""

    surroundings_c: TemperatureC = Field(alias="surroundings", description="Temperature around the room.")
    hours: Hours = Field(description="Hours a year it stands for.")
    quiet: Yes = Field(default=True, description="The listeners' targets hold in it.")
    dew_point_c: TemperatureC | None = Field(
        default=None, alias="dew_point", description="Dew point of the air in the room."
    )


class CircuitModel(Section):
    """A branch circuit."""

    volts: Volts | None = Field(default=None, description="Voltage.")
    breaker_a: Amperes = Field(alias="breaker", description="Rating of the breaker.")
    share: Share | None = Field(default=None, description="Share that may be drawn for hours.")


class SupplyModel(Section):
    """Electricity."""

    circuits: Mapping[Name, CircuitModel] = Field(min_length=1, description="Circuits by name.")
    price_kwh: PriceKwh | None = Field(default=None, alias="price", description="Price of a kWh.")
    ups_efficiency: Efficiency | None = Field(default=None, description="Efficiency of the UPS.")
    ups_wh: EnergyWh | None = Field(
        default=None, alias="ups_energy", description="Energy that the batteries of the UPS give."
    )
    co2_kg_per_kwh: Co2KgKwh | None = Field(
        default=None, alias="co2", description="Carbon factor, if you have one: the plan then says kg a year."
    )


class AirModel(Section):
    """Air that an option brings in, in one season."""

    flow_m3_s: FlowM3S = Field(alias="flow", description="Airflow.")
    supply_c: TemperatureC | None = Field(
        default=None,
        alias="supply",
        description="Temperature of the air; left out: that of the surroundings.",
    )

    recirculation: Share | None = Field(
        default=None,
        description="Share of the warm air that comes round to the fronts; left out: the room is mixed.",
    )

    @model_validator(mode="after")
    def _some_comes_round(self) -> AirModel:
        if self.recirculation is not None and self.recirculation < LEAST_RECIRCULATION:
            raise UnitError(
                f"{100 * self.recirculation:g} %?", "write 10 to 100 %: some air always comes round"
            )
        return self


class CoolingModel(Section):
    """A way to take heat out of the room."""

    takes_out_w: PowerW | None = Field(default=None, alias="takes_out", description="Heat it can take out.")
    air: Mapping[Name, AirModel] | None = Field(
        default=None, min_length=1, description="Air it brings, by season."
    )
    works_in: tuple[Name, ...] | None = Field(
        default=None, min_length=1, description="Seasons it can run in; default all."
    )
    runs_today: tuple[Name, ...] = Field(default=(), description="Seasons in which it runs today.")
    owned: Yes = Field(default=False, description="It is there already.")
    power_w: PowerW | None = Field(default=None, alias="power", description="Draw while it runs.")
    sound: SoundModel | None = Field(default=None, description="How loud it is in the room.")
    circuit: Name | None = Field(default=None, description="Circuit it hangs on.")
    duty: Share | None = Field(default=None, description="Share of the time it draws its power.")
    heats_room: Share | None = Field(
        default=None, description="Share of its own power that stays in the room."
    )
    setpoint_c: SetpointC | None = Field(
        default=None, alias="setpoint", description="Temperature it holds: it cools no room below that."
    )
    price: Money = Field(default=0.0, description="Price.")
    hours: Hours = Field(default=0.0, description="Hours of work.")
    requires: tuple[Name, ...] = Field(
        default=(), description="Measures or options that must be there with it."
    )
    excludes: tuple[Name, ...] = Field(default=(), description="Measures or options that cannot go with it.")
    cautions: tuple[Name, ...] = Field(default=(), description="Hazards to be shown with it.")

    @model_validator(mode="after")
    def _one_way(self) -> CoolingModel:
        if (self.takes_out_w is None) == (self.air is None):
            raise UnitError("takes_out or air?", "write the heat it takes out, or the air it brings")
        if self.air is not None and self.works_in is not None:
            raise UnitError(
                "both air and works_in?",
                "air names its seasons: take works_in out, and the air of seasons in which it shall not run",
            )
        if self.takes_out_w is not None and self.power_w is None:
            raise UnitError("no power.", "Write what it draws, such as 'power: 1.2 kW'.")
        return self


Listeners = Mapping[Name, ListenerModel]
Seasons = Mapping[Name, SeasonModel]
CoolingOptions = Mapping[Name, CoolingModel]
