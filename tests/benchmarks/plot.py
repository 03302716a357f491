"""Step F1 against the signal-to-noise ratio, by recognizer and noise."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import matplotlib

matplotlib.use("Agg")
from matplotlib import pyplot

CLEAN = 30.0
"""Where on the axis of dB the clean sound stands."""
_STYLES = {"water": "-", "babble": "--"}

Curve = list[tuple[float, float, float, float]]
"""Ratio in dB, step F1, and its interval's ends."""


def curves(columns: Mapping[str, Mapping[str, Any]]) -> dict[tuple[str, str], Curve]:
    """For each recognizer and noise the points, those of several folders one after the other."""
    found: dict[tuple[str, str], Curve] = {}
    for key, figures in columns.items():
        *folder, hear, condition, voice = [""] * 3 + key.split(" ")
        if voice != "in-turn":
            continue
        kind, _, ratio = condition.partition("-")
        wanted = list(_STYLES) if kind == "clean" else [kind] if kind in _STYLES else []
        for noise in wanted:
            point = (
                float(ratio or CLEAN),
                figures["step_f1"],
                figures["step_f1_low"],
                figures["step_f1_high"],
            )
            found.setdefault((" ".join([*filter(None, folder), hear]), noise), []).append(point)
    return {name: sorted(curve) for name, curve in found.items()}


def draw(columns: Mapping[str, Mapping[str, Any]], to: Path) -> None:
    """Draw what was measured with --noise into a PNG or SVG file."""
    figure, axes = pyplot.subplots(figsize=(8, 5), layout="constrained")
    lines = curves(columns)
    colors = {hear: f"C{place}" for place, hear in enumerate(dict.fromkeys(hear for hear, _ in lines))}
    for (hear, noise), curve in lines.items():
        ratios, f1, low, high = zip(*curve, strict=True)
        axes.plot(ratios, f1, _STYLES[noise], marker="o", color=colors[hear], label=f"{hear}, {noise}")
        axes.fill_between(ratios, low, high, color=colors[hear], alpha=0.1)
    ticks = sorted({point[0] for curve in lines.values() for point in curve})
    axes.set_xticks(ticks, ["clean" if tick == CLEAN else f"{tick:g}" for tick in ticks])
    axes.set(xlabel="signal-to-noise ratio in dB", ylabel="step F1, with 95% interval", ylim=(0, 1))
    axes.grid(alpha=0.3)
    if lines:
        axes.legend()
    figure.savefig(to)
    pyplot.close(figure)
