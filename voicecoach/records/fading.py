"""How much an attempt of some time ago still says of what a student can do today."""

from __future__ import annotations

from collections.abc import Sequence

HALF_LIFE = 2
"""Attempts after which an attempt weighs half. With 3 and with 4 what was said of simulated learners came
less true (`tests.benchmarks.record`)."""
ALONE = ("rehearse", "selftest")
"""Modes in which the student does it alone. In practise the coach leads on at once, so that what was done
there need not have been known."""


def weights(attempts: int) -> list[float]:
    """The weight of each of so many attempts, the oldest first; the newest weighs 1.

    Exponential forgetting: the discounted counts of the power steady model (J. Q. Smith, A generalization of
    the Bayesian steady forecasting model, Journal of the Royal Statistical Society B 41, 1979).
    """
    return [0.5 ** (age / HALF_LIFE) for age in range(attempts - 1, -1, -1)]


def smoothed(values: Sequence[float]) -> list[float]:
    """The weighted mean of each value and those before it."""
    fade = 0.5 ** (1 / HALF_LIFE)
    means: list[float] = []
    total = weight = 0.0
    for value in values:
        total, weight = total * fade + value, weight * fade + 1
        means.append(total / weight)
    return means
