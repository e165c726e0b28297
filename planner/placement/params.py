"""Every budget, share and threshold of the placement, with its unit and its reason.

Read as the frozen ``PARAMS``. What a caller may set for one solve stands in `placement.result.Options`, how
near two figures must be to count as the same in `planner.tolerances`, what only guards a sum of floats where
it is used. Seconds end what does not count its own work (a first relaxation, a pricing); where work can be
counted, nodes, rounds or turns end it sooner, so that a slow machine comes to the same plan.

Tried and left: nodes instead of seconds for the whole-number programmes of `DivingParams`. They spend their
seconds at the root (0 to 120 nodes in 1 to 8 s), so that nodes do not end them.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class BudgetParams:
    """What aims and questions get of a solve's time."""

    large_site: int = 150
    """Services from which a question is left at a small gap and gets a share of the time only."""
    large_gap: float = 5e-4
    """Relative gap at which such a question is left: what is under it is no watt that anyone measures."""
    large_share: float = 0.5
    """Share of the time left that such a question gets, so that its answer can still be packed."""
    left_share: float = 0.3
    """Share of the time left that an aim leaves to those that follow: watts once took all of it."""
    over_s: float = 0.2
    """Seconds before its end at which a solve has used its time: no step is begun for less."""
    over_share: float = 0.02
    """The same as a share of the time given."""
    overrun_s: float = 5.0
    """Seconds over its time after which a solve is ended that does not look at the clock."""
    overrun_share: float = 0.05
    """The same as a share of the time given, where that is more."""


@dataclass(frozen=True)
class StrategyParams:
    """How a question is answered."""

    squeezes: tuple[float, ...] = (0.003, 0.01, 0.02, 0.04, 0.08)
    """Shares of the pooled hosts' capacity left out, one after the other, until what a pool holds packs."""
    write_out: int = 1200
    """Items times units up to which a kind is disaggregated: above, symmetry makes the programme too slow."""
    lessons: int = 8
    """Times a question is put again with cuts of failed packings before a kind is disaggregated."""
    relax_and_fix_lesson: int = 4
    """Lesson after which relax-and-fix looks for a state, where the best one is far from the bound."""
    relax_and_fix_share: float = 0.3
    """Share of a question's time for one relax-and-fix."""
    packing_share: float = 0.5
    """Share of the time left that one attempt at packing may take."""
    pattern_share: float = 0.85
    """Share of the time left in which patterns answer a question; the rest is for the pooled model."""
    pattern_items: int = 300
    """Items up to which patterns are tried: above, pricing takes too long."""
    told_apart: int = 6000
    """Items times boxes up to which boxes that were hosts are told apart to count changes."""
    far: float = 1.005
    """A best state within this factor of the bound is near enough to go straight for the proof."""
    every_host_services: int = 400
    """Services up to which a first plan is made with every kind of host by itself."""


@dataclass(frozen=True)
class ProofParams:
    """The second road to a proof, and what a plan must be better by to count against one."""

    claim_s: float = 30.0
    """Most seconds for one claim; its nodes end it first unless they are slow."""
    claim_nodes: int = 5_000
    """Most nodes of each search for a point that refutes a claim."""
    patience_s: float = 15.0
    """Seconds that are waited at least at the end of a solve for claims still open."""
    study_patience_s: float = 5.0
    """The same after each question of a study, which asks many."""
    patience_share: float = 1.0
    """Share of the time that the solve took which is waited, where that is more …"""
    most_patience_s: float = 30.0
    """… and the most."""
    retries: int = 3
    """Times that a solve goes on anew after a proof of it was refuted; then the proof is taken back."""
    tick_s: float = 0.02
    """Seconds between looks at whether the claims are settled."""
    step_share: float = 2e-6
    """By what share a plan must be better to count against a proof: less is a solver's rounding."""
    decode_s: float = 2.0
    """Seconds to make a plan of the point that refutes a claim."""


@dataclass(frozen=True)
class ConfidenceParams:
    """Rounds of a chance constraint."""

    rounds: int = 16
    """Most rounds with tighter targets."""
    gentle_rounds: int = 10
    """Rounds that tighten by just what shuts the last plan out, before larger steps are taken."""
    first_share: float = 0.6
    """Share of the time for the first round, whose bounds count."""
    least_step_db: float = 0.02
    """Added to a margin that did not do, so that rounds get somewhere."""
    scatter_db: float = 0.05
    """Twice the standard error, about, of a sampled 90 % level where the room's 2.5 dB rule."""


@dataclass(frozen=True)
class PricingParams:
    """Pricing of patterns, and the restricted master."""

    width: int = 1000
    """Patterns of one length that a beam goes on with."""
    wider: int = 16
    """How many times more it goes on with next, where nothing that pays was found."""
    most_states: int = 1_000_000
    """Patterns of one length up to which the beam is widened."""
    crowd: int = 3_000_000
    """Patterns of one length at which a search ends, for the memory they would take."""
    block: int = 300_000
    """Pairs of pattern and item that are looked at in one sweep: what a cache holds."""
    per_item: int = 3
    """Patterns with an item that are added at once, so that columns differ."""
    smooth: float = 0.3
    """Weight of the best prices so far in those that patterns are looked for at (after Wentges 1997)."""
    weight_turns: int = 60
    """Subgradient steps to the weights of the resources."""
    weight_step: float = 0.5
    """Length of the first of them, as a share of the slope."""
    weight_shrink: float = 0.93
    """What each is of the one before."""
    close: float = 2e-5
    """Share by which relaxation and bound may differ where values may be anything."""
    free: float = 1e-7
    """Price of a unit, as a share of the value, under which a unit is no matter."""


@dataclass(frozen=True)
class DivingParams:
    """Whole answers from patterns: dives, neighbourhoods, and all patterns with a chance."""

    rounds: int = 4
    """Times that patterns are priced anew after each step of a dive."""
    rest_s: float = 4.0
    """Seconds for the whole-number programme of a dive's rest or of a neighbourhood."""
    kept_share: float = 0.75
    """Share of the patterns taken that stays taken when a dive did not end well."""
    freed: int = 14
    """Units let go in a neighbourhood: what the whole-number programme settles within its seconds."""
    neighbourhoods: int = 8
    """Neighbourhoods after each dive."""
    turns: int = 37
    """Dives and neighbourhoods in all: four dives with theirs, and one more."""
    fewest_patterns: int = 1_500
    """Patterns with a chance up to which all are looked at before the first dive …"""
    few_patterns: int = 4_000
    """… after it …"""
    many_patterns: int = 20_000
    """… and at the end; above, the whole-number programme does not look at the clock (54,000: 190 s)."""
    quick_share: float = 0.1
    """Share of the time up to which pricing was quick, so that pricing to the end after a dive pays."""
    first_share: float = 0.4
    """Share of the time up to which pricing to the end is tried before the first dive."""
    late_turn: int = 3
    """Turn after which pricing to the end is tried where it was not quick."""
    look_s: float = 8.0
    """Seconds for the whole-number programme over few patterns."""
    quick_s: float = 1.0
    """Seconds for the arc-flow model with the integral part fixed, before few patterns are looked at."""
    most_arcs: int = 15_000
    """Arcs up to which the arc-flow model is written."""
    most_steps: int = 4_000
    """Steps up to which a unit is divided into nodes."""


@dataclass(frozen=True)
class PackingParams:
    """Vector packing of pools into units."""

    tries: int = 24
    """Greedy packings under random weights; more find hardly anything."""
    few_tries: int = 6
    """The same where many pools are packed only to begin with."""
    exact_size: int = 1500
    """Items times units up to which packing is settled by a whole-number programme."""
    exact_s: float = 20.0
    """Seconds for that."""
    confirm_s: float = 3.0
    """Seconds for a second road to a packing being impossible."""
    few_a_unit: int = 8
    """Items a unit up to which patterns are tried; above, pricing is too dear."""
    tabu_turns: int = 1500
    """Moves and swaps of a repair."""
    tabu_patience: int = 300
    """Moves without less overload after which no more is hoped for."""
    tabu_items: int = 12
    """Items of an overfull unit that are looked at in one turn."""
    tabu_tenure: int = 8
    """Turns for which an item does not go back, and as many more at random."""
    conflict: float = 0.5
    """What a pair that must not meet weighs against overload, in units of capacity."""
    standby_filled: float = 0.95
    """Share of a unit that is filled where their number is free, so that a small item fits on top."""
    standby_small: float = 0.5
    """Share of a unit up to which an item leaves it room enough to stand by."""
    standby_s: float = 1.0
    """Seconds for packing into one unit less, beside one that stands by."""


@dataclass(frozen=True)
class FailoverParams:
    """Restarts after a loss of hosts."""

    restart_s: float = 10.0
    """Seconds to settle whether what a loss stops restarts."""
    rebalance_s: float = 10.0
    """Seconds to share guests out anew so that every loss restarts."""
    rebalance_choices: int = 4000
    """Choices of that programme up to which it is tried."""
    most_losses: int = 60
    """Losses up to which they are written out in the model."""
    small_share: float = 0.02
    """Share of a host that stands by for what it carries itself."""


@dataclass(frozen=True)
class FormulationParams:
    """Sizes of the integer programme."""

    most_variants: int = 64
    """Variants of the room that are enumerated: six free measures; more are refused before solving."""
    clique_items: int = 300
    """Items of a pool up to which all pairs are looked at for cliques."""
    most_cliques: int = 400
    """Clique rows for a pool."""
    many_hours: int = 12
    """Hours of load above which not all are written from the start."""
    first_hours: int = 4
    """Hours written from the start for each resource; others come as answers overfill them."""
    counting_gain: float = 1.001
    """How many times the units that sums ask for items must count for to be worth a row."""


@dataclass(frozen=True)
class StudyParams:
    """Studies about a plan."""

    peaks_s: float = 20.0
    """Most seconds for the plan for the sum of all peaks."""
    least_forced_s: float = 1.0
    """Seconds that the second solve of a forced place has at least."""
    power_grain_w: float = 0.01
    """Watts that differ by less are the same on a front: no load is known better."""
    cost_grain: float = 0.01
    """Money that differs by less is the same on a front."""


@dataclass(frozen=True)
class NearParams:
    """How near is the same to a solve, beside `planner.tolerances`."""

    held: float = 1e-4
    """Watts or money of a held aim that the next ones may give back: a solver's tolerance, no more."""
    held_change: float = 1e-3
    """The same of changes, which are counted in tasks and parts of them."""
    kept: float = 1e-3
    """By how much a decoded state may be over a held aim, in its own unit: the model's rows miss by less."""
    slack: float = 1e-7
    """Share of a unit's capacity by which a packing may be over it: sums of shares miss by less."""
    whole: float = 1e-6
    """How near a whole number the relaxation is where it is sure of a placement."""
    told: float = 1e-4
    """How near value and bound are where an aim that was told of is proven, in its own unit."""


@dataclass(frozen=True)
class SolveParams:
    """All parameters of the placement."""

    budget: BudgetParams = BudgetParams()
    strategies: StrategyParams = StrategyParams()
    proofs: ProofParams = ProofParams()
    confidence: ConfidenceParams = ConfidenceParams()
    pricing: PricingParams = PricingParams()
    diving: DivingParams = DivingParams()
    packing: PackingParams = PackingParams()
    failover: FailoverParams = FailoverParams()
    formulation: FormulationParams = FormulationParams()
    studies: StudyParams = StudyParams()
    near: NearParams = NearParams()


PARAMS = SolveParams()
