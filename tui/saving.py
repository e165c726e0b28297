"""Undo, redo, saving and leaving; and the actions on the table and the plan that make no edit."""

from __future__ import annotations

from planner.inventory import InventoryError
from planner.inventory.editing import ChangedError, SaveError
from tui.forms.ask import Ask
from tui.places.base import TablePlace
from tui.places.pages import SoundPlace
from tui.places.tables import Moves
from tui.screen import Frame
from tui.session import problem_words
from tui.theme import DAY, NIGHT, words


class SavingFrame(Frame):
    """The frame with what can be done without a form."""

    def action_undo(self) -> None:
        """Undo the last edit and say which it was."""
        name = self.session.undo()
        self._turned(f"↶ undone: {name}  (redo with r)" if name else None, "there is nothing to undo")

    def action_redo(self) -> None:
        """Redo the edit undone last and say which it was."""
        name = self.session.redo()
        self._turned(f"↷ done again: {name}" if name else None, "there is nothing to do again")

    def _turned(self, said: str | None, nothing: str) -> None:
        if said is None:
            self.say(nothing, "dim")
            return
        self.say(said)
        self.after_change()

    def action_save(self) -> None:
        """Save; ask what to do when the file was changed by another program."""
        try:
            self.session.save()
        except ChangedError as error:
            self._ask_about_change(str(error))
        except SaveError as error:
            self.say(f"✖ {error}; nothing is lost: the text is still here", "bad")
        else:
            self.show_title()
            self.say(f"✔ saved {self.session.path.name}", "good")

    def _ask_about_change(self, reason: str) -> None:
        answers = (
            ("beside", "b", "save mine beside it, under a free name"),
            ("theirs", "t", "take the file as it is on disk (undo brings mine back)"),
        )
        text = words(f"{reason}. Both versions are kept: yours on the screen, the other on disk.")
        text.no_wrap = False
        self.push_screen(Ask("The file changed meanwhile", text, answers), self._after_change_answer)

    def _after_change_answer(self, answer: str | None) -> None:
        if answer == "beside":
            self._save_beside()
        elif answer == "theirs":
            try:
                self.session.reread()
            except InventoryError as error:
                self.refuse([problem_words(item) for item in error.problems])
            else:
                self.say("✔ took the file as it is on disk  (undo with u)")
                self.after_change()

    def _save_beside(self) -> None:
        try:
            other = self.session.save_beside()
        except SaveError as error:
            self.say(f"✖ {error}", "bad")
        else:
            self.say(f"✔ saved yours as {other.name}", "good")

    def action_leave(self) -> None:
        """Leave, after asking where something is not saved."""
        if self.session.is_saved:
            self.leave()
            return
        answers = (("save", "s", "save and leave"), ("drop", "d", "leave without saving"))
        text = words(f"{len(self.session.done)} edits are not saved.")
        self.push_screen(Ask("Leave?", text, answers), self._after_leave_answer)

    def _after_leave_answer(self, answer: str | None) -> None:
        if answer == "save":
            self.action_save()
            if self.session.is_saved:
                self.leave()
        elif answer == "drop":
            self.leave()

    def leave(self) -> None:
        """Call the solve off and leave."""
        self.is_leaving = True
        self.exit()

    def action_keep_best(self) -> None:
        """Close a filter; else stop planning with the best plan found."""
        if isinstance(self.place, TablePlace) and self.place.close_filter():
            return
        if self.bench.keep_best():
            self.say("■ stopping; the best plan found is kept")

    def action_solve(self) -> None:
        """Plan again."""
        self.say("planning again")
        self.start_solve()

    def action_pin(self) -> None:
        """Hold the plan for comparing."""
        held = self.session.pin()
        self.say("✔ this plan is held; later ones are compared with it" if held else "no plan to hold yet")
        self.show_all()

    def action_listener(self) -> None:
        """Show the next listener, in the places that show one."""
        if isinstance(self.place, SoundPlace | Moves):
            self.place.next_listener()
        else:
            self.say("the places Sound and Moves show one listener at a time", "dim")

    def action_mark(self) -> None:
        """Mark the row under the cursor and go on to the next."""
        if isinstance(self.place, TablePlace) and self.place.sheet.key_here is not None:
            self.place.sheet.toggle_mark(self.place.sheet.key_here)
            self.place.sheet.action_cursor_down()

    def action_mark_all(self) -> None:
        """Mark all rows shown, or unmark them."""
        if isinstance(self.place, TablePlace):
            self.place.sheet.mark_all()

    def action_filter(self) -> None:
        """Open the filter."""
        if isinstance(self.place, TablePlace):
            self.place.ask_filter()

    def action_sort(self) -> None:
        """Sort by the next column."""
        if isinstance(self.place, TablePlace):
            self.place.next_order()

    def action_turn(self) -> None:
        """Turn the order round."""
        if isinstance(self.place, TablePlace):
            self.place.sort_by(self.place.column, not self.place.falling)

    def action_light(self) -> None:
        """Change between light and dark."""
        self.theme = DAY.name if self.theme == NIGHT.name else NIGHT.name
