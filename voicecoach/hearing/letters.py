"""Letters to sounds: a small set of rules for words that no dictionary has.

The rules are English spelling in its most usual values. The longest group of letters that fits at a
place wins; among groups of one length the first whose surroundings fit.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

_VOWELS = "aeiouy"

_LATER = "[aeiouy].*"
"""Before the letters: a vowel, so that they are not the first syllable and seldom the stressed one."""

_RULES: tuple[tuple[str, str, str, str], ...] = (
    # what stands before (pattern), the letters, what stands after (pattern), the phones
    (_LATER, "ment", "$", "M AH N T"), (_LATER, "ments", "$", "M AH N T S"),
    (_LATER, "ance", "$", "AH N S"), (_LATER, "ence", "$", "AH N S"), (_LATER, "able", "$", "AH B AH L"),
    (_LATER, "ible", "$", "AH B AH L"), (_LATER, "age", "$", "IH JH"), (_LATER, "ate", "$", "EY T"),
    (_LATER, "ent", "$", "AH N T"), (_LATER, "ant", "$", "AH N T"), (_LATER, "ents", "$", "AH N T S"),
    (_LATER, "ants", "$", "AH N T S"), (_LATER, "al", "$", "AH L"), (_LATER, "als", "$", "AH L Z"),
    (_LATER, "ally", "$", "AH L IY"), (_LATER, "el", "$", "AH L"), (_LATER, "an", "$", "AH N"),
    (_LATER, "ans", "$", "AH N Z"), (_LATER, "en", "$", "AH N"), (_LATER, "ens", "$", "AH N Z"),
    (_LATER, "on", "$", "AH N"), (_LATER, "ons", "$", "AH N Z"), (_LATER, "in", "$", "IH N"),
    (_LATER, "ar", "$", "ER"), (_LATER, "or", "$", "ER"), (_LATER, "ors", "$", "ER Z"),
    (_LATER, "ess", "$", "AH S"), (_LATER, "et", "$", "AH T"), (_LATER, "ets", "$", "AH T S"),
    (_LATER, "us", "$", "AH S"), (_LATER, "um", "$", "AH M"), (_LATER, "am", "$", "AH M"),
    (_LATER, "ard", "$", "ER D"), (_LATER, "ive", "$", "IH V"), (_LATER, "ary", "$", "EH R IY"),
    (_LATER, "ity", "$", "AH T IY"), ("w", "or", "[^e]", "ER"), ("^", "con", "[^aeiou]", "K AH N"),
    ("^", "com", "[^aeiou]", "K AH M"), ("", "nc", "[aou]", "NG K"), ("", "ar", "[aeiou]", "EH R"),
    ("", "er", "[aeiou]", "EH R"), ("", "ir", "[aeiou]", "IH R"), ("[szc]", "es", "$", "IH Z"),
    ("^", "re", "[^aeiours]", "R IH"), ("^", "de", "[^aeiours]", "D IH"),
    ("^", "a", r"([b-df-hj-np-tv-z])\1", "AH"), ("[bcfmpv]", "u", "[bcdfgklmnpstvz][aeio]", "Y UW"),
    ("", "led", "$", "AH L D"),
    ("", "tion", "", "SH AH N"), ("", "sion", "", "ZH AH N"), ("", "cian", "", "SH AH N"),
    ("", "ture", "", "CH ER"), ("", "ough", "", "AO"), ("", "augh", "", "AO"), ("", "eigh", "", "EY"),
    ("", "igh", "", "AY"), ("", "tch", "", "CH"), ("", "dge", "", "JH"), ("", "sch", "", "SH"),
    ("", "eau", "", "OW"), ("", "ious", "", "IY AH S"), ("", "ous", "$", "AH S"), ("", "ear", "", "IH R"),
    ("", "air", "", "EH R"), ("", "are", "$", "EH R"), ("", "ire", "$", "AY ER"), ("", "ore", "$", "AO R"),
    ("", "ure", "$", "Y UH R"), ("", "oar", "", "AO R"), ("", "oor", "", "AO R"), ("", "eer", "", "IH R"),
    ("", "our", "", "AO R"), ("", "que", "$", "K"), ("", "gue", "$", "G"), ("", "cki", "", "K IH"),
    ("", "ch", "[lr]", "K"), ("", "ch", "", "CH"), ("", "ck", "", "K"), ("", "sh", "", "SH"),
    ("", "ph", "", "F"), ("", "th", "", "TH"), ("", "wh", "", "W"), ("^", "wr", "", "R"),
    ("^", "kn", "", "N"), ("^", "gn", "", "N"), ("^", "ps", "", "S"), ("", "gh", "[aeiou]", "G"),
    ("", "gh", "", ""),
    ("", "mb", "$", "M"), ("", "ng", "$", "NG"), ("", "ng", "[aeiouy]", "NG G"), ("", "ng", "", "NG"),
    ("", "nk", "", "NG K"), ("", "qu", "", "K W"), ("", "sc", "[eiy]", "S"), ("", "cc", "[eiy]", "K S"),
    ("", "ai", "", "EY"), ("", "ay", "", "EY"), ("", "au", "", "AO"), ("", "aw", "", "AO"),
    ("", "ar", "", "AA R"), ("", "ea", "", "IY"), ("", "ee", "", "IY"), ("", "ei", "", "AY"),
    ("", "er", "", "ER"), ("", "eu", "", "OY"), ("", "ew", "", "UW"), ("", "ey", "$", "IY"),
    ("", "ie", "$", "IY"), ("", "ie", "", "IY"), ("", "ir", "", "ER"), ("", "ia", "", "IY AH"),
    ("", "io", "", "IY OW"), ("", "oa", "", "OW"), ("", "oi", "", "OY"), ("", "oo", "", "UW"),
    ("", "or", "", "AO R"), ("", "ou", "", "AW"), ("", "ow", "", "OW"), ("", "oy", "", "OY"),
    ("", "oe", "$", "OW"), ("", "ue", "$", "UW"), ("", "ui", "", "UW"), ("", "ur", "", "ER"),
    ("[aeiouy]", "le", "$", "L"), ("", "le", "$", "AH L"), ("", "re", "$", "ER"), ("[td]", "ed", "$", "IH D"),
    ("[pkfsc]", "ed", "$", "T"), ("", "ed", "$", "D"), ("", "es", "$", "Z"),
    ("", "a", "[bcdfgklmnpstvz]e", "EY"), ("", "a", "[bcdfgklmnpstvz]i[nao]", "EY"), ("", "a", "$", "AH"),
    ("w", "a", "[^aeiouywk]", "AA"), ("", "a", "ll", "AO"), ("", "a", "", "AE"),
    ("^[^aeiouy]+", "e", "$", "IY"), ("", "e", "$", ""), ("", "e", "", "EH"),
    ("", "i", "[bcdfgklmnpstvz]e", "AY"), ("", "i", "$", "IY"), ("", "i", "nd$", "AY"), ("", "i", "", "IH"),
    ("", "o", "[bcdfgklmnpstvz]e", "OW"), ("", "o", "$", "OW"), ("", "o", "l[dkt]", "OW"),
    ("", "o", "st$", "OW"), ("", "o", "n$", "AH"), ("", "o", "", "AA"),
    ("", "u", "[bcdfgklmnpstvz][eio]", "UW"),
    ("", "u", "$", "UW"), ("", "u", "", "AH"), ("^", "y", "[aeiou]", "Y"), ("^[^aeiouy]+", "y", "$", "AY"),
    ("", "y", "$", "IY"),
    ("", "y", "", "IH"), ("", "b", "", "B"), ("", "c", "[eiy]", "S"), ("", "c", "", "K"), ("", "d", "", "D"),
    ("", "f", "", "F"), ("", "g", "[eiy]", "JH"), ("", "g", "", "G"), ("", "h", "[aeiouy]", "HH"),
    ("", "h", "", ""), ("", "j", "", "JH"), ("", "k", "", "K"), ("", "l", "", "L"), ("", "m", "", "M"),
    ("", "n", "", "N"), ("", "p", "", "P"), ("", "q", "", "K"), ("", "r", "", "R"),
    ("[aeiouylmnrbdgvw]", "s", "$", "Z"), ("", "s", "", "S"), ("", "t", "", "T"), ("", "v", "", "V"),
    ("", "w", "[aeiouy]", "W"), ("", "w", "", ""), ("^", "x", "", "Z"), ("", "x", "", "K S"),
    ("", "z", "", "Z"),
)  # fmt: skip


def spelled_out(word: str) -> tuple[str, ...]:
    """A guess at the phones of `word` from its letters; `AH` where no letter has a sound."""
    letters = re.sub(r"[^a-z]", "", word.lower())
    phones: list[str] = []
    place = 0
    while place < len(letters):
        if place and letters[place] == letters[place - 1] and letters[place] not in _VOWELS:
            place += 1  # a doubled consonant sounds once
            continue
        length, sound = _value(letters, place)
        phones.extend(sound)
        place += length
    return tuple(phones) or ("AH",)


def _value(letters: str, place: int) -> tuple[int, Sequence[str]]:
    """How many letters from `place` on make one sound, and which phones they are."""
    before, rest = letters[:place], letters[place:]
    for was, group, then, sound in _compiled():
        if rest.startswith(group) and then.match(rest[len(group) :]) and was.search(before):
            return len(group), sound
    raise ValueError(f"no rule for the letter {letters[place]!r}")


@cache
def _compiled() -> tuple[tuple[re.Pattern[str], str, re.Pattern[str], tuple[str, ...]], ...]:
    rules = sorted(_RULES, key=lambda rule: -len(rule[1]))
    return tuple(
        (re.compile(f"(?:{was})$"), group, re.compile(then), tuple(sound.split()))
        for was, group, then, sound in rules
    )
