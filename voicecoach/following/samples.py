"""What students say besides reporting steps: samples for the classifier of stages and requests."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import yaml

from voicecoach.procedure.text import LOADER


@dataclass(frozen=True, slots=True)
class Samples:
    """Sample clauses, each in lower-case words."""

    chat: tuple[str, ...]
    """About nothing in the procedure."""
    later: tuple[str, ...]
    """A step that will come later."""
    undone: tuple[str, ...]
    """A step forgotten or not done."""
    avoiding: tuple[str, ...]
    """Keeping from something that must not happen."""
    mishap: tuple[str, ...]
    """Something that must not happen did."""
    report: tuple[str, ...]
    """Reports that sound like one of the others."""
    requests: dict[str, tuple[str, ...]]
    """What the student asks the coach, by request."""


@cache
def samples() -> Samples:
    """The samples that come with voicecoach."""
    data = yaml.load(files("voicecoach.following").joinpath("samples.yaml").read_text("utf-8"), LOADER)
    requests = {name: tuple(phrases) for name, phrases in data.pop("requests").items()}
    return Samples(**{stage: tuple(phrases) for stage, phrases in data.items()}, requests=requests)
