"""From a file to the site: figures, defaults, what roles bring, profiles."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.domain.rules import Apart, Quorum
from planner.inventory.defaults.equipment_classes import CLASSES
from planner.inventory.resolve.services import spread
from planner.physics.sound import a_weighted_total
from tests.inventory.base import SMALL, changed, load_text


def test_each_default_is_recorded_with_its_reason(tmp_path: Path) -> None:
    """What a file leaves out is listed with path, value and reason."""
    found = {default.path: default for default in load_text(tmp_path, SMALL).defaults}
    assert found["supply.circuits.left.volts"].value == "230 V"
    assert found["boxes.oak.network"].value == "1000 Mbit/s"
    assert found["catalogue.host.power.peak"].value == "55 W"
    assert {"site.name", "seasons", "room.surfaces", "room.leak", "policy.aims", "services.web.iops"} <= set(
        found
    )
    assert all(default.value and default.why for default in found.values())


def test_what_is_written_is_no_default(tmp_path: Path) -> None:
    """A written figure is taken as it is and not listed."""
    loaded = load_text(tmp_path, changed("size: 4 x 3 x 2.5 m", "size: 4 x 3 x 2.5 m, leak: 36 m3/h"))
    assert loaded.site.room.leak_m3_s == pytest.approx(0.01)
    assert "room.leak" not in {default.path for default in loaded.defaults}


def test_assumed_figures_are_marked_on_their_object(tmp_path: Path) -> None:
    """Faces mark what nobody measured or declared."""
    site = load_text(tmp_path, SMALL).site
    assert site.kinds[0].assumed == {"sound", "spectrum", "power", "iops", "network"}
    assert site.boxes[0].assumed == {"spectrum", "iops", "network"}
    assert site.kinds[0].spec.sound.origin == "assumed"


def test_a_class_gives_the_middle_and_half_the_range(tmp_path: Path) -> None:
    """1U rack servers: 50 to 62 dB idle, 60 to 80 loaded, so 56 and 70 within 10 dB, louder in warm air."""
    site = load_text(tmp_path, changed("sound: 40 dB", "sound: {class: rack_1u_40mm_fans}")).site
    heard = site.boxes[0].spec.sound
    assert a_weighted_total(heard.idle_db) == pytest.approx(56.0)
    assert a_weighted_total(heard.loaded_db) == pytest.approx(70.0)
    assert heard.plus_minus_db == 10.0
    assert heard.inlet_steps == ((25.0, 0.0), (30.0, 4.7), (35.0, 6.4), (40.0, 8.4))


def test_a_reading_at_a_distance_becomes_sound_power(tmp_path: Path) -> None:
    """Over a floor at 1 m, L_W = L_p + 10 lg(2 pi) = L_p + 7.98 dB."""
    site = load_text(tmp_path, changed("sound: 40 dB", "sound: 52 dBA at 1 m")).site
    assert a_weighted_total(site.boxes[0].spec.sound.idle_db) == pytest.approx(59.98, abs=0.005)
    assert site.boxes[0].spec.sound.origin == "measured"


def test_octave_bands_are_taken_as_they_are(tmp_path: Path) -> None:
    """Declared bands need no shape, so nothing is assumed."""
    bands = "[40, 41, 42, 43, 44, 40, 36, 30]"
    box = load_text(
        tmp_path, changed("sound: 40 dB", f"sound: {{idle: {bands}, loaded: {bands}}}")
    ).site.boxes[0]
    assert box.spec.sound.idle_db == (40, 41, 42, 43, 44, 40, 36, 30)
    assert "spectrum" not in box.assumed


def test_a_raid_gives_usable_space_and_operations(tmp_path: Path) -> None:
    """Four 4 TB disks in RAID 5 give 12 TB; 4 x 100 / (0.7 + 0.3 x 4) = 210.5 operations a second."""
    text = changed("disk: 1 TB", "disks: {count: 4, size: 4 TB, raid: 5, type: 7200 rpm}")
    spec = load_text(tmp_path, text).site.boxes[0].spec
    assert spec.disk_gb == 12_000.0
    assert spec.iops == pytest.approx(210.526, abs=0.001)


def test_cores_and_load_become_reference_cores(tmp_path: Path) -> None:
    """4 cores x 0.8 x 35 % = 1.12 reference cores; four virtual cores."""
    text = changed("cpu: 0.5", "cores: 4, load: 35 %")
    demand = (
        load_text(tmp_path, changed("cores: 4, memory", "cores: 4, score: 0.8, memory", text))
        .site.services[0]
        .demand
    )
    assert demand.cpu == pytest.approx((1.12,))
    assert demand.vcpu == (4.0,)


@pytest.mark.parametrize(
    ("role", "physical"),
    [
        ("backup", True),
        ("firewall", True),
        ("monitoring", True),
        ("time", True),
        ("storage", True),
        ("web", False),
    ],
)
def test_some_roles_keep_a_service_physical(tmp_path: Path, role: str, physical: bool) -> None:
    """Trade habit, recorded as a default."""
    loaded = load_text(tmp_path, changed("disk: 40 GB", f"disk: 40 GB, roles: [{role}]"))
    assert (loaded.site.services[0].physical is not None) is physical
    assert ("services.web.stay_physical" in {each.path for each in loaded.defaults}) is physical


def test_an_overridden_role_is_a_warning(tmp_path: Path) -> None:
    """The person may decide otherwise, and is told what they decide against."""
    loaded = load_text(tmp_path, changed("disk: 40 GB", "disk: 40 GB, roles: [backup], stay_physical: no"))
    assert loaded.site.services[0].physical is None
    warning = next(each for each in loaded.warnings if each.path == "services.web.stay_physical")
    assert warning.line == 12
    assert "against trade habit: backup must outlive the loss of any host" in warning.message


DIRECTORIES = changed(
    "  web:",
    "  dc1: {box: oak, cpu: 0.1, memory: 1 GiB, disk: 9 GB, roles: [directory]}\n"
    "  dc2: {box: oak, cpu: 0.1, memory: 1 GiB, disk: 9 GB, roles: [directory]}\n  web:",
)


def test_directory_servers_are_apart_and_one_stays_physical(tmp_path: Path) -> None:
    """Both rules carry their reason."""
    site = load_text(tmp_path, DIRECTORIES).site
    both = frozenset({"dc1", "dc2"})
    assert site.apart == (Apart(both, "directory servers must not fail together"),)
    assert [(rule.services, rule.physical) for rule in site.quorums] == [(both, 1)]
    assert all(isinstance(rule, Quorum) and rule.because for rule in site.quorums)


def test_the_directory_quorum_can_be_waived_with_a_warning(tmp_path: Path) -> None:
    """When all of them say no, the rule goes and a warning stays."""
    loaded = load_text(tmp_path, DIRECTORIES.replace("[directory]", "[directory], stay_physical: no"))
    assert loaded.site.quorums == ()
    assert any("no directory server stays physical" in each.message for each in loaded.warnings)


def test_loops_are_told_by_name(tmp_path: Path) -> None:
    """A loop is no mistake, for moves can treat it; it is told in the order of dependence."""
    text = DIRECTORIES.replace("  dc1: {", "  dc1: {depends_on: [dc2], ").replace(
        "  dc2: {", "  dc2: {depends_on: [dc1], "
    )
    told = [each.message for each in load_text(tmp_path, text).warnings if "loop" in each.message]
    assert told in (
        ["these depend on each other in a loop: dc1 -> dc2 -> dc1."],
        ["these depend on each other in a loop: dc2 -> dc1 -> dc2."],
    )


def test_profiles_set_the_slots_of_the_site(tmp_path: Path) -> None:
    """One value stays one, a day is repeated over the week where another profile has a week."""
    day, week = [0.1] * 23 + [0.9], ["1 GiB"] * 168
    site = load_text(tmp_path, changed("cpu: 0.5", f"cpu: {day}")).site
    assert (site.slots, site.services[0].demand.cpu) == (24, tuple(day))
    text = changed("memory: 2 GiB", f"memory: [{', '.join(week)}]", changed("cpu: 0.5", f"cpu: {day}"))
    site = load_text(tmp_path, text).site
    assert site.slots == 168
    assert site.services[0].demand.at("cpu", 167) == 0.9
    assert len(site.services[0].demand.disk_gb) == 1


def test_a_day_repeats_over_the_week() -> None:
    """Hour 25 of the week is hour 1 of the day; one value needs no repeating."""
    day = tuple(float(hour) for hour in range(24))
    assert spread(day, 168)[25] == 1.0
    assert len(spread(day, 168)) == 168
    assert spread((3.0,), 168) == (3.0,)


def test_outside_air_comes_at_the_temperature_around(tmp_path: Path) -> None:
    """Make-up air without a supply temperature is as warm as the surroundings."""
    text = SMALL + "# end\n"
    text = changed("  cooler:", "  vent: {air: {winter: {flow: 360 m3/h}}}\n  cooler:", text)
    vent = load_text(tmp_path, text).site.cooling_option["vent"]
    assert vent.removal["winter"].flow_m3_s == pytest.approx(0.1)
    assert vent.removal["winter"].supply_c == 21.0
    assert set(vent.removal) == {"winter"}


def test_every_class_has_a_range_the_right_way_round() -> None:
    """Low is not above high, and loaded not below idle."""
    for each in CLASSES.values():
        assert each.idle_db[0] <= each.idle_db[1]
        assert each.loaded_db[0] <= each.loaded_db[1]
        assert each.idle_middle_db <= each.loaded_middle_db


def test_a_box_that_is_overloaded_today_is_told_in_its_unit(tmp_path: Path) -> None:
    """24 GiB on 16 GiB, and 20 operations a second (assumed) on one disk: only memory is told of."""
    loaded = load_text(tmp_path, changed("memory: 2 GiB", "memory: 24 GiB"))
    told = [each.message for each in loaded.warnings if each.path == "boxes.oak"]
    assert told == ["its services take 24 GiB of memory, but it has 16."]


def test_gpu_memory_is_none_where_nothing_is_said(tmp_path: Path) -> None:
    """Nothing of it is kept free, and the reason is not that of a share kept free."""
    loaded = load_text(tmp_path, SMALL)
    site, found = loaded.site, {default.path: default for default in loaded.defaults}
    specs = (site.boxes[0].spec, site.kinds[0].spec)
    assert [spec.gpu_memory_gib for spec in specs] == [0.0, 0.0]
    assert site.service["web"].demand.gpu_memory_gib == (0.0,)
    assert site.policy.headroom["gpu_memory_gib"] == 0.0
    kept = found["policy.headroom.gpu_memory"]
    assert (kept.value, kept.why) == ("0 %", "handed out whole")
    assert "trade habit" in found["policy.headroom.memory"].why


def test_gpu_memory_is_read_with_its_unit_and_told_where_it_lacks_today(tmp_path: Path) -> None:
    """8192 MiB are 8 GiB, and oak has 6."""
    text = changed("memory: 16 GiB", "memory: 16 GiB, gpu_memory: 6 GiB")
    text = changed("disk: 40 GB", "disk: 40 GB, gpu_memory: 8192 MiB", text)
    loaded = load_text(tmp_path, text)
    assert loaded.site.service["web"].demand.gpu_memory_gib == (8.0,)
    told = [each.message for each in loaded.warnings if each.path == "boxes.oak"]
    assert told == ["its services take 8 GiB of GPU memory, but it has 6."]
