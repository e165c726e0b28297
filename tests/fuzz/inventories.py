"""Fuzzes ``stillroom check`` by structure-aware mutation of inventories.

``python -m tests.fuzz.inventories --count 10000 --seed 0`` runs 10,000 mutants; each has its own seed, and
``--count 1 --seed N --show`` makes one again. A mutant is usable or refused; whatever else comes is a crash.
A usable one must also be added up: today and in a random state, with figures that are finite.
"""

from __future__ import annotations

import math
import random
import sys
import tempfile
import warnings
from functools import lru_cache
from pathlib import Path

from planner.cli.output import json_text
from planner.domain.site import Site
from planner.inventory import InventoryError, Loaded, load, load_text
from planner.ledger import Ledger, ledger, today_ledger
from planner.physics.heat import NeverSettlesError
from planner.report.check.page import CheckPage, page_of_error, page_of_site
from planner.report.check.text import check_lines, check_plain
from planner.report.common.json_data import document_data
from planner.report.common.text import paint
from tests.fuzz import campaign
from tests.fuzz.bases import bases
from tests.fuzz.mutations import Mutant, mutate
from tests.fuzz.text_mutations import mutate_text
from tests.fuzz.trees import Pairs, copied, written
from tests.inventory.base import EXAMPLES
from tests.kit.states import random_state

FILE = "mutant.yaml"
SECOND_FILE, SECOND = "second.yaml", 40
BY_FILE = 8
"""Every so many mutants are read from a file, the others from memory."""

LARGE_SHARE, TEXT_SHARE = 0.03, 0.15
MORE = "catalogue:\n  tower: {role: tower, cpu: 4, memory: 8 GiB, power: {idle: 30 W}, price: 500}\n"


@lru_cache(maxsize=1)
def folder() -> Path:
    """Make the folder of the mutants, with the samples and the catalogue that bases name."""
    # Kept for the life of the process: tempfile removes it at its end.
    kept = tempfile.TemporaryDirectory(prefix="fuzz-")
    KEPT.append(kept)
    place = Path(kept.name)
    (place / "samples").mkdir()
    for name in ("drawings.csv", "day.csv"):
        rows = (EXAMPLES / "samples" / "drawings.csv").read_text(encoding="utf-8").splitlines()[:49]
        (place / "samples" / name).write_text("\n".join(rows), encoding="utf-8")
    (place / "more.yaml").write_text(MORE, encoding="utf-8")
    return place


KEPT: list[tempfile.TemporaryDirectory[str]] = []


def mutant_text(seed: int) -> str:
    """Build the mutant of a seed; some take a catalogue from a second file, which is a mutant too."""
    second = f"catalogue_file: {SECOND_FILE}\n" if has_second_file(seed) else ""
    return _main_text(seed) + second


def has_second_file(seed: int) -> bool:
    """Say whether the mutant of a seed takes a catalogue from a second file."""
    return seed % SECOND == 0


def second_text(seed: int) -> str:
    """Build the second file of a mutant: the catalogue of a base, changed."""
    rng = random.Random(f"second file of {seed}")
    known = bases(folder())
    kinds = [kind for kinds in known.donors[()]["catalogue"] for kind in kinds]
    tree = Pairs([("catalogue", copied(Pairs(rng.sample(kinds, min(2, len(kinds))))))])
    mutant = Mutant(tree, known, rng)
    mutate(mutant)
    text = written(mutant.tree)
    return mutate_text(text, rng) if rng.random() < TEXT_SHARE else text


def _main_text(seed: int) -> str:
    rng = random.Random(seed)
    known = bases(folder())
    base = rng.choice(known.large if rng.random() < LARGE_SHARE else known.small)
    if rng.random() < TEXT_SHARE:
        return mutate_text(written(base), rng)
    mutant = Mutant(copied(base), known, rng)
    mutate(mutant)
    return written(mutant.tree)


def loaded(seed: int) -> Loaded:
    """Load a mutant: from a file as ``stillroom check`` does, or from memory, which takes half the time."""
    text, path, by_file = mutant_text(seed), folder() / FILE, seed % BY_FILE == 0
    if has_second_file(seed):
        (folder() / SECOND_FILE).write_bytes(second_text(seed).encode("utf-8", "surrogatepass"))
    try:
        text.encode()
    except UnicodeEncodeError:
        by_file = True
    if not by_file:
        return load_text(text, path)
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    return load(path)


def check(seed: int) -> CheckPage:
    """Do what ``stillroom check`` does, all faces of its page included; then add up a usable site."""
    site: Site | None = None
    try:
        read = loaded(seed)
        page, site = page_of_site(FILE, read), read.site
    except InventoryError as error:
        page = page_of_error(FILE, error)
    check_faces(page)
    if page.usable and site is not None:
        check_figures(today_ledger(site))
        check_random_state(site, seed)
    return page


def check_faces(page: CheckPage) -> None:
    """Write all faces of a page as they go to stdout; a refusal must say what is wrong."""
    json_text(document_data(page)).encode()
    paint(check_lines(page), colour=True).encode()
    paint(check_plain(page), colour=False).encode()
    for problem in page.errors:
        assert problem.message, problem


def check_figures(book: Ledger) -> None:
    """Hold every sum to be a number, and watts to be none below zero."""
    figures = [book.mean_power_w, book.kwh_a_year, book.money_a_year, *book.circuits_w.values()]
    for season in book.seasons:
        figures += [season.power_w, season.heat_w, season.airflow_m3_s]
        assert math.isfinite(season.temperature_c), season.temperature_c
    assert all(math.isfinite(figure) and figure >= 0.0 for figure in figures), figures
    levels = [level for season in book.seasons for level in season.levels_dba.values()]
    assert all(level < math.inf for level in levels), levels


def check_random_state(site: Site, seed: int) -> None:
    """Add up a random state; a room that never settles there is a sentence, not a crash."""
    state = random_state(site, seed)
    try:
        book = ledger(site, state)
    except NeverSettlesError:
        return
    check_figures(book)


def trial(seed: int) -> str:
    """Run the mutant of a seed through the check."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return "usable" if check(seed).usable else "refused"


def show(seed: int) -> None:
    """Print a mutant and what becomes of it."""
    text = mutant_text(seed)
    for part in (text, second_text(seed) if has_second_file(seed) else ""):
        print(part.encode("utf-8", "backslashreplace").decode())
    print(f"# {trial(seed)}")


if __name__ == "__main__":
    chosen = campaign.arguments(__doc__ or "")
    if chosen.show:
        show(chosen.seed)
        sys.exit(0)
    # By its full name, so that other processes find it.
    from tests.fuzz.inventories import trial as named

    sys.exit(campaign.main(named, chosen))
