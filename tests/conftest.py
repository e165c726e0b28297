"""How generated tests run: the same examples each time and no clock, so that a busy machine fails nothing.

``HYPOTHESIS_PROFILE=roam`` draws new examples in every run.
"""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("roam", deadline=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))
