"""Numbers only spoken of: what may be, is wished, is the limit or is so in general."""

from __future__ import annotations

import re

from voicecoach.readings.mentions import Mention

_BEYOND = r"(?:above|over|under|below|past|beyond|more than|less than|higher than|lower than)"
_RECORD = r"(?:record|write|put|chart|say|log|know|call|see|tell|read)"
_WORDS = r"(?:[\w']+ )"
_CONDITION = re.compile(
    r"(?<!\bsure )(?<!\bsee )(?<!\bknow )(?<!\bcheck )(?<!\bwonder )(?<!\bask )(?<!\bas )"
    r"\b(?:if|unless|in case|whether) "
    r"(?!i (?:had|read|look|bend|hold|round|add|take|do|say|put|write|call|count|go)|you ask|i'm)"
    r"(?:(?!no |okay |yeah |yes |wait |then )[a-z']+ )*$"
    r"|\bi(?:'d| would) (?:drink|eat|weigh|be|love|hate|take|want|expect|think)\b.*$"
    r"|\b(?:when|once|until|till|before) (?:it|she|he|they|that|the \w+|her \w+|his \w+)(?:'s| gets?| reaches"
    rf"| hits| goes| is| drops| falls) (?:up |down |all )?(?:to|at|about|the|near|{_BEYOND})\b.*$"
    rf"|\bif (?:\w+'s|{_WORDS}?\w+ (?:is|are|gets?|goes|drops|runs)) {_WORDS}?{_BEYOND} "
)
_IF_SHE_DOES = re.compile(
    rf"^{_WORDS}{{0,3}}?(?:if|once|when|assuming|as long as) (?:she|he|they|you) "
    r"(?:drinks?|finish|finishes|eats?|takes?|downs?|empties|swallows?) "
)
"""A condition that follows: `one eighty if she drinks it all`."""
_IN_GENERAL = re.compile(
    r"(?<!is )(?<!are )(?<!looks )(?<!above )(?<!below )(?<!than )(?<!not )\bnormal(?:ly)? "
    rf"(?:$|{_WORDS}{{0,3}}(?:is|are|was|means|runs|should|goes|from|under|below|up|at) )"
    r"|\b(?:babies|newborns|kids|children|adults|people|everybody|athletes|always|usual|usually|generally"
    r"|typical"
    r"|typically|average|expected|baseline|tends to|supposed)(?:'s)? "
)
_IN_GENERAL_AFTER = re.compile(
    rf"^{_WORDS}?(?:would (?!say|put|call|write)|(?:should|could|might) (?:be|mean)\b)|^is when "
    rf"|^(?:(?:a|per) minute )?in (?:an? )?{_WORDS}?(?:baby|babies|newborns?|child|children|kids?|adults?)\b"
    rf"|^is (?:the |what (?:they|we|you|people) {_WORDS}*)normal\b"
)
_LIMIT = re.compile(
    r"\b(?:goal|target|limit|limited|restrict\w*|orders?|ordered|allowed|allowance|cutoff|threshold|max"
    r"|maximum"
    r"|minimum|at most|no more than|cleared for|has to be|have to be|must be|needs to be)(?:'s)? "
    rf"|\b(?:anything|anyone|anybody|report|tell \w+|call \w+|call the nurse"
    rf"|wants? \w+) {_WORDS}?(?:{_BEYOND}|at|up to) "
    r"|\b(?:within|(?:set|dialed|turned|rated) (?:at|to)|(?:rated|good) for|good to|(?:only )?(?:goes"
    r"|holds?|handles?)"
    r"(?: only)?(?: up)? to|(?:maxes|tops) out at) (?:about )?$"
    rf"|(?<!i )(?<!i'm )(?<!i'll )\b(?:keep\w*|make sure|nobody|no one|stay\w*|shake\w*|notify|watch for"
    rf"|alert|call)"
    rf" {_WORDS}{{0,6}}?(?:{_BEYOND}|at|up to) $"
)
_WISHED = re.compile(
    rf"(?<!n't )(?<!not )\b(?:wants?|needs?)(?! it in| to {_RECORD}| {_WORDS}to {_RECORD}) {_WORDS}{{0,6}}$"
    rf"|\b(?:wanted(?! to say)|asks|asked|asking|requests?|requested|begged) (?:for )?{_WORDS}{{0,2}}$"
    rf"|\b(?:him|her|them|you) to \w+ {_WORDS}?$"
)
_TO_COME = re.compile(
    r"(?<!that )(?<!it )(?<!which )(?<!so )(?<!this )(?<!i )(?<!i'm )(?<!n't )(?<!not )"
    r"\b(?:(?!that|it|this|i)\w+'ll|will|would|could|can|might|may|must|should|gonna"
    r"|(?:going|about|ought|trying|try|has|have|supposed|allowed|likes?|hopes?|hoping) to) "
    r"(?:(?:probably|also|just|still|usually|maybe|sometimes) )?"
    r"(?:drink|eat|have|get|take|finish|weigh|gain|lose|put out|pee|void|make|need|want|keep|stay|reach"
    r"|hit|hold"
    r"|give|bring|pour|offer|serve|be(?= between| under| over| above| below| at least| in)|go(?= up))\b"
    rf"(?! (?:it|that) ) {_WORDS}{{0,5}}$"
    rf"|\b(?:she|he|they)'d (?:eat|drink|weigh|love|like|need|take) {_WORDS}*$"
    rf"|\bi(?:'ll| will|'m going to|'m gonna) (?:just )?(?:give|bring|pour|offer|serve|fetch"
    rf"|fill|mix) {_WORDS}{{0,5}}$|\bdid you (?:say|get|put|write) {_WORDS}{{0,3}}$"
    rf"|\b(?:it'll|will|would|should) (?:say|read|show) {_WORDS}{{0,3}}$"
    rf"|\b(?:due|gets?|next|still to) (?:for )?(?:another|the other) {_WORDS}*$"
    r"|(?<!that )(?<!so )(?<!it )(?<!which )(?<!total )\bwould be (?:about |around )?$"
)
"""As in `she'll get another eight ounces`, `he can have fifteen hundred`."""
_THEN = re.compile(
    r"\b(?:it'll|it'd|that'll|that'd|it would|that would|then it's) (?:be |make )?(?:about )?$"
)


def is_unreal(mention: Mention, near: str) -> bool:
    """Whether it is a condition, a limit, a wish, what is to come or is so in general; `near`: its clause."""
    after = mention.after_later if mention.trail in ("is ", "makes ") else mention.trail
    return bool(
        any(words.search(near) for words in (_CONDITION, _IN_GENERAL, _LIMIT, _WISHED, _TO_COME))
        or _IN_GENERAL_AFTER.match(mention.trail)
        or _IF_SHE_DOES.match(after)
        or (_THEN.search(mention.lead) and _CONDITION.search(mention.before_earlier))
    )
