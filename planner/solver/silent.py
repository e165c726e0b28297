"""HiGHS that says nothing: stdout is data, and 1.16 greets whoever makes an object of it."""

from __future__ import annotations

import highspy


class SilentHighs(highspy.Highs):  # type: ignore[misc]
    """A HiGHS object whose output is off from its first call."""

    def enableCallbacks(self) -> None:  # noqa: N802 - the library's own name
        """Switch the output off before the first call that would greet."""
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()
