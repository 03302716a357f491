"""Figures of Matplotlib as part of a page, in the colors and letters of that page."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any
from xml.etree import ElementTree

import matplotlib
from markupsafe import Markup
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from voicecoach.showing import svg

INCHES = 3.6
"""How wide a figure is: about as wide as the page of a small phone, so that its letters keep their size
there."""
COLORS = {
    name: f"#0000{number:02x}"
    for number, name in enumerate(("ink", "quiet", "rule", "line", "good", "bad", "open", "page"), 1)
}
"""What stands for each color of the page while Matplotlib draws."""

_ABOVE, _RIGHT, _BELOW = 0.1, 0.18, 0.24
"""Inches for what lies beside the axes: half a mark, half a number, a row of numbers."""
_SETTINGS: dict[Any, Any] = {
    "axes.axisbelow": True,
    "axes.edgecolor": COLORS["line"],
    "axes.labelcolor": COLORS["quiet"],
    "axes.linewidth": 0.6,
    "axes.spines.left": False,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "font.size": 9.0,
    "grid.color": COLORS["rule"],
    "grid.linewidth": 0.6,
    "svg.fonttype": "none",
    "svg.hashsalt": "voicecoach",
    "text.color": COLORS["ink"],
    "text.parse_math": False,
    "xtick.color": COLORS["line"],
    "xtick.labelcolor": COLORS["quiet"],
    "xtick.major.size": 2.5,
    "xtick.major.width": 0.6,
    "ytick.color": COLORS["line"],
    "ytick.labelcolor": COLORS["quiet"],
    "ytick.major.size": 0.0,
}
_NAMES = {color: name for name, color in COLORS.items()}
_FONT = re.compile(r"font-family:[^;]*;?\s*")
_COLOR = re.compile(r"#0000[0-9a-f]{2}\b")
_SPACE = re.compile(r"\s+")


@contextmanager
def figure(
    height: float, left: float, widths: Sequence[float] = (1.0,)
) -> Iterator[tuple[Figure, list[Axes]]]:
    """A figure so many inches high, with room at its left, and axes side by side of those widths.

    Inside, it can be drawn, and given to `markup`.
    """
    with matplotlib.rc_context(_SETTINGS):
        made = Figure(figsize=(INCHES, height))
        made.patch.set_visible(False)
        axes = made.subplots(1, len(widths), squeeze=False, sharey=True, width_ratios=widths)
        made.subplots_adjust(
            left / INCHES, _BELOW / height, 1 - _RIGHT / INCHES, 1 - _ABOVE / height, wspace=0.08
        )
        yield made, list(axes[0])


def markup(figure: Figure, name: str, title: str, description: str) -> Markup:
    """A figure as part of a page, read as one picture by a screen reader.

    `name` is unique on the page; what else has an id in the figure is named after it.
    """
    for axes in figure.axes:
        axes.patch.set_visible(False)
    file = io.BytesIO()
    with warnings.catch_warnings():
        # The letters are drawn by who shows the page, and Matplotlib need not have them.
        warnings.filterwarnings("ignore", "Glyph .* missing")
        figure.savefig(file, format="svg", metadata=dict.fromkeys(("Creator", "Date", "Format", "Type")))
    drawn = ElementTree.fromstring(file.getvalue())
    made = svg.drawing(name, title, description, viewBox=drawn.attrib["viewBox"])
    made.set("class", "plot")
    made.extend(part for part in drawn if not part.tag.endswith("}defs"))
    for element in made.iter():
        _make_plain(element, name)
    return svg.markup(made)


def _make_plain(element: svg.Element, name: str) -> None:
    """Leave of an element what a page needs: names without a namespace, ids of its own, colors of the
    page."""
    element.tag = element.tag.rpartition("}")[2]
    attributes = {key.rpartition("}")[2]: value for key, value in element.attrib.items()}
    if element.tag == "g":
        attributes.pop("id", None)
    elif element.tag == "path" and "id" in attributes:
        attributes["id"] = f"{name}-{attributes['id']}"
    # All that is drawn lies within the axes.
    attributes.pop("clip-path", None)
    if "href" in attributes:
        attributes["href"] = f"#{name}-{attributes['href'][1:]}"
    if "d" in attributes:
        attributes["d"] = _SPACE.sub(" ", attributes["d"]).strip()
    if "style" in attributes:
        attributes["style"] = _COLOR.sub(_variable, _FONT.sub("", attributes["style"]))
    element.attrib.clear()
    element.attrib.update(attributes)
    element.text = element.text if element.text and element.text.strip() else None
    element.tail = None


def _variable(color: re.Match[str]) -> str:
    return f"var(--{_NAMES[color[0]]})"
