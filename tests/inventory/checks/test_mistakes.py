"""Mistakes in a file that is otherwise right: each has its line, its path, its repair; all come at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.inventory import InventoryError, Problem, load
from tests.inventory.base import EXAMPLES, SMALL, changed, load_text, problems_of


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("2 GiB", "2 gigs", "site.yaml:12: services.web.memory: 2 gigs? write a figure of memory such"),
        (
            "disk: 40 GB",
            "disk: 40 GB, gpu_memory: 8 gigs",
            "site.yaml:12: services.web.gpu_memory: 8 gigs? write a figure of memory such",
        ),
        ("memory: 2", "memry: 2", "services.web.memry: this key is not known. Did you mean 'memory'?"),
        ("distance: 2 m, ", "", "listeners.desk: inside the room or behind a partition?"),
        (
            "breaker: 16 A",
            "breaker: 16 W",
            "supply.circuits.left.breaker: 16 W? write a figure of current such",
        ),
        ("idle: 60 W, peak", "peak: 90 W, idle", "boxes.oak.power: peak is less than idle."),
        ("role: host", "role: hots", "catalogue.host.role: hots is no role. Did you mean 'host'?"),
        ("box: oak", "box: aok", "site.yaml:12: services.web.box: there is no box aok. Did you mean 'oak'?"),
        ("runs_today: [summer,", "runs_today: [sumer,", "runs_today[0]: there is no season sumer."),
        ("takes_out: 2 kW, ", "", "cooling.cooler: takes_out or air?"),
        ("cpu: 0.5", "cpu: [0.5, 0.6]", "services.web.cpu: a profile of 2 values?"),
        ("cpu: 0.5, ", "", "services.web: no CPU demand."),
        ("cpu: 0.5", "cpu: -1", "services.web.cpu: -1 is too small."),
        ("cpu: 0.5", "cpu: .inf", "services.web.cpu: inf is no finite figure."),
        ("sound: 40 dB", "sound: 40 dBA", "boxes.oak.sound: 40 dBA: is this a pressure or a power?"),
        ("sound: 40 dB", "sound: {class: rack_3u}", "boxes.oak.sound.class: rack_3u is no class"),
        ("sound: 40 dB", "sound: {class: rack_2u, idle: 4 B}", "both a level and a class?"),
        ("sound: 40 dB", "sound: {idle: [1, 2, 3]}", "boxes.oak.sound.idle: 3 values? write eight octave"),
        (
            "sound: 40 dB",
            "sound: {idle: 40 dBA at 1 m, background: 39 dBA}",
            "less than 3 dB above the backg",
        ),
        ("disk: 1 TB", "disks: {count: 2, size: 1 TB, raid: 5}", "RAID 5 needs at least 3 disks, not 2."),
        ("disk: 1 TB", "disk: 1 TB, disks: {count: 2, size: 1 TB}", "boxes.oak: both disk and disks?"),
        ("size: 4 x 3 x 2.5 m", "size: 4 x 3 m", "site.yaml:1: room.size: 4 x 3 m is no size."),
        ("  oak: {", "  oak: [", "cannot be read"),
        ("    left: {breaker: 16 A}", "    left: 16 A", "supply.circuits.left: text stands here."),
    ],
)
def test_a_mistake_is_told_with_its_place_and_repair(tmp_path: Path, old: str, new: str, told: str) -> None:
    """One change makes one mistake, and one sentence tells it."""
    problems = problems_of(tmp_path, changed(old, new))
    assert told in str(problems[0])
    assert len(problems) == 1


@pytest.mark.parametrize(
    ("extra", "told"),
    [
        (
            "rules: {apart: [{services: [web, wbe], because: why}]}",
            "there is no service wbe. Did you mean 'web'?",
        ),
        (
            "rules: {apart: [{services: [web, web], because: why}]}",
            "rules.apart[0].services: web stands here twice",
        ),
        ("rules: {apart: [{services: [web, web]}]}", "rules.apart[0].because: this is missing."),
        ("seasons: {summer: {surroundings: 26 °C, hours: 4000}}", "seasons: the hours add up to 4000."),
        ("gear: {oak: {power: 1 W, sort: switch}}", "gear.oak: the name oak is taken by boxes."),
        ("gear: {hub: {power: 1 W}}", "gear.hub: neither sound nor sort."),
        (
            "measures: {m: {target: room, quieter: 3 dB}}",
            "an effect on a source, but the target is the room.",
        ),
        ("measures: {m: {target: oak, leak: -5 m3/h}}", "an effect on the room, but the target is a source."),
        ("measures: {m: {target: oak}}", "measures.m: it does nothing."),
        ("measures: {m: {target: elm, removes: yes}}", "there is no box, gear or cooling option elm."),
        ("measures: {m: {target: oak, power: -9 W, requires: [m]}}", "it requires or excludes itself."),
        (
            "measures: {m: {target: oak, removes: yes}}",
            "oak is a box, and only gear is taken out by a measure. "
            "Take the measure out; a plan switches oak off once nothing runs there.",
        ),
        (
            "measures: {m: {library: ups-elsewhere, target: cooler}}",
            "cooler is a cooling option, and only gear is taken out by a measure. "
            "Take the measure out; a plan runs cooler only where it is needed.",
        ),
        (
            "gear: {hub: {sort: switch}}\nmeasures: {m: {target: hub, removes: yes, elsewhere: yes}}",
            "both removes and elsewhere? keep 'elsewhere' where it works on in another room",
        ),
        (
            "gear: {hub: {sort: switch}}\nmeasures: {m: {target: hub, elsewhere: yes, quieter: 3 dB}}",
            "it leaves the room, and changes there too? keep one of the two effects",
        ),
        ("measures: {m: {target: oak, power: -9 W, cautions: [fan-swop]}}", "Did you mean 'fan-swap'?"),
        (
            "measures: {m: {target: room, elements: {door: {loss: 9 dB}}}}",
            "there is no part of a partition door.",
        ),
        ("policy: {aims: [sound, sound]}", "policy.aims: an aim stands there twice."),
        ("policy: {aims: [silence]}", "policy.aims: silence? write aims from: sound"),
        ("policy: {spare_hosts: 4}", "policy.spare_hosts: 4 spare hosts? write 0 to 3"),
        ("catalogue_file: ../other.yaml", "catalogue_file: ../other.yaml leaves the folder."),
        ("catalogue_file: none.yaml", "the catalogue cannot be read: none.yaml: there is no such file."),
    ],
)
def test_a_mistake_in_a_further_section_is_told(tmp_path: Path, extra: str, told: str) -> None:
    """Sections that may be left out are checked where they stand."""
    assert told in "\n".join(str(problem) for problem in problems_of(tmp_path, SMALL + extra + "\n"))


def test_contradictions_are_told(tmp_path: Path) -> None:
    """Rules that cannot hold together are mistakes before any plan is sought."""
    text = changed("  web:", "  mail: {box: oak, cpu: 1, memory: 1 GiB, disk: 9 GB, needs: [dongle]}\n  web:")
    text = changed("disk: 40 GB", "disk: 40 GB, stay_on: oak, roles: [backup], depends_on: [web]", text)
    text = changed("sound: 40 dB", "sound: 40 dB, hosts: yes", text)
    rules = "rules:\n  together:\n    - {services: [web, mail], because: a}\n  apart:\n"
    told = [
        str(each)
        for each in problems_of(tmp_path, text + rules + "    - {services: [mail, web], because: b}\n")
    ]
    assert [line.split(": ", 2)[2] for line in told] == [
        "it needs dongle, which its box oak does not offer. Add it to 'offers:' of oak.",
        "it must stay physical, but oak carries virtual machines. "
        "Take stay_on away, or write 'stay_physical: no'.",
        "it depends on itself. Take the name out.",
        "mail and web are kept apart here and together by another rule. Take one of the two rules away.",
    ]


def test_a_room_that_only_grows_hotter_is_refused(tmp_path: Path) -> None:
    """60 to 100 W go in, no wall or gap lets any out, and the cooler takes 9 W: the air settles nowhere."""
    text = changed("2.5 m}", "2.5 m, heat_loss: 0 W/K, leak: 0 m3/h}")
    (told,) = problems_of(tmp_path, changed("takes_out: 2 kW", "takes_out: 9 W", text))
    assert (told.line, told.path) == (1, "room")
    assert told.repair.startswith("Write heat_loss, leak, or what the cooling takes out")


def test_two_circuits_must_be_chosen_between(tmp_path: Path) -> None:
    """With one circuit it may be left out, with two it is a question."""
    text = changed("    left: {breaker: 16 A}", "    left: {breaker: 16 A}\n    right: {breaker: 10 A}")
    told = problems_of(tmp_path, text)
    assert [problem.path for problem in told] == ["cooling.cooler", "boxes.oak"]


def test_all_mistakes_come_at_once_in_the_order_of_the_file() -> None:
    """The example full of mistakes has one on each of many lines, and each line is named."""
    path = EXAMPLES / "full-of-mistakes.yaml"
    problems = problems_of_file(path)
    lines = [problem.line for problem in problems]
    assert lines == sorted(line for line in lines if line is not None)
    assert len(set(lines)) >= 25
    assert all(problem.file == path.name and problem.message for problem in problems)


def problems_of_file(path: Path) -> list[Problem]:
    """List the mistakes in a file that is there."""
    with pytest.raises(InventoryError) as caught:
        load(path)
    return list(caught.value.problems)


def test_a_mistake_in_the_catalogue_file_names_that_file(tmp_path: Path) -> None:
    """Line and file are those of the second file."""
    entry = "catalogue:\n  tower: {role: tower, cores: 4, memory: 8 gigs, power: {idle: 9 W}, price: 1}\n"
    (tmp_path / "kinds.yaml").write_text(entry, encoding="utf-8")
    problems = problems_of(tmp_path, SMALL + "catalogue_file: kinds.yaml\n")
    assert str(problems[0]).startswith("kinds.yaml:2: catalogue.tower.memory: 8 gigs?")


def test_a_catalogue_file_adds_its_kinds(tmp_path: Path) -> None:
    """Kinds of both files may be bought."""
    entry = "catalogue:\n  tower: {role: tower, cores: 4, memory: 8 GiB, power: {idle: 9 W}, price: 1}\n"
    (tmp_path / "kinds.yaml").write_text(entry, encoding="utf-8")
    loaded = load_text(tmp_path, SMALL + "catalogue_file: kinds.yaml\n")
    assert set(loaded.site.kind) == {"host", "tower"}
