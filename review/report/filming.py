"""The filming guide: how to film each part of a checklist so that it can be seen, heard and measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from review.domain.checklist import Checklist, Step
from review.measures import eye_closure, gaze_sweep, measure, registry
from review.store.home import Home
from review.store.repository import reading


@dataclass(frozen=True, slots=True)
class Shot:
    """One way to place the camera.

    Parameters
    ----------
    key
        Name of the shot and of its drawing.
    title
        What it shows.
    views
        Words of a step's `view` that ask for it.
    lines
        Label and sentence, in the order of doing: where, how far, how high, what must be in the picture.
    """

    key: str
    title: str
    views: tuple[str, ...]
    lines: tuple[tuple[str, str], ...]


ALWAYS: Final = Shot(
    "always",
    "For every film",
    (),
    (
        ("Phone", "On a stand or a shelf, lying on its side, level; nobody touches it while it films."),
        ("Light", "From the front: the window or lamp is behind the phone, never behind the partner."),
        ("Sound", "Each finding is said aloud towards the phone. No fan, no music, no charger beside it."),
        ("In the picture", "Partner and examiner, nobody else, and no paper with a name."),
        ("Camera", "The one at the back, 1080p, 30 frames a second or more, without zoom; the lens wiped."),
    ),
)

SHOTS: Final = (
    Shot(
        "face",
        "The face, close up",
        ("face",),
        (
            ("Where", "Straight in front of the partner; the examiner beside the phone, not before it."),
            ("Distance", "0.8 m, so that the face fills a third of the picture's height."),
            ("Height", "The partner's eyes."),
            ("In the picture", "From above the hair to the shoulders, with room for the examiner's hands."),
            (
                "Light",
                "The same on both halves of the face, without a shine on glasses. In the dark nothing is measured.",
            ),
            (
                "Measured from",
                f"A face {gaze_sweep.MIN_FACE_PX:.0f} pixels wide for gaze, {eye_closure.MIN_FACE_PX:.0f} for lids.",
            ),
        ),
    ),
    Shot(
        "upper_body",
        "Both, from the waist up",
        ("upper_body",),
        (
            ("Where", "In front of both, so that neither hides the other's face or hands."),
            ("Distance", "1.5 m."),
            ("Height", "The chest of the one who sits."),
            ("In the picture", "Both from the waist to above the head, and what their hands do."),
            ("Sound", "The phone stays where it is for the whisper too; say the finding in your usual voice."),
        ),
    ),
    Shot(
        "whole_body",
        "The whole body and the feet",
        ("whole_body", "feet"),
        (
            ("Where", "Straight in front of the partner; the examiner on guard beside, never between."),
            ("Distance", "3 m. From 4 m on, the eyes are too small to tell whether they are closed."),
            ("Height", "The hips. The phone level, tilted neither up nor down."),
            ("In the picture", "Head to feet, some floor below the feet, and things that stand still behind."),
            ("Stand", "Always: sway is told from the room, and a hand moves more than a standing body."),
            ("Sound", "At this distance speak up when you say the result."),
        ),
    ),
    Shot(
        "limb",
        "The limb, from the side",
        ("limb",),
        (
            ("Where", "At the side of the limb that is struck, at a right angle to its swing."),
            ("Distance", "1.5 m."),
            ("Height", "The joint that moves: elbow, knee or ankle."),
            ("In the picture", "The joint in the middle, the limb with room to swing, and the hammer's way to it."),
            ("Examiner", "On the far side, so that neither arm nor back hides the tendon."),
            ("Speed", "60 frames a second, or slow motion; then say how many times slower when you add the film."),
        ),
    ),
    Shot(
        "hands",
        "Hands and equipment",
        ("hands",),
        (
            ("Where", "On the other side of the table."),
            ("Distance", "1 m."),
            ("Height", "The chest, looking down a little."),
            ("In the picture", "Both hands, fronts and backs, and everything that is laid out."),
            ("Sound", "Say what you do while you do it."),
        ),
    ),
)
"""In the order in which they are shown."""

_FIRST: Final = ("whole_body", "limb", "upper_body", "face", "hands")


def shot_of(step: Step) -> str:
    """Return the key of the shot that shows a step best: of several views the one that takes more room."""
    asked = {shot.key for shot in SHOTS if {*shot.views} & {*step.view}}
    return next((key for key in _FIRST if key in asked), "upper_body")


def filming_guide(home: Home, checklist_id: str) -> dict[str, Any]:
    """Return the guide to filming a checklist in its newest version, as plain JSON values.

    Returns
    -------
    dict
        ``sheet`` and ``title`` of the checklist; ``shots``, first what holds for every film, each with ``key, title,
        lines`` (label and sentence), ``steps`` (``{"section", "titles"}``) and ``measured`` (titles of measures). Shots
        that no step of the checklist asks for are left out.

    Raises
    ------
    NotFound
        If there is no such checklist.
    """
    with reading(home) as repo:
        sheet = repo.checklist(checklist_id)
    shots = [_told(ALWAYS, []), *(_told(shot, _sections(sheet, shot.key)) for shot in SHOTS)]
    return {"sheet": sheet.id, "title": sheet.title, "shots": [one for one in shots if one["steps"] or one is shots[0]]}


def _sections(sheet: Checklist, key: str) -> list[tuple[str, list[Step]]]:
    """Return the sections that ask for a shot, each with those of its steps that do."""
    asking = [(section.title, [step for step in section.steps if shot_of(step) == key]) for section in sheet.sections]
    return [(title, steps) for title, steps in asking if steps]


def _told(shot: Shot, sections: list[tuple[str, list[Step]]]) -> dict[str, Any]:
    names = dict.fromkeys(name for _, steps in sections for step in steps for name in step.measures)
    return {
        "key": shot.key,
        "title": shot.title,
        "lines": [list(line) for line in shot.lines],
        "steps": [{"section": title, "titles": [step.title for step in steps]} for title, steps in sections],
        "measured": [measure(name).title for name in names if name in registry()],
    }
