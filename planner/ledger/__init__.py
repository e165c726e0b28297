"""What a state adds up to: sound at each listener, watts, heat, air, room temperature, money.

The only place where sound, heat and watts add up. The planning model takes its coefficients from the same
functions, so that a plan and its ledger cannot mean different things.
"""

from planner.ledger.sums import Ledger, SeasonLedger, Source, ledger, today_ledger

__all__ = ["Ledger", "SeasonLedger", "Source", "ledger", "today_ledger"]
