"""Results of attempts made by hand, and strategies for any: what progress, plans and exports are made of."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta, timezone

from hypothesis import strategies as st

from voicecoach.records.results import Result, StepResult

MONDAY = date(2026, 11, 23)


def step(
    id: str = "lock",
    do: str = "Lock the wheels",
    *,
    critical: bool = False,
    needed: bool = True,
    done: bool = True,
    in_order: bool = True,
    unprompted: bool = True,
    right: bool | None = None,
) -> StepResult:
    """A step, done well unless something else is said."""
    right = done if right is None else right
    return StepResult(
        id, do, critical, needed, done, in_order, unprompted, right, 4.5 if done else None, None
    )


def steps(number: int) -> tuple[StepResult, ...]:
    """So many steps that are not critical, all done well."""
    return tuple(step(f"step-{place}", f"Do part {place}") for place in range(1, number + 1))


def attempt(
    *what: StepResult,
    on: date = MONDAY,
    mode: str = "rehearse",
    procedure: str = "make-bed",
    title: str = "Make an empty bed",
    student: str = "s07",
    passed: bool = True,
    judged: bool = True,
    complete: bool = True,
    mishaps: tuple[str, ...] = (),
    hour: int = 9,
) -> Result:
    """An attempt with these steps or ten done well, at an hour of that day, UTC."""
    begun = datetime.combine(on, time(hour), UTC)
    return Result(
        attempt=f"{begun:%Y-%m-%d-%H%M%S}-{procedure}",
        student=student,
        procedure=procedure,
        title=title,
        mode=mode,
        begun=begun.isoformat(timespec="seconds"),
        seconds=150.0,
        passed=passed,
        judged=judged,
        complete=complete,
        share=0.8,
        steps=what or steps(10),
        mishaps=mishaps,
        heard=12,
    )


def failed(on: date = MONDAY, procedure: str = "make-bed", mode: str = "rehearse", hour: int = 9) -> Result:
    """An attempt in which a critical step was missing."""
    missing = step(critical=True, done=False)
    return attempt(*steps(9), missing, on=on, mode=mode, procedure=procedure, passed=False, hour=hour)


def placed(results: Sequence[Result]) -> dict[str, list[Result]]:
    """The results of each procedure, in order of time."""
    by_procedure: dict[str, list[Result]] = {}
    for result in sorted(results, key=lambda result: datetime.fromisoformat(result.begun)):
        by_procedure.setdefault(result.procedure, []).append(result)
    return by_procedure


# As the store keeps them: any text but half letters.
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=20)
IDS = st.from_regex(r"[a-z][a-z0-9]{0,8}(-[a-z0-9]{1,5}){0,2}", fullmatch=True)
CODES = st.just("") | st.from_regex(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}", fullmatch=True)
MODES = st.sampled_from(["practise", "rehearse", "selftest"])
_OFFSETS = st.integers(-12 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
BEGINNINGS = st.datetimes(
    min_value=datetime(2026, 1, 1), max_value=datetime(2027, 12, 31), timezones=_OFFSETS
).map(lambda moment: moment.isoformat(timespec="seconds"))
_SECONDS = st.floats(0, 7200).map(lambda seconds: round(seconds, 3))

STEPS = st.builds(
    StepResult,
    step=IDS,
    do=TEXTS,
    critical=st.booleans(),
    needed=st.booleans(),
    done=st.booleans(),
    in_order=st.booleans(),
    unprompted=st.booleans(),
    right=st.booleans(),
    seconds=st.none() | _SECONDS,
    needed_seconds=st.none() | _SECONDS,
)
RESULTS = st.builds(
    Result,
    attempt=TEXTS,
    student=CODES,
    procedure=IDS,
    title=TEXTS,
    mode=MODES,
    begun=BEGINNINGS,
    seconds=_SECONDS,
    passed=st.booleans(),
    judged=st.booleans(),
    complete=st.booleans(),
    share=st.floats(0, 1).map(lambda share: round(share, 3)),
    steps=st.lists(STEPS, max_size=4).map(tuple),
    mishaps=st.lists(TEXTS, max_size=2).map(tuple),
    heard=st.integers(0, 500),
    mock=st.just("") | TEXTS,
)
