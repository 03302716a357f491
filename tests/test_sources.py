"""Which recognizer is taken."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from voicecoach import session, sources
from voicecoach.errors import Complaint
from voicecoach.hearing import whisper_model
from voicecoach.procedure import library
from voicecoach.procedure.model import Procedure
from voicecoach.sound import RATE, files


class Named:
    """Stands for a recognizer of which only the name is asked."""

    name = ""

    def __init__(self, *_: object) -> None:
        pass


@pytest.fixture
def procedure() -> Procedure:
    return library.find("hand-rub")


@pytest.fixture
def recording(tmp_path: Path) -> str:
    file = tmp_path / "said.wav"
    files.write(file, np.full(RATE, 1000, np.int16))
    return str(file)


@pytest.mark.parametrize(
    ("hear", "model", "extra", "taken"),
    [
        ("auto", True, True, "vosk"),
        ("auto", True, False, "vosk"),
        ("auto", False, True, "whisper"),
        ("auto", False, False, "sphinx"),
        ("vosk", True, True, "vosk"),
        ("whisper", True, True, "whisper"),
        ("sphinx", True, True, "sphinx"),
    ],
)
def test_the_best_recognizer_there_is_is_taken_and_named_in_the_journal(
    monkeypatch: pytest.MonkeyPatch,
    procedure: Procedure,
    recording: str,
    hear: str,
    model: bool,
    extra: bool,
    taken: str,
) -> None:
    for name in ("Sphinx", "Vosk", "Whisper"):
        monkeypatch.setattr(sources, name, type(name, (Named,), {"name": name.lower()}))
    monkeypatch.setattr(sources, "installed_model", lambda: Path("model") if model else None)
    monkeypatch.setattr(sources, "whisper_installed", lambda: extra)
    source = sources.choose(hear, None, recording, procedure)
    assert session.begun(procedure, "rehearse", source.hear).hear == taken


def test_whisper_without_its_extra_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, procedure: Procedure, recording: str
) -> None:
    monkeypatch.setattr(whisper_model, "_NEEDED", ("no_such_package",))
    with pytest.raises(Complaint, match=r'pip install "voicecoach\[whisper\]"'):
        sources.choose("whisper", None, recording, procedure)


@pytest.mark.parametrize("hear", ["sphinx", "whisper"])
def test_a_vosk_model_is_for_vosk_only(
    tmp_path: Path, procedure: Procedure, recording: str, hear: str
) -> None:
    with pytest.raises(Complaint, match="not both"):
        sources.choose(hear, tmp_path, recording, procedure)
