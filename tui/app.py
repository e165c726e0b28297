"""The terminal interface: the actions a person has, each on a key and in the list of all actions."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from textual.app import SystemCommand
from textual.screen import Screen

from planner.inventory import Problem
from planner.inventory.editing import Document
from planner.inventory.text.errors import Path
from tui import edits, pages
from tui.forms.ask import Ask
from tui.forms.entry import Changes, EntryForm
from tui.forms.make import MODELS, WORDS, Filled, because_fields, form_fields, name_field, new_fields
from tui.keys import DEEDS
from tui.places.base import Chosen, TablePlace
from tui.relax import ways_out
from tui.saving import SavingFrame
from tui.session import RefusedError, Standing
from tui.why import WhyAsk, explain_of

RELAX_KEYS = "123456789"


class Stillroom(SavingFrame):
    """The screen with all its actions."""

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:  # noqa: ARG002
        """List every action by its words, with its key."""
        for deed in DEEDS:
            if deed.id != "palette":
                key = self.keys.get(deed.id, deed.key)
                yield SystemCommand(deed.word, f"{deed.help} (key {key})", self._deed(deed.action))

    def _deed(self, action: str) -> pages.Callback:
        async def run() -> None:
            await self.run_action(action)

        return run

    @property
    def table(self) -> TablePlace | None:
        """The place one is at, where it is a table."""
        return self.place if isinstance(self.place, TablePlace) else None

    def chosen(self) -> list[str]:
        """List the keys of the rows marked, or else of the row under the cursor."""
        return self.table.sheet.chosen if self.table is not None else []

    def entries(self) -> list[Path]:
        """Find where the chosen rows stand in the file; those that do not are left out."""
        if self.table is None:
            return []
        found = [self.table.entry(key) for key in self.chosen()]
        document = self.session.document
        return [path for path in dict.fromkeys(found) if path == ("policy",) or (path and document.has(path))]

    def services(self) -> list[str]:
        """List the chosen services."""
        return [str(path[1]) for path in self.entries() if path[0] == "services" and len(path) == 2]

    def action_place(self, name: str) -> None:
        """Go to a place."""
        self.go_to(name)

    def on_chosen(self, event: Chosen) -> None:
        """Change what Enter was pressed on."""
        event.stop()
        self.action_change()

    def open_form(self, paths: Sequence[Path], first: Path | None = None, only: Sequence[Path] = ()) -> None:
        """Open the form of entries; its changes are one edit."""
        fields = self._fields(paths, only) if paths else []
        if not fields:
            self.refuse(["mark entries of one sort that stand in this file"])
            return
        names = [str(path[-1]) for path in paths]
        word = WORDS.get(str(paths[0][0]), str(paths[0][0]))
        single = word if len(paths[0]) == 1 else f"{word} {names[0]}"
        title = single if len(paths) == 1 else f"{len(paths)} at once: {', '.join(names)}"

        def attempt(changes: Changes) -> Sequence[Problem]:
            return self.attempt(lambda: edits.change(self.session.document, paths, changes))

        self.push_screen(EntryForm(title, fields, attempt, first))

    def _fields(self, paths: Sequence[Path], only: Sequence[Path]) -> list[Filled]:
        return form_fields(self.session.document, paths, only, self.session.loaded.defaults)

    def attempt(self, make: edits.Maker) -> Sequence[Problem]:
        """Take an edit over, or give what is wrong with it."""
        try:
            return self.take(make())
        except RefusedError as error:
            return error.problems

    def action_change(self) -> None:
        """Change the chosen entries."""
        first = self.table.first_field(self.table.sheet.key_here or "") if self.table is not None else None
        self.open_form(self.entries(), first)

    def action_physical(self) -> None:
        """Say why services must stay physical."""
        names = self.services()
        if not names:
            self.refuse(["go to a service first"])
            return
        self.open_form([("services", name) for name in names], only=[("stay_physical",)])

    def action_policy(self) -> None:
        """Change the policy, which may not stand in the file yet."""
        self.open_form([("policy",)])

    def action_group(self, word: str) -> None:
        """Make a rule for the marked services."""
        names = self.services()
        if len(names) < (1 if word == "quorum" else 2):
            self.refuse(["mark two or more services with the space bar first"])
            return
        fields = because_fields(names, word)

        def attempt(changes: Changes) -> Sequence[Problem]:
            starts: dict[Path, str | None] = {("services",): None, ("physical",): "1", **changes}
            return self.attempt(lambda: edits.group(self.session.document, word, names, starts))

        title = f"{len(names)} services {edits.RULE_WORDS[word]}"
        self.push_screen(EntryForm(title, fields, attempt, ("because",), is_new=True))

    def action_allow(self) -> None:
        """Allow measures, or forbid them when all chosen are allowed."""
        names = [str(path[1]) for path in self.entries() if path[0] == "measures"]
        if not names:
            self.refuse(["go to a measure first (place Rules)"])
            return
        allowed = all(self.session.site.measure[name].allowed for name in names)
        self.take_or_refuse(lambda: edits.allow(self.session.document, names, not allowed))

    def action_add(self) -> None:
        """Add an entry of the sort that is selected."""
        here = [path for path in self.entries() if str(path[0]) in MODELS]
        section = str(here[0][0]) if here else (self.table.new_section if self.table is not None else "")
        if section not in MODELS:
            self.refuse(["nothing can be added here"])
            return

        def attempt(changes: Changes) -> Sequence[Problem]:
            name = _typed_name(changes)
            fields = {path: written for path, written in changes.items() if path != ("name",)}
            return self.attempt(lambda: edits.add(self.session.document, section, name, fields))

        fields = new_fields(self.session.document, section)
        self.push_screen(EntryForm(f"new {WORDS[section]}", fields, attempt, is_new=True))

    def action_copy(self) -> None:
        """Copy the entry under the cursor."""
        self._with_new_name("copy of {}", "", edits.copy)

    def action_rename(self) -> None:
        """Rename the entry under the cursor, wherever it is named."""
        self._with_new_name("another name for {}", "{}", edits.rename)

    def _with_new_name(
        self, title: str, start: str, make: Callable[[Document, Path, str], edits.Edit]
    ) -> None:
        paths = [path for path in self.entries() if len(path) == 2]
        if len(paths) != 1:
            self.refuse(["go to one entry that has a name"])
            return
        path = paths[0]

        def attempt(changes: Changes) -> Sequence[Problem]:
            name = _typed_name(changes)
            return self.attempt(lambda: make(self.session.document, path, name))

        fields = [(name_field(), start.format(path[1]))]
        self.push_screen(EntryForm(title.format(path[1]), fields, attempt, is_new=True))

    def action_remove(self) -> None:
        """Remove the chosen entries."""
        paths = [path for path in self.entries() if len(path) > 1]
        if not paths:
            self.refuse(["nothing here can be removed from this file"])
            return
        self.take_or_refuse(lambda: edits.remove(self.session.document, paths))

    def action_relax(self) -> None:
        """Offer what may give way so that a plan can exist, each on a key."""
        session = self.session
        if session.standing is not Standing.IMPOSSIBLE:
            self.say("a plan can exist: nothing has to give way", "dim")
            return
        ways = ways_out(session.site, session.document, session.conflicts)[: len(RELAX_KEYS)]
        answers = [(str(index), RELAX_KEYS[index], way.label) for index, way in enumerate(ways)]

        def answered(answer: str | None) -> None:
            if answer:
                way = ways[int(answer)]
                self.open_form([way.entry], way.field)

        self.push_screen(
            Ask("No plan can exist: what gives way?", pages.reasons_text(session), answers), answered
        )

    def action_why(self) -> None:
        """Say what decides about a service, and what each other machine would change."""
        names = self.services()
        if not names:
            self.refuse(["go to a service first"])
            return
        explain = explain_of(self.explainer, self.session.planned, names[0], self.bench.time_s)
        self.push_screen(WhyAsk(self.session, names[0], explain))

    def action_help(self) -> None:
        """Say what the keys do."""
        self.push_screen(Ask("Help", pages.help_text(self.here, self.keys), ()))


def _typed_name(changes: Changes) -> str:
    """Write the name typed for a new entry, as it is meant and not as it is written."""
    return edits.meant(changes["name",] or "")
