"""What the plan page says of lost hosts and of peaks that do not coincide."""

from __future__ import annotations

from dataclasses import replace

from planner.domain.plan import Plan
from planner.domain.site import Site
from planner.placement.failover.restart import planned_restarts
from planner.placement.studies.coincident_peaks import Peaks
from planner.report.common import text
from planner.report.plan import build as plan_page
from planner.report.plan import plain as plan_plain
from planner.report.plan import text as plan_text
from planner.report.plan.failover_text import restart_words
from planner.report.plan.page import PlanPage, RestartEntry, SinglePointEntry
from planner.report.plan.peaks import peaks_entry, peaks_facts, peaks_lines
from tests.report.examples import plain_plan


def _asked() -> tuple[Site, Plan]:
    site, plan = plain_plan()
    return replace(site, policy=replace(site.policy, spare_hosts=1)), plan


def _shown(page: PlanPage) -> str:
    return text.paint(plan_text.plan_lines(page), colour=False)


def _page(site: Site, plan: Plan) -> PlanPage:
    return plan_page.plan_page(site, replace(plan, restarts=planned_restarts(site, plan.state)))


def test_nothing_is_said_where_no_spare_host_is_asked_for() -> None:
    """The page without the wish has no table and no list."""
    page = plan_page.plan_page(*plain_plan())
    assert page.restarts == ()
    assert page.single_points == ()
    assert "is lost" not in _shown(page)


def test_the_table_of_lost_hosts() -> None:
    """Files restarts on the bought host; records-db and mail do not fit birch, and are not said to."""
    page = _page(*_asked())
    assert page.restarts == (
        RestartEntry(("quiet-host-1",), (), ()),
        RestartEntry(("birch",), (("files", "quiet-host-1"),), ()),
    )
    shown = _shown(page)
    assert "If a host is lost" in shown
    assert "birch:         files -> quiet-host-1" in shown
    facts = [text.paint([line], colour=False).strip() for line in plan_plain.plan_plain(page)]
    assert "if birch is lost: files -> quiet-host-1" in facts


def test_two_hosts_lost_at_once_are_named() -> None:
    """With two spare hosts each row names both that are lost."""
    site, plan = _asked()
    page = _page(replace(site, policy=replace(site.policy, spare_hosts=2)), plan)
    assert page.restarts == (RestartEntry(("quiet-host-1", "birch"), (), ()),)
    assert "If 2 hosts are lost at once" in _shown(page)
    facts = [text.paint([line], colour=False).strip() for line in plan_plain.plan_plain(page)]
    assert "if quiet-host-1 and birch are lost: carries nothing that must restart" in facts


def test_accepted_single_points_have_their_reason() -> None:
    """Tied to a box, optional, or no guest: each says why it stays off."""
    site, plan = _asked()
    mail = replace(site.services[1], restart=False)
    files = replace(site.services[2], stay_on="birch")
    page = plan_page.plan_page(replace(site, services=(site.services[0], mail, files)), plan)
    assert page.single_points == (
        SinglePointEntry("mail", "quiet-host-1", "its restart is optional"),
        SinglePointEntry("files", "birch", "it is tied to birch"),
    )
    assert "Accepted: off until their machine is back" in _shown(page)


def test_restarts_on_one_host_stand_together() -> None:
    """Services with one new host share an arrow; what stays off is said at the end."""
    entry = RestartEntry(("a",), (("x", "b"), ("y", "c"), ("z", "b")), ("w",))
    assert restart_words(entry) == "x, z -> b; y -> c; w -> off"
    assert restart_words(RestartEntry(("a",), (), ())) == "carries nothing that must restart"


def _peaks(**changes: object) -> Peaks:
    made = Peaks(2, 0.0, 150.2, 1960.0, 3, 0.0, 174.4, 2940.0, True, True)
    return replace(made, **changes)  # type: ignore[arg-type]


def _words(peaks: Peaks) -> str:
    entry = peaks_entry(peaks, "EUR")
    assert entry is not None
    return entry.words


def test_what_peaks_save_in_words() -> None:
    """3 - 2 hosts, 174.4 - 150.2 W and 2940 - 1960 EUR less; more is called more."""
    assert _words(_peaks()) == (
        "against a plan for the sum of all peaks, this one takes 1 host less, 24 W less, 980 EUR less"
    )
    assert "10 W more" in _words(_peaks(summed_power_w=140.2))
    assert _words(_peaks(proven=False)).endswith("(against the best such plan found)")
    assert "as good" in _words(_peaks(summed_hosts=2, summed_power_w=150.2, summed_outlay=1960.0))


def test_peaks_without_a_plan_for_their_sum() -> None:
    """No such plan can exist, or none was found: each is said as it is."""
    none = {"summed_hosts": None, "summed_sound_db": None, "summed_power_w": None, "summed_outlay": None}
    assert "no plan could exist" in _words(_peaks(**none, possible=False))
    assert "was not found before the search ended" in _words(_peaks(**none, possible=None))


def test_no_peaks_no_section() -> None:
    """Without a comparison there is no section and no fact."""
    assert peaks_entry(None, "EUR") is None
    assert peaks_lines(None) == []
    assert peaks_facts(None) == []
