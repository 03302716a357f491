"""Signs beside numbers, written out as they are said: `-150`, `75%`, `1/2`, `98.6°f`."""

from __future__ import annotations

import re

_WRITTEN = (
    (re.compile(r"(?<=\d),(?=\d{3}(?!\d))"), ""),
    (re.compile(r"(?<=\d)[-–](?=\d)"), " to "),
    (re.compile(r"(?:(?<=[\s(:=])|^)[-−–](?=\d)"), " minus "),
    (re.compile(r"(?<!:\d)(\d(?:\s?[a-z]{1,3})?)\s[-−–]\s(?=\d)"), r"\1 minus "),
    (re.compile(r"(?<=\d)\s*[x×*]\s*(?=\d)"), " times "),
    (re.compile(r"(?<=\d)\s+1/2(?!\d)|½"), " and a half "),
    (re.compile(r"(?<=\d)\s+1/4(?!\d)|¼"), " and a quarter "),
    (re.compile(r"(?<=\d)\s+3/4(?!\d)|¾"), " and three quarters "),
    (re.compile(r"(?<![\d/])1/2(?![\d/])"), " half "),
    (re.compile(r"(?<![\d/])1/4(?![\d/])"), " a quarter "),
    (re.compile(r"(?<![\d/])3/4(?![\d/])"), " three quarters "),
    (re.compile(r"@"), " at "),
    (re.compile(r"\+(?=\s?\d)"), " plus "),
    (re.compile(r"=(?=\s?\d)|(?<=\d)\s?="), " equals "),
    (re.compile(r"/(?=\s?min)"), " per "),
    (re.compile(r"(?<=\d)\s*/\s*(?=\d)"), " slash "),
    (re.compile(r"[°º]"), " degrees "),
    (re.compile(r"%"), " percent "),
    (re.compile(r"(?<=\d)\s?#"), " pounds "),
    (re.compile(r"\b(?:sp\s?)?o2\b|(?<=her )o two\b|(?<=his )o two\b|(?<=the )o two\b"), " oxygen "),
    (re.compile(r"\b(?:a )?buck (?=\w+ty\b|oh\b)"), " one "),
)


def without_signs(text: str) -> str:
    """A text in lower case with the signs beside its numbers written out: `-150`, `75%`, `1/2`, `98.6°f`."""
    for sign, words in _WRITTEN:
        text = sign.sub(words, text)
    return text
