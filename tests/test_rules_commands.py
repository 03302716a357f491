"""`voicecoach rules` and `check` as a teacher types them: what is shown, what is kept and what is not."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from voicecoach import cli, rules_commands
from voicecoach.procedure import library

Run = Callable[..., tuple[int, str, str]]

RULES = """\
class: Evening class
gait-belt-walk:
  - change: belt
    critical: false
    because: Our state does not count it as critical.
  - remove: privacy
    because: We practise in one open room.
wash-hands:
  - pass: 0.9
    because: The course is over.
"""
SHOWN = """\
Evening class: 3 rules for 2 procedures, no fault

gait-belt-walk: Help a resident walk with a gait belt
  privacy: removed; it was: “Give privacy with a curtain or a door”
      because: We practise in one open room.
  belt: critical no longer
      because: Our state does not count it as critical.

wash-hands: Wash hands at a sink
  pass: 80 % -> 90 % of the steps
      because: The course is over.
"""
UNUSABLE = (
    "These rules are in force and cannot be used. Put your own file right and in force again with "
    "`voicecoach rules FILE`, or go without rules: `voicecoach rules --none`.\n"
)


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """Where the rules in force are kept."""
    return tmp_path / "data" / "voicecoach" / "rules.yaml"


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    """A teacher's file of rules."""
    file = tmp_path / "mine.yaml"
    file.write_text(RULES, encoding="utf-8")
    return file


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    """Runs voicecoach with arguments: exit code, standard output, standard error."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))

    def run(*arguments: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["voicecoach", *map(str, arguments)])
        with pytest.raises(SystemExit) as left:
            cli.main()
        printed = capsys.readouterr()
        assert "Traceback" not in printed.err
        return int(left.value.code or 0), printed.out, printed.err

    return run


def test_a_file_is_put_in_force_shown_and_taken_out_again(run: Run, kept: Path, mine: Path) -> None:
    shipped = {file: file.read_bytes() for file in library.folder().iterdir()}
    none = (0, "No rules are in force.\nvoicecoach rules FILE puts the rules of your class in force.\n", "")
    assert run("rules") == none
    assert not kept.parent.exists(), "looking leaves nothing behind"
    code, out, err = run("rules", mine)
    assert (code, err) == (0, "")
    assert out == (
        f"{SHOWN}\nIn force from now on, as a copy: {kept}\n"
        "After a change in your own file, put it in force again; voicecoach rules --none goes without.\n"
    )
    assert kept.read_text(encoding="utf-8") == RULES
    assert not library.find("gait-belt-walk").step("belt").critical
    assert run("rules") == (0, f"In force: {kept}\n\n{SHOWN}", "")
    code, out, err = run("rules", "--none")
    aside = kept.with_name("rules-aside.yaml")
    assert (code, err) == (0, "")
    assert out == (
        f"No rules are in force any more; your own file is as it was.\nThe copy is kept aside: {aside}\n"
    )
    assert (aside.read_text(encoding="utf-8"), mine.read_text(encoding="utf-8")) == (RULES, RULES)
    assert library.find("gait-belt-walk").step("belt").critical
    assert run("rules") == none
    assert run("rules", "--none") == (0, "No rules are in force.\n", "")
    assert {file: file.read_bytes() for file in library.folder().iterdir()} == shipped


def test_what_is_in_force_is_what_a_command_works_with(run: Run, mine: Path) -> None:
    def steps(id: str) -> str:
        (line,) = (line for line in run("procedures")[1].splitlines() if line.strip().startswith(f"{id} "))
        return line.split()[-1]

    before = int(steps("gait-belt-walk"))
    run("rules", mine)
    assert int(steps("gait-belt-walk")) == before - 1


def test_check_shows_the_differences_and_keeps_nothing(run: Run, kept: Path, mine: Path) -> None:
    assert run("check", mine) == (0, f"{mine}: {SHOWN}", "")
    assert not kept.exists()
    code, out, err = run("check", library.folder() / "hand-rub.yaml", mine)
    assert (code, err) == (0, "")
    assert out.startswith(f"{library.folder() / 'hand-rub.yaml'}: ")
    assert out.endswith(SHOWN)


def test_check_finds_the_faults_of_rules(run: Run, mine: Path) -> None:
    mine.write_text(RULES.replace("critical: false", "critical: true").replace("0.9", "9"), encoding="utf-8")
    assert run("check", mine) == (
        1,
        f"{mine}:4: gait-belt-walk, change belt: critical: this is so already, it changes nothing\n"
        f"{mine}:9: wash-hands, pass: pass.share: 9 does not fit, Input should be less than or equal to 1\n",
        "",
    )


def test_faulty_rules_are_not_kept(run: Run, kept: Path, mine: Path) -> None:
    faulty = mine.with_name("faulty.yaml")
    faulty.write_text(RULES.replace("    because: The course is over.\n", ""), encoding="utf-8")
    reason = f"{faulty}:9: wash-hands, pass: the reason is missing, `because: ...` is expected\n"
    assert run("rules", faulty) == (2, "", f"{reason}Nothing is changed: no rules are in force.\n")
    assert not kept.parent.exists()
    run("rules", mine)
    assert run("rules", faulty) == (
        2,
        "",
        f"{reason}Nothing is changed: the rules that were in force still are.\n",
    )
    assert kept.read_text(encoding="utf-8") == RULES


def test_a_second_file_takes_the_place_of_the_first(run: Run, kept: Path, mine: Path) -> None:
    run("rules", mine)
    other = mine.with_name("other.yaml")
    other.write_text("hand-rub: [{pass: 0.5, because: It is the first day.}]\n", encoding="utf-8")
    code, out, _ = run("rules", other)
    assert (code, out.splitlines()[0]) == (0, "1 rule for 1 procedure, no fault")
    assert library.find("gait-belt-walk").step("belt").critical
    assert library.find("hand-rub").pass_.share == 0.5
    assert [file.name for file in kept.parent.iterdir()] == ["rules.yaml"]


@pytest.mark.parametrize(
    "command", [("rules",), ("procedures",), ("practise", "gait-belt-walk", "--hear", "typed")]
)
def test_a_kept_file_that_cannot_be_used_stops_what_needs_it(
    command: tuple[str, ...], run: Run, kept: Path, mine: Path
) -> None:
    run("rules", mine)
    kept.write_text(RULES.replace("change: belt", "change: bolt"), encoding="utf-8")
    code, out, err = run(*command)
    assert (code, out) == (2, "")
    assert err.startswith(
        f"{kept}:3: gait-belt-walk, change bolt: there is no step 'bolt', nearest are belt, "
    )
    assert err.endswith(UNUSABLE)
    run("rules", "--none")
    assert run("procedures")[0] == 0


def test_a_full_disk_leaves_the_rules_that_were_in_force(
    run: Run, kept: Path, mine: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run("rules", mine)

    def full(file: int) -> None:
        raise OSError(28, "No space left on device")

    mine.write_text("hand-rub: [{pass: 0.5, because: It is the first day.}]\n", encoding="utf-8")
    monkeypatch.setattr(os, "fsync", full)
    said = f"The rules cannot be kept in {kept}: No space left on device.\n"
    assert run("rules", mine) == (2, "", said)
    assert kept.read_text(encoding="utf-8") == RULES
    assert [file.name for file in kept.parent.iterdir()] == ["rules.yaml"], "nothing half written is left"


def test_where_nothing_can_be_kept_it_says_so(run: Run, kept: Path, mine: Path) -> None:
    kept.parent.parent.write_text("no folder", encoding="utf-8")
    code, out, err = run("rules", mine)
    assert (code, out) == (2, "")
    assert err == f"The rules cannot be kept in {kept}: Not a directory.\n"


def test_what_a_file_says_cannot_steer_the_terminal(run: Run, mine: Path) -> None:
    mine.write_text(
        'class: "\\e[31mred"\nhand-rub: [{pass: 0.5, because: "[bold]Why\\n\\e[2J not"}]\n', encoding="utf-8"
    )
    for command in ("rules", "check"):
        code, out, _ = run(command, mine)
        assert code == 0
        assert "\x1b" not in out
        assert "[31mred: 1 rule for 1 procedure, no fault" in out
        assert "because: [bold]Why [2J not" in out


def test_advice_for_what_is_new_and_for_nothing_else(run: Run, mine: Path) -> None:
    added = "{id: smile, do: Smile, why: A., say: [smiling], cue: {nudge: A?, hint: B., step: C.}}"
    mine.write_text(
        f"hand-rub: [{{add: {added}, behind: palmful, because: It is nice.}}]\n", encoding="utf-8"
    )
    out = run("check", mine)[1]
    assert out.count("advice: ") == 1
    assert "  advice: smile: 1 phrasings, 10 that differ in kind are followed better\n" in out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            ("nowhere.yaml",),
            "nowhere.yaml: the rules cannot be read (No such file or directory); check the name.",
        ),
        (("mine.yaml", "--none"), "Name a file or say --none, not both."),
        ((".",), ".: the rules cannot be read (Is a directory); check the name."),
    ],
)
def test_what_cannot_be_done(arguments: tuple[str, ...], said: str, run: Run, mine: Path) -> None:
    code, out, err = run("rules", *arguments)
    assert (code, out) == (2, "")
    assert err.startswith(f"{said}\n")


def test_a_procedure_is_no_file_of_rules(run: Run, kept: Path) -> None:
    code, out, err = run("rules", library.folder() / "hand-rub.yaml")
    assert (code, out) == (2, "")
    assert ":1: id: there is no procedure of that id, nearest are " in err
    assert not kept.exists()


def test_a_long_line_stays_a_line(run: Run, mine: Path) -> None:
    reason = "so it is " * 40
    mine.write_text(f"hand-rub: [{{pass: 0.5, because: {reason}}}]\n", encoding="utf-8")
    assert f"      because: {reason.strip()}\n" in run("rules", mine)[1]
    assert rules_commands.checked(mine)[-1] == f"      because: {reason.strip()}"
