"""Declared noise of machines: what an old and a new declaration mean, and which figure may be summed."""

from typing import Literal, NamedTuple, TypeAlias

from planner.physics.checks import require_finite, require_not_negative

Edition: TypeAlias = Literal["1988", "2017"]
"""Edition of ISO 9296 under which a level was declared."""

TWICE_AS_LOUD_DB = 10.0
"""Change of level in dB heard as about twice or half as loud: 1 B (a declaration page after ISO 9296)."""


class DeclaredLevel(NamedTuple):
    """A sound power level in dBA fit for summing, and whether it is an upper limit rather than a mean."""

    lwa_db: float
    conservative: bool


def statistical_mean_lwa(
    mean_lwa_db: float | None, old_declared_lwad_db: float | None = None
) -> DeclaredLevel:
    """Sound power level in dBA to use in sums: the mean L_WA,m if there is one, else the old L_WAd.

    An L_WAd of the 1988 edition is already a statistical maximum, so it is marked conservative.

    Raises
    ------
    ValueError
        If neither is given, or the one used is not a number.

    Source: ISO 9296:1988 and ISO 9296:2017 (scope).
    """
    if mean_lwa_db is not None:
        return DeclaredLevel(require_finite("the mean sound power level", mean_lwa_db), conservative=False)
    if old_declared_lwad_db is None:
        raise ValueError("a declared level needs either the mean L_WA,m or the old L_WAd")
    declared_db = require_finite("the declared sound power level", old_declared_lwad_db)
    return DeclaredLevel(declared_db, conservative=True)


def declared_upper_limit(lwa_db: float, kv_db: float | None = None, edition: Edition = "2017") -> float:
    """Upper limit in dBA of a declared level: L_WA,m plus Kv (2017), or the old L_WAd as it stands (1988).

    Raises
    ------
    ValueError
        If a 2017 level comes without its Kv, or a 1988 level with one: Kv is never added to an L_WAd,
        which holds the spread already.

    Source: ISO 9296:1988 and ISO 9296:2017 (scope).
    """
    require_finite("the declared sound power level", lwa_db)
    if edition == "1988":
        if kv_db is not None:
            raise ValueError(
                "never add Kv to an L_WAd of the 1988 edition: it is a statistical maximum already"
            )
        return lwa_db
    if kv_db is None:
        raise ValueError("a mean level of the 2017 edition needs its adder Kv to become an upper limit")
    return lwa_db + require_not_negative("the adder Kv in dB", kv_db)


def loudness_ratio(change_db: float) -> float:
    """How many times as loud a change of level in dB is heard, about: twice for 10 dB.

    Raises
    ------
    ValueError
        If the change is not a number.

    Source: rule on a maker's declaration page after ISO 9296; common practice.
    """
    return float(2.0 ** (require_finite("the change in dB", change_db) / TWICE_AS_LOUD_DB))
