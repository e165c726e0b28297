"""The plan page as data, for the hand-made plan of `examples`; figures by hand from `tests.kit.plain`."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.domain.machines import Role
from planner.domain.plan import Plan
from planner.domain.rules import Quorum
from planner.domain.site import Site
from planner.domain.state import State, state_today
from planner.ledger import ledger, today_ledger
from planner.report.plan.build import plan_page
from planner.report.plan.page import FigureEntry, PlanPage
from planner.report.plan.text import listener_words
from tests.report.examples import plain_plan


@pytest.fixture
def page() -> PlanPage:
    """Make the page of the hand-made plan."""
    return plan_page(*plain_plan())


def figure(page: PlanPage, name: str, of: str, unit: str) -> FigureEntry:
    """Make one before-and-after figure."""
    return next(entry for entry in page.figures if (entry.figure, entry.of, entry.unit) == (name, of, unit))


def test_verdicts_and_fates(page: PlanPage) -> None:
    """Two services become guests, one stays on the host it is on; the emptied box may be switched off."""
    assert [entry.verdict for entry in page.verdicts] == ["virtualise", "virtualise", "keep"]
    assert [(entry.box, entry.fate) for entry in page.boxes] == [("alder", "retire"), ("birch", "keep")]
    assert page.switch_off == ("alder",)


def test_shopping_list_adds_up(page: PlanPage) -> None:
    """1500 + 200 + 300 = 2000 EUR and 4 + 4 + 1 = 9 h; at 50 EUR an hour that is 2450 EUR in all."""
    assert [entry.what for entry in page.shopping] == ["quiet-host", "door-fan", "new-switch"]
    assert sum(entry.price for entry in page.shopping) == page.payback.outlay == 2000.0
    assert sum(entry.hours for entry in page.shopping) == page.payback.hours == 9.0
    assert page.payback.total == 2450.0


def test_carbon_is_said_where_its_factor_is_given() -> None:
    """0.25 kg for each kWh of the year, before and after; no factor, no row."""
    site, plan = plain_plan()
    assert not [entry for entry in plan_page(site, plan).figures if "carbon" in entry.figure]
    page = plan_page(replace(site, supply=replace(site.supply, co2_kg_per_kwh=0.25)), plan)
    energy = figure(page, "energy a year", "site", "kWh")
    carbon = figure(page, "carbon dioxide a year", "site", "kg")
    for kwh, kg in ((energy.before, carbon.before), (energy.after, carbon.after)):
        assert kwh is not None
        assert kg == pytest.approx(kwh / 4.0, abs=0.1)


def test_payback_is_total_over_yearly_saving(page: PlanPage) -> None:
    """Money and work against the electricity saved in a year."""
    saved = next(entry for entry in page.saved if entry.stage == "together")
    assert page.payback.money_saved_a_year == saved.money_a_year
    assert page.payback.years == pytest.approx(2450.0 / saved.money_a_year, abs=0.06)


def test_plan_that_saves_nothing_never_pays_back() -> None:
    """Buying the host and leaving all that runs today on gives no year of payback."""
    site, plan = plain_plan()
    today = state_today(site)
    dear = State(today.machines, frozenset({"new-switch"}), today.cooling)
    payback = plan_page(site, Plan(dear, (), plan.outcome)).payback
    assert payback.money_saved_a_year == 0.0
    assert payback.years is None


def test_doing_nothing_costs_and_saves_nothing() -> None:
    """The page of today's state: nothing bought, nothing off, all differences zero."""
    site, plan = plain_plan()
    page = plan_page(site, Plan(state_today(site), (), plan.outcome))
    assert (page.shopping, page.switch_off, page.payback.years) == ((), (), 0.0)
    assert all(entry.before == entry.after for entry in page.figures)
    assert all(entry.power_w == entry.kwh_a_year == 0.0 for entry in page.saved)


def test_the_two_savings_add_up_to_the_whole(page: PlanPage) -> None:
    """Consolidation first, measures and cooling on top: watts, money and decibels add up."""
    first, second, whole = page.saved
    assert [entry.stage for entry in page.saved] == ["consolidation", "measures and cooling", "together"]
    assert first.power_w + second.power_w == pytest.approx(whole.power_w, abs=0.11)
    assert first.money_a_year + second.money_a_year == pytest.approx(whole.money_a_year, abs=0.11)
    for (_, one), (_, two), (_, both) in zip(
        first.level_drop_db, second.level_drop_db, whole.level_drop_db, strict=True
    ):
        assert one is not None
        assert two is not None
        assert one + two == pytest.approx(both, abs=0.11)


def test_consolidation_changes_places_only(page: PlanPage) -> None:
    """Its saving is today's ledger against the new machines with today's cooling and no measure."""
    site, plan = plain_plan()
    placed = ledger(site, State(plan.state.machines, frozenset(), state_today(site).cooling))
    expected = today_ledger(site).mean_power_w - placed.mean_power_w
    assert page.saved[0].power_w == pytest.approx(expected, abs=0.06)


def test_figures_are_those_of_the_ledger(page: PlanPage) -> None:
    """Heat in BTU/h is 3.412 times the watts, cfm the hourly flow over 1.699; the limit is the policy's."""
    watts, btu = (figure(page, "heat into the room", "summer", unit) for unit in ("W", "BTU/h"))
    hourly, cfm = (figure(page, "airflow", "winter", unit) for unit in ("m3/h", "cfm"))
    assert watts.after is not None
    assert hourly.after == 360.0
    assert btu.after == pytest.approx(watts.after * 3.412, abs=0.5)
    assert cfm.after == pytest.approx(360.0 / 1.699, abs=0.1)
    assert figure(page, "room temperature", "winter", "°C").limit == 27.0
    assert figure(page, "circuit load", "circuit-a", "W").limit == 2944.0


def test_listeners_have_level_source_and_target(page: PlanPage) -> None:
    """The desk misses its 50 dBA: the split unit leads, as its 55 dB a band tower over the rest."""
    desk = page.listeners[0]
    assert (desk.leading_before, desk.leading_after, desk.met) == ("alder", "split-unit", False)
    assert desk.target_dba == 50.0


def test_proof_gives_bound_and_gap(page: PlanPage) -> None:
    """A bound of minus infinity is no bound: neither bound nor gap is given."""
    sound, power, cost = page.proof
    assert (sound.value, sound.bound, sound.gap, sound.proven) == (12.5, 12.5, 0.0, True)
    assert power.gap == pytest.approx(500.25 - 480.5)
    assert (cost.bound, cost.gap, cost.unit) == (None, None, "EUR")


@pytest.mark.parametrize(
    ("after_dba", "words"),
    [
        (45.31, "45 dBA then, target 45 dBA NOT met, by 0.3 dB"),
        (45.41, "45 dBA then, target 45 dBA NOT met, by 0.4 dB"),
        (45.62, "46 dBA then, target 45 dBA NOT met"),
        (44.8, "45 dBA then, target 45 dBA met"),
    ],
)
def test_a_target_missed_by_less_than_whole_decibels_show_says_by_how_much(
    after_dba: float, words: str, page: PlanPage
) -> None:
    """45.41 less 45 is 0.41; 45.62 is written 46, so that it shows by itself."""
    entry = replace(page.listeners[0], after_dba=after_dba, target_dba=45.0, met=after_dba <= 45.0)
    assert listener_words(entry).endswith(words)


def test_reasons_name_the_rules() -> None:
    """What stays physical says why; a pair of which one must be no guest is named where it ends so."""
    site, plan = plain_plan()
    services = tuple(
        replace(item, physical="tape robot on its bus", stay_on="birch") if item.name == "files" else item
        for item in site.services
    )
    ruled = replace(site, services=services)
    assert _reason(ruled, plan) == "has to stay on birch"
    bare = replace(ruled, boxes=tuple(replace(box, hosts_today=False) for box in site.boxes))
    machines = tuple(replace(m, role=Role.BARE) if m.name == "birch" else m for m in plan.state.machines)
    on_bare = Plan(replace(plan.state, machines=machines), plan.aims, plan.outcome)
    assert _reason(bare, on_bare) == "no guest: tape robot on its bus; has to stay on birch"
    quorum = replace(bare, quorums=(Quorum(frozenset({"files", "mail"}), 1, "one must start alone"),))
    assert "1 of files and mail must be no guest: one must start alone" in _reason(quorum, on_bare)
    alone = replace(bare, quorums=(Quorum(frozenset({"files"}), 1, "it must start alone"),))
    assert _reason(alone, on_bare).endswith("; files must be no guest: it must start alone")


def _reason(site: Site, plan: Plan) -> str:
    return next(entry.reason for entry in plan_page(site, plan).verdicts if entry.service == "files")


def test_assumed_figures_are_marked() -> None:
    """A box whose watts nobody measured marks today's sums, and not those of the state without it."""
    site, plan = plain_plan()
    boxes = tuple(
        replace(box, assumed=frozenset({"power"})) if box.name == "alder" else box for box in site.boxes
    )
    page = plan_page(replace(site, boxes=boxes), plan)
    mean = figure(page, "power, mean of the year", "site", "W")
    assert (mean.before_assumed, mean.after_assumed) == (True, False)
    assert page.payback.assumed
    assert ("alder", ("power",)) in [(entry.of, entry.figures) for entry in page.assumed]


def test_a_level_that_leans_on_an_assumed_source_is_marked() -> None:
    """The loudest source's assumed sound marks the level; that of a source 30 dB below does not."""
    site, plan = plain_plan()
    loud = tuple(
        replace(box, assumed=frozenset({"sound"})) if box.name == "alder" else box for box in site.boxes
    )
    quiet = tuple(
        replace(gear, assumed=frozenset({"sound"})) if gear.name == "core-switch" else gear
        for gear in site.gear
    )
    assert plan_page(replace(site, boxes=loud), plan).listeners[0].before_assumed
    assert not plan_page(replace(site, boxes=loud), plan).listeners[0].after_assumed
    assert not plan_page(replace(site, gear=quiet), plan).listeners[0].before_assumed
