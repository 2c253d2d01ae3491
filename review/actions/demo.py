"""The demo: rendered films of invented people with made-up marks, grades and comments."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from importlib.resources import as_file, files
from typing import Any

from review.actions import checklists, comments, grades, marks, people
from review.actions.recordings import Stages, add
from review.actions.shapes import read_shape
from review.domain.model import Person, Recording, Role
from review.store.home import Home
from review.store.repository import Repository, repository


def load(home: Home, progress: Stages | None = None) -> tuple[Person, list[Recording]]:
    """Load the demo into a home folder, once: what is there already stays as people have changed it.

    Returns
    -------
    tuple of Person and list of Recording
        The demo's learner, and the demo's recordings with the one to open first at the front.
    """
    script = tomllib.loads((files("sample_clips") / "demo.toml").read_text("utf-8"))
    with repository(home) as repo:
        checklists.install_shipped(repo)
        cast = {entry["code"]: people.ensure(repo, entry["code"], Role(entry["role"])) for entry in script["person"]}
    loaded = [_load_one(home, cast, entry, progress) for entry in script["recording"]]
    return cast[script["recording"][0]["by"]], loaded


def _load_one(home: Home, cast: Mapping[str, Person], entry: Mapping[str, Any], progress: Stages | None) -> Recording:
    learner = cast[entry["by"]]
    with as_file(files("sample_clips") / entry["film"]) as film:
        recording = add(
            home,
            learner,
            film,
            checklist_id=entry["checklist"],
            partner_height_mm=entry.get("partner_height_mm"),
            name=entry["name"],
            progress=progress,
        )
    with repository(home) as repo:
        if not repo.marks(recording.id):
            _say(repo, recording, cast, entry)
    return recording


def _say(repo: Repository, recording: Recording, cast: Mapping[str, Person], entry: Mapping[str, Any]) -> None:
    for said in entry["mark"]:
        marks.place(repo, cast[said["by"]], recording, said["step"], said.get("side"), said["from"], said["to"])
    for said in entry["grade"]:
        who, side = cast[said["by"]], said.get("side")
        grades.give(repo, who, recording, said["step"], side, said["level"], confidence=said["confidence"])
    for said in entry["comment"]:
        who, place = cast[said["by"]], {"step_id": said.get("step"), "side": said.get("side")}
        seconds, drawn = (said["at"], said.get("to", said["at"])), read_shape(said.get("shape"))
        written = comments.write(repo, who, recording, *seconds, said["text"], **place, shape=drawn)
        if "reply" in said:
            reply = said["reply"]
            comments.reply(repo, cast[reply["by"]], written.id, reply["text"])
