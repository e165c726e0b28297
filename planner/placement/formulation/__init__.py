"""The one integer programme: placement, purchases, re-use, measures, cooling and room variant together.

Why so: placement, purchases, measures, cooling and room variant are decided together, because watts decide
about cooling and cooling about sound. ``inventories/mid-size.yaml`` is a site where deciding one after the
other keeps the air conditioner.

Why so: names that the programme makes are its own (`state.unit_names`, `problem.slot_keys`): they give way
to every name of the site.

Why so: sound is asked for in steps of 0.5 dB (`plan.SOUND_STEP_DB`): finer is neither heard nor foretold,
and coarse steps keep the numbers in a few decades.
"""

from planner.placement.formulation.assignment import Model
from planner.placement.formulation.build import build

__all__ = ["Model", "build"]
