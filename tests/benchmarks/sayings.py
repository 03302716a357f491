"""Gather `voicecoach/hearing/sayings.yaml` from what was written for tuning.

    python -m tests.benchmarks.sayings

From `tests/readings/tuned*.yaml` and `tests/narrations/timed/tuned*.jsonl`, each saying once, with `N` for
any number; never from what is kept aside. Sayings with figures or capitals are typed, and left out.
"""

from __future__ import annotations

import json
import re
from collections import defaultdict
from pathlib import Path

import yaml

from voicecoach.hearing import sayings
from voicecoach.hearing.number_words import NUMBER, classed

TESTS = Path(__file__).parents[1]
FILE = Path(sayings.__file__).with_name("sayings.yaml")
_HEAD = "# What students say, by the unit of what they record; N is any number.\n"
_TYPED = re.compile(r"[0-9A-Z]")


def gathered() -> dict[str, list[str]]:
    """All sayings by unit, and those of narrations with timed steps, in the order of files."""
    found: defaultdict[str, dict[str, None]] = defaultdict(dict)
    for file in sorted((TESTS / "readings").glob("tuned*.yaml")):
        data = yaml.safe_load(file.read_text("utf-8"))
        for one in data["said"]:
            if not _TYPED.search(one["say"]):
                found[data["readings"][one["in"]]["unit"]][without_numbers(one["say"])] = None
    for file in sorted((TESTS / "narrations" / "timed").glob("tuned*.jsonl")):
        for line in file.read_text("utf-8").splitlines():
            for clause in json.loads(line)["clauses"]:
                found[sayings.TIMED][without_numbers(clause["say"])] = None
    # What is a number and nothing else says nothing of how numbers are spoken of.
    return {of: [saying for saying in said if set(saying.split()) - {"N"}] for of, said in found.items()}


def without_numbers(said: str) -> str:
    """The words of a saying with `N` for each number in it."""
    words = " ".join(re.findall(r"[a-z]+(?:'[a-z]+)*", said))
    return " ".join("N" if word == NUMBER else word for word in classed(words))


def main() -> None:
    """Write the file anew."""
    FILE.write_text(_HEAD + yaml.safe_dump(gathered(), sort_keys=False, width=1000), "utf-8")


if __name__ == "__main__":
    main()
