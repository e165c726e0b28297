"""What loading a file gives: the site, defaults taken, units converted, and doubts worth a look."""

from __future__ import annotations

from dataclasses import dataclass

from planner.domain.site import Site
from planner.inventory.text.conversions import Conversion
from planner.inventory.text.errors import Problem


@dataclass(frozen=True)
class Default:
    """A figure the file leaves out: where it would stand, what was taken, and why that is sound."""

    path: str
    value: str
    why: str

    def __str__(self) -> str:
        return f"{self.path}: {self.value} ({self.why})"


@dataclass(frozen=True)
class Loaded:
    """A file that was read without mistakes."""

    site: Site
    defaults: tuple[Default, ...]
    warnings: tuple[Problem, ...]
    conversions: tuple[Conversion, ...] = ()
