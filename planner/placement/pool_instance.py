"""What is to be packed into alike units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

Sizes = np.ndarray[tuple[int, int], np.dtype[np.float64]]
"""Items by dimensions, each size a share of a unit's capacity."""

SLACK = 1e-7
"""How much over a unit's capacity is taken for rounding."""


@dataclass(frozen=True)
class Load:
    """What is to be packed: sizes as shares of a unit, and by item those it must not meet."""

    sizes: Sizes
    foes: Mapping[int, frozenset[int]]

    @property
    def count(self) -> int:
        """The number of items."""
        return int(self.sizes.shape[0])
