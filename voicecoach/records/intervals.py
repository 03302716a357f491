"""Shares of a few attempts, with intervals that are honest for one or two of them.

The interval is Wilson's score interval (E. B. Wilson, Probable inference, the law of succession, and
statistical inference, Journal of the American Statistical Association 22, 1927, 209-212). Brown, Cai and
DasGupta (Interval estimation for a binomial proportion, Statistical Science 16, 2001, 101-133) recommend it
for forty attempts and fewer: it never leaves 0 to 1, and is wide where one attempt is all there is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

LEVEL = 0.95
"""How often such an interval holds the true share, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Share:
    """How often something went well."""

    well: float
    """How many times; with weights, the weight of those."""
    of: float
    """Out of how many."""
    low: float
    """Lower end of the interval, 0 to 1."""
    high: float
    """Upper end."""

    @property
    def value(self) -> float | None:
        """The share, 0 to 1; None where there was no attempt."""
        return self.well / self.of if self.of else None


def share(well: int, of: int) -> Share:
    """The share of `well` in `of` attempts."""
    return Share(well, of, *wilson(well, of))


def weighted(went_well: Sequence[bool], weights: Sequence[float]) -> Share:
    """The share of attempts that do not weigh the same, each weight above 0.

    The interval is that of as many equal attempts as they are worth, the square of the sum of the weights
    over the sum of their squares (L. Kish, Survey Sampling, 1965).
    """
    total = sum(weights)
    if not total:
        return share(0, 0)
    well = sum(weight for good, weight in zip(went_well, weights, strict=True) if good)
    worth = total**2 / sum(weight**2 for weight in weights)
    return Share(well, total, *wilson(well / total * worth, worth))


def wilson(well: float, of: float) -> tuple[float, float]:
    """The score interval of a share, 0 to 1; all of it where there was no attempt."""
    if not of:
        return 0.0, 1.0
    z = NormalDist().inv_cdf((1 + LEVEL) / 2)
    share = well / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * (share * (1 - share) / of + z * z / (4 * of * of)) ** 0.5
    return max(0.0, middle - half), min(1.0, middle + half)
