"""Everything shown equals what the commands print for the same file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from planner.cli.group import cli
from planner.inventory import load
from planner.placement.result import Result
from planner.placement.solve import solve
from planner.placement.studies.reoptimise import solve_again
from planner.report.common.figures import level, number
from planner.report.common.text import Line
from planner.report.plan import json_file
from planner.report.plan.peaks import peaks_facts, peaks_lines
from tests.tui.kept import INVENTORIES, kept_plan
from tests.tui.screens import copy_of
from tui.session import Session
from tui.solving.analyses import afterwork
from tui.theme import FATE_WORDS
from tui.views.boxes import box_rows
from tui.views.heat import heat_lines
from tui.views.moves import move_rows
from tui.views.plan import plan_place_lines
from tui.views.rules import rule_rows
from tui.views.services import service_rows
from tui.views.sound import season_at, sound_lines, source_bars
from tui.views.standing import listener_cells, sum_cells
from tui.why import page_words


@pytest.fixture(scope="module", params=["small-office", "mid-size"])
def session(request: pytest.FixtureRequest) -> Session:
    """A session with a kept plan, its waves and its ladder."""
    path = INVENTORIES / f"{request.param}.yaml"
    made = Session.open(path)
    plan = kept_plan(request.param, made.site)
    made.take(Result(plan.outcome, plan, (), 0.1), made.revision)
    if request.param == "small-office":
        made.afterwork = afterwork(made.site, plan)
    return made


def text_of(lines: list[Line]) -> str:
    """Write lines as text."""
    return "\n".join("".join(piece.text for piece in line.pieces).rstrip() for line in lines)


def printed(session: Session, command: str, tmp_path: Path, *options: str) -> list[str]:
    """Find what a command prints of the plan that the session shows."""
    planned = session.planned
    assert planned is not None
    plan_file = tmp_path / "plan.json"
    plan_file.write_text(json.dumps(json_file.dump(planned.site, planned.plan)), encoding="utf-8")
    result = CliRunner().invoke(cli, [command, str(session.path), str(plan_file), *options])
    assert result.exit_code == 0, result.output
    return result.stdout.splitlines()


def facts(session: Session) -> list[str]:
    """Find what ``plan --plain`` prints of the plan that the session shows."""
    from planner.report.plan.plain import plan_plain

    assert session.planned is not None
    return text_of(plan_plain(session.planned.page)).splitlines()


def fact(session: Session, start: str) -> str:
    """Write the first fact that begins so."""
    found = [text for text in facts(session) if text.startswith(start)]
    assert found, start
    return found[0]


@pytest.mark.slow
def test_services_show_the_verdicts_printed(session: Session) -> None:
    """Verdict and machines, service by service."""
    for row in service_rows(session):
        verdict, then = row.cells[2].text.split()[1], row.cells[3].text
        words = f"service {row.key}: {verdict}, today on {row.cells[1].text}, then on {then}"
        assert fact(session, f"service {row.key}:").startswith(words)


def test_boxes_show_the_fates_and_watts_printed(session: Session) -> None:
    """Fate, watts of today, reason; and what is bought."""
    words = {shown: fate for fate, shown in FATE_WORDS.items()}
    for row in box_rows(session):
        section, _, name = row.key.partition("/")
        if section == "boxes":
            fate = words[row.cells[2].text.split(" ", 1)[1]]
            said = fact(session, f"box {name}:")
            assert said.startswith(f"box {name}: {fate}, {row.cells[3].text} today")
            assert row.cells[-1].text in said
        elif section == "catalogue" and "buy" in row.cells[2].text:
            fact(session, f"shopping list: {row.cells[2].text.split()[-1]} x {name} (machine)")


def test_the_standing_line_shows_the_sums_printed(session: Session) -> None:
    """Levels, watts and money."""
    assert session.planned is not None
    for entry, cell in zip(session.planned.page.listeners, listener_cells(session), strict=True):
        said = fact(session, f"listener {entry.listener}:")
        assert f"{level(entry.before_dba)} today, {level(entry.after_dba)} then" in said
        assert cell.text.startswith(f"{entry.listener} {number(entry.before_dba)} → {level(entry.after_dba)}")
        assert ("✔" in cell.text) == ("target" in said and " met" in said and "NOT met" not in said)
    watts, money, windows = (cell.text for cell in sum_cells(session, 3))
    power = fact(session, "power, mean of the year:")
    today, then = watts.removesuffix(" W").split(" → ")
    assert f"today {today} W" in power
    assert f"then {then} W" in power
    assert f"outlay {money.split(' of ')[0]} " in fact(session, "payback:")
    assert windows == "3 windows"


def test_the_plan_place_holds_the_page_printed(session: Session, tmp_path: Path) -> None:
    """Line by line what ``plan`` prints."""
    from planner.report.plan.text import plan_lines

    assert session.planned is not None
    peaks = session.afterwork.peaks if session.afterwork is not None else None
    lines = plan_lines(session.planned.page, peaks_lines(peaks))
    assert text_of(lines) in text_of(plan_place_lines(session))


def test_heat_shows_the_figures_printed(session: Session) -> None:
    """Every figure of a season, of the rack and of the circuits."""
    from planner.report.plan.plain import figure_words

    assert session.planned is not None
    lines = text_of(heat_lines(session)).splitlines()
    shown = [entry for entry in session.planned.page.figures if entry.figure == "room temperature"]
    rows = [line.split() for line in lines if line.strip().startswith("room temperature")]
    assert len(rows) == len(shown)
    for entry, row in zip(shown, rows, strict=True):
        assert [row[2].rstrip("*"), row[3].rstrip("*")] == [number(entry.before), number(entry.after)]
        assert any(text.startswith(figure_words(entry)[:30]) for text in facts(session))


def test_bars_add_up_to_the_level_shown(session: Session) -> None:
    """The sources at a listener, added as energies, are its level in the ledger."""
    from planner.physics.sound import add_levels

    planned = session.planned
    assert planned is not None
    for listener in session.site.listeners:
        bars = source_bars(planned, listener.name)
        then = [bar.then_dba for bar in bars if bar.then_dba is not None]
        assert add_levels(*then) == pytest.approx(planned.then.levels_dba[listener.name])
        loudest = [bar.loudest for bar in bars]
        assert loudest == sorted(loudest, reverse=True)
        leading = season_at(session.site, planned.today, listener.name).leading(listener.name)
        assert max(bars, key=lambda bar: bar.today_dba or -999.0).name == leading


def test_waves_show_what_moves_prints(session: Session, tmp_path: Path) -> None:
    """Work, level and watts after each wave."""
    if session.afterwork is None:
        pytest.skip("worked out for the small office alone")
    said = printed(session, "moves", tmp_path, "--plain")
    listener = session.site.listeners[0].name
    rows = move_rows(session, listener)
    assert len(rows) - 1 == sum(" then: " in text for text in said)
    for row in rows[1:]:
        name = row.key.replace("/", " ")
        after = next(text for text in said if text.startswith(f"{name} then:"))
        assert f"{listener} {row.cells[4].text}" in after
        assert row.cells[5].text in after
        start = next(text for text in said if text.startswith(f"{name}: "))
        assert f", {row.cells[2].text}, way back {row.cells[3].text}" in start


def test_the_ladder_shows_what_quiet_prints(session: Session, tmp_path: Path) -> None:
    """Rung by rung, for the machines of the plan."""
    if session.afterwork is None:
        pytest.skip("worked out for the small office alone")
    said = printed(session, "quiet", tmp_path)
    shown = text_of(sound_lines(session, session.site.listeners[0].name, 100)).splitlines()
    rungs = [text for text in said if text.strip()[:2] in ("1.", "2.", "3.", "4.")]
    assert rungs
    assert all(text in shown for text in rungs)


def test_rules_show_the_file(session: Session) -> None:
    """Budget, targets, groups and measures as the site has them."""
    site = load(session.path).site
    rows = {row.key: row for row in rule_rows(session)}
    assert number(site.policy.budget) in rows["policy/budget"].cells[2].text
    for item in site.listeners:
        assert level(item.target_dba) in rows[f"listeners/{item.name}"].cells[2].text
    count = len(site.together) + len(site.apart) + len(site.quorums)
    assert sum(key.startswith(("rules/", "by-role/")) for key in rows) == count
    assert {key.split("/")[1] for key in rows if key.startswith("measures/")} == set(site.measure)


def test_why_shows_the_words_printed(tmp_path: Path) -> None:
    """What ``why`` prints of a service, machine by machine."""
    from planner.report.why.text import place_words
    from tests.tui.kept import kept_why

    made = Session.open(INVENTORIES / "small-office.yaml")
    plan = kept_plan("small-office", made.site)
    made.take(Result(plan.outcome, plan, (), 0.1), made.revision)
    page = kept_why("small-office", "directory-1")
    shown = [text.plain for text in page_words(page)][1:]
    plan_file = tmp_path / "plan.json"
    plan_file.write_text(json.dumps(json_file.dump(made.site, plan)), encoding="utf-8")
    arguments = ["why", str(made.path), "directory-1", str(plan_file), "--plain"]
    said = CliRunner().invoke(cli, arguments).stdout.splitlines()[1:]
    assert len(shown) == len(said)
    for text, entry, fact_said in zip(shown, page.places, said, strict=True):
        assert text[2:] == place_words(page, entry)
        assert fact_said == f"service directory-1, {entry.verdict}: {text[2:]}"


@pytest.mark.slow
def test_planned_again_the_plan_is_that_of_the_command(tmp_path: Path) -> None:
    """After an edit: what is shown is what ``plan --again`` prints of the edited file."""
    path = copy_of(tmp_path)
    made = Session.open(path)
    made.take(solve(made.site), made.revision)
    assert made.planned is not None
    before = tmp_path / "before.json"
    before.write_text(json.dumps(json_file.dump(made.site, made.planned.plan)), encoding="utf-8")
    edited = made.document.put(("services", "map-tiles", "stay_physical"), "its scanner card")
    made.edit("map-tiles stays physical", edited)
    last = made.last()
    assert last is not None
    made.take(solve_again(last.site, last.plan, made.site), made.revision)
    made.save()
    result = CliRunner().invoke(cli, ["plan", str(path), "--again", str(before), "--plain"])
    assert result.exit_code == 0, result.output
    made.afterwork = afterwork(made.site, made.planned.plan)
    assert made.afterwork.peaks is not None
    said = [*facts(made), *(text_of([line]) for line in peaks_facts(made.afterwork.peaks))]
    assert said == result.stdout.splitlines()


@pytest.mark.slow
def test_waves_have_their_dates_where_the_command_gives_dates(tmp_path: Path) -> None:
    """With a first day in the file, the waves shown are those that ``moves`` prints, dates and all."""
    made = Session.open(INVENTORIES / "no-spare-machine.yaml")
    made.take(solve(made.site), made.revision)
    assert made.planned is not None
    made.afterwork = afterwork(made.site, made.planned.plan)
    data = json.loads("\n".join(printed(made, "moves", tmp_path, "--json")))
    assert [wave["start"] for wave in data["page"]["waves"]] == [w.start for w in made.afterwork.moves.waves]
    shown = [row.cells[0].text for row in move_rows(made, made.site.listeners[0].name)[1:]]
    assert shown
    assert all("2027" in text for text in shown)
