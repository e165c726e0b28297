"""A small run of the inventory fuzzer; DEVELOPERS.md has the command of a large one."""

from __future__ import annotations

from pathlib import Path
from shutil import copytree

import pytest

from planner.cli.exit_codes import ExitCode
from planner.inventory import load_text
from planner.inventory.text.yaml_tree import parse
from planner.ledger import today_ledger
from tests.cli.tiny import run
from tests.fuzz import campaign
from tests.fuzz.bases import EVERY_KEY, bases, known_keys
from tests.fuzz.inventories import check_figures, folder, mutant_text, trial
from tests.fuzz.trees import Pairs, containers, tree_of, written

CHUNK = 700
CHUNKS = 4


@pytest.mark.slow
@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_every_mutant_is_taken_or_refused(chunk: int) -> None:
    """No mutated inventory ends in anything but a page: the same mutants each time."""
    tally = campaign.run(trial, range(chunk * CHUNK, (chunk + 1) * CHUNK))
    assert not tally.crashes, "\n".join(campaign.report(tally, 1.0))
    assert tally.total == CHUNK
    assert min(tally.counts["usable"], tally.counts["refused"]) > CHUNK // 10


def test_every_key_of_the_schema_stands_in_a_base() -> None:
    """What no base holds is never mutated: all keys of the schema are there."""
    trees = [*bases(folder()).large, *bases(folder()).small]
    found = {key for tree in trees for _, box in containers(tree) if isinstance(box, Pairs) for key, _ in box}
    assert known_keys() <= found


def test_a_tree_is_written_as_it_was_read() -> None:
    """Writing a tree and reading it again gives the same data."""
    data = parse(EVERY_KEY.read_text(encoding="utf-8"), "").data
    assert parse(written(tree_of(data)), "").data == data


def test_bases_are_usable() -> None:
    """Small bases can be used as they stand, so that one change decides."""
    for tree in bases(folder()).small:
        check_figures_of(written(tree))


def check_figures_of(text: str) -> None:
    """Load a text and add it up."""
    site = load_text(text, folder() / "base.yaml").site
    check_figures(today_ledger(site))
    assert site.boxes


def test_a_seed_gives_its_mutant_again() -> None:
    """A failure is reproduced from its seed alone."""
    assert [mutant_text(seed) for seed in range(20)] == [mutant_text(seed) for seed in range(20)]


@pytest.mark.slow
@pytest.mark.parametrize("face", [[], ["--plain"], ["--json"]])
def test_the_command_ends_as_the_trial_does(face: list[str], tmp_path: Path) -> None:
    """What runs in-process is what the command does: 0 for a usable mutant, 2 for a refused one."""
    path = tmp_path / "mutant.yaml"
    copytree(folder(), tmp_path, dirs_exist_ok=True)
    for seed in range(1, 30):
        path.write_bytes(mutant_text(seed).encode("utf-8", "surrogatepass"))
        expected = ExitCode.DONE if trial(seed) == "usable" else ExitCode.BAD_INPUT
        result = run("check", path, *face)
        assert (seed, result.exit_code) == (seed, expected)
        assert result.stderr == ""


def failing_trial(seed: int) -> str:
    """Crash on every third seed, refuse the others."""
    if seed % 3 == 0:
        raise ZeroDivisionError("division by zero")
    return "refused"


def test_crashes_are_counted_and_grouped_by_place() -> None:
    """Of seeds 0 to 9 four crash (0, 3, 6, 9), at one place, and the report names their seeds."""
    tally = campaign.run(failing_trial, range(10))
    assert tally.counts == {"crash": 4, "refused": 6}
    lines = list(campaign.report(tally, 2.0))
    assert lines[0] == "10 mutants: 4 crash, 6 refused"
    assert lines[2].startswith("4 x ZeroDivisionError in tests/fuzz/test_inventories.py:")
    assert lines[3].split() == ["seeds", "0", "3", "6", "9"]


def test_mutants_leave_their_bases_alone() -> None:
    """What is mutated is a copy, second files included, so that a seed does not depend on those before it."""
    before = [written(tree) for tree in bases(folder()).small]
    campaign.run(trial, range(0, 40 * 50, 40))
    assert [written(tree) for tree in bases(folder()).small] == before
