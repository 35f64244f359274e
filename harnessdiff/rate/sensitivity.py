"""How firm levels and their order are when the weights of a policy vary.

A draw is another policy: every weight times a factor of its own, drawn evenly from one less to one more by the
policy's share. A line has one factor in a draw, wherever it counts. What is established, severities, cut
points, floors and caps stay as they are; so does the way to read the record and the answer to every open
question that is worst by the policy itself. That a level is firm says nothing of how likely harm is.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

from harnessdiff.model.policy import Firmness, Policy
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, PROBABILITIES, Case, Firm, OrderKept, Rating, level_rank
from harnessdiff.rate.mechanisms import INDEX_DIGITS
from harnessdiff.tables.loader import risk_matrix

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Factors = NDArray[np.float64]
    Ranks = NDArray[np.uint8]

OUTCOMES = (ACCEPTABLE, *LEVELS)
BYTES = 8
"""Of a draw from 0 to 1, of which the 53 bits count that a floating-point number holds."""


def firmness_of(ratings: Sequence[Rating], policy: Policy) -> tuple[Firm | None, ...]:
    """How often each finding comes out at each level when the weights vary.

    Parameters
    ----------
    ratings : sequence of Rating
        By this policy.
    policy : Policy
        Says by how much weights vary, how many draws are made, and from what share on a level is firm.

    Returns
    -------
    tuple of Firm or None
        In the order of the ratings; each depends on its own rating alone. None where no weight decides: nothing
        that is established opens a mechanism, or nobody can rate it.
    """
    return tuple(_firm(rating, policy) if _weighed(rating) else None for rating in ratings)


def order_kept(ratings: Sequence[Rating], policy: Policy) -> OrderKept | None:
    """How often the order of findings by their worst level holds when the weights vary.

    Parameters
    ----------
    ratings : sequence of Rating
        By this policy. Those that no weight decides are left out: they would keep their order in every draw.
    policy : Policy

    Returns
    -------
    OrderKept or None
        None where no two differ in level.
    """
    import numpy as np  # noqa: PLC0415 - heavy, needed only where weights vary

    weighed = [rating for rating in ratings if _weighed(rating)]
    by_level = np.array([level_rank(rating.worst) for rating in weighed])
    found = np.unique(by_level)
    if len(found) < 2:
        return None
    ranks = np.stack([_ranks(rating, policy) for rating in weighed])
    worst = by_level == found[-1]
    # Findings of a level, by the level that they come out at in each draw: pairs are counted without being listed.
    counts = {
        level: np.stack([(ranks[by_level == level] == rank).sum(axis=0) for rank in range(len(OUTCOMES))])
        for level in found
    }
    below = {level: np.cumsum(count, axis=0) - count for level, count in counts.items()}
    pairs = [(milder, worse) for milder, worse in combinations(found, 2)]
    number = sum(int((by_level == one).sum() * (by_level == other).sum()) for one, other in pairs)
    kept = sum(int((counts[worse] * below[milder]).sum()) for milder, worse in pairs)
    level = sum(int((counts[worse] * counts[milder]).sum()) for milder, worse in pairs)
    draws = policy.firmness.draws
    return OrderKept(
        worst_stay=float((ranks[worst].min(axis=0) >= ranks[~worst].max(axis=0)).mean()),
        pairs_kept=kept / number / draws,
        pairs_level=level / number / draws,
    )


def _weighed(rating: Rating) -> bool:
    return rating.rated and bool(rating.mechanisms)


def _firm(rating: Rating, policy: Policy) -> Firm:
    import numpy as np  # noqa: PLC0415 - heavy, needed only where weights vary

    firmness = policy.firmness
    counts = np.bincount(_ranks(rating, policy), minlength=len(OUTCOMES)).tolist()
    shares = {OUTCOMES[rank]: count / firmness.draws for rank, count in enumerate(counts) if count}
    return Firm(
        shares=tuple(sorted(shares.items(), key=lambda one: -level_rank(one[0]))),
        firm=shares.get(rating.worst, 0.0) >= firmness.firm_from,
    )


def _ranks(rating: Rating, policy: Policy) -> Ranks:
    """The level of a rating in every draw, by its rank: that of its worst case."""
    import numpy as np  # noqa: PLC0415 - heavy, needed only where weights vary

    cuts = sorted((cut.index, cut.probability) for cut in policy.cuts)
    letters = (PROBABILITIES[0], *(letter for _, letter in cuts))
    matrix = risk_matrix()
    worst = np.zeros(policy.firmness.draws, dtype=np.uint8)
    for case in dict.fromkeys(case for mechanism in rating.mechanisms for case in mechanism.cases):
        cells = np.array([level_rank(matrix[case.severity, letter]) for letter in letters], dtype=np.uint8)
        held = np.maximum(np.minimum(cells, level_rank(case.most)), level_rank(case.least))
        letter = np.searchsorted([index for index, _ in cuts], _indices(case, policy.firmness), side="right")
        np.maximum(worst, held[letter], out=worst)
    return worst


def _indices(case: Case, firmness: Firmness) -> Factors:
    """The index of a case in every draw, rounded as that of the policy itself is."""
    import numpy as np  # noqa: PLC0415 - heavy, needed only where weights vary

    found = np.zeros(firmness.draws)
    for one in case.contributions:
        found += one.counts * _factors(one.line, firmness.seed, firmness.draws, firmness.vary_share)
    return np.round(found, INDEX_DIGITS)


@lru_cache(maxsize=512)
def _factors(line: str, seed: int, draws: int, vary_share: float) -> Factors:
    """The factors of a line: they depend on the seed and its key alone, not on what else counts.

    Drawn by SHAKE256 (FIPS 202), so that every machine and every release of a library draws the same.
    """
    import numpy as np  # noqa: PLC0415 - heavy, needed only where weights vary

    drawn = hashlib.shake_256(f"{seed} {line}".encode()).digest(BYTES * draws)
    evenly = (np.frombuffer(drawn, dtype="<u8") >> np.uint64(11)) * 2.0**-53
    factors = np.asarray(1.0 + vary_share * (2.0 * evenly - 1.0), dtype=np.float64)
    factors.flags.writeable = False
    return factors
