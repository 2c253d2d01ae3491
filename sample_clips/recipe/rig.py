"""The skeleton: forward kinematics, two-bone legs, pointed arms, linear-blend skinning."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import scipy.sparse as sp
from numpy.typing import ArrayLike

from .rotations import Array, axes_along, move, placed, swing, unit

Rotations = dict[str, Array]
"""Bone -> rotation relative to its parent, in the axes of the rest pose."""

Bones = dict[str, Array]
"""Bone -> 4 x 4 transform of the posed bone, acting on rest positions."""


class Rig:
    """Bones with their rest positions and the weights that tie the mesh to them.

    Parameters
    ----------
    folder
        Where ``rig.default.json`` and ``weights.default.json`` lie.
    locate
        Gives the rest position for one end of a bone as the rig file describes it.
    size
        Number of mesh vertices.
    """

    def __init__(self, folder: Path, locate: Callable[[dict[str, Any]], Array], size: int) -> None:
        bones = json.loads((folder / "rig.default.json").read_text(encoding="utf-8"))
        self.parent: dict[str, str] = {bone: entry["parent"] for bone, entry in bones.items()}
        self.head: dict[str, Array] = {bone: locate(entry["head"]) for bone, entry in bones.items()}
        self.tail: dict[str, Array] = {bone: locate(entry["tail"]) for bone, entry in bones.items()}
        self.order: list[str] = []
        for bone in bones:
            self._append(bone)
        self.number = {bone: i for i, bone in enumerate(self.order)}
        weights = json.loads((folder / "weights.default.json").read_text(encoding="utf-8"))["weights"]
        self.weights = self._weights(weights, size)

    def _append(self, bone: str) -> None:
        if bone in self.order:
            return
        if self.parent[bone]:
            self._append(self.parent[bone])
        self.order.append(bone)

    def _weights(self, weights: dict[str, list[tuple[int, float]]], size: int) -> sp.csr_matrix:
        entries = [(vertex, self.number[bone], weight) for bone, pairs in weights.items() for vertex, weight in pairs]
        rows, columns, values = zip(*entries, strict=True)
        matrix = sp.csr_matrix((values, (rows, columns)), shape=(size, len(self.order)))
        total = np.asarray(matrix.sum(axis=1)).ravel()
        total[total == 0] = 1
        return (sp.diags(1 / total) @ matrix).tocsr()

    def below(self, ancestor: str) -> list[str]:
        """Return `ancestor` and all bones that hang on it."""
        found = {ancestor}
        for bone in self.order:
            if self.parent[bone] in found:
                found.add(bone)
        return [bone for bone in self.order if bone in found]

    def pose(self, rotations: Rotations, offset: ArrayLike) -> Bones:
        """Return the transforms of all bones for these rotations, the whole moved by `offset`."""
        bones: Bones = {}
        start = placed(np.eye(3), offset)
        for bone in self.order:
            parent = self.parent[bone]
            local = np.eye(4)
            turn = rotations.get(bone)
            if turn is not None:
                head = self.head[bone]
                local = placed(turn, head - turn @ head)
            bones[bone] = (bones[parent] if parent else start) @ local
        return bones

    def joint(self, bones: Bones, bone: str) -> Array:
        """Return where the head of `bone` (the joint it turns in) is."""
        return move(bones[bone], self.head[bone])

    def skin(self, vertices: Array, bones: Bones) -> Array:
        """Carry rest positions of all mesh vertices along with the bones."""
        stacked = np.stack([bones[bone][:3, :4].ravel() for bone in self.order])
        blended = (self.weights @ stacked).reshape(-1, 3, 4)
        return np.einsum("nij,nj->ni", blended[:, :, :3], vertices) + blended[:, :, 3]

    def bend_leg(
        self, rotations: Rotations, offset: ArrayLike, side: str, ankle: Array, knee_towards: Array, foot: Array
    ) -> None:
        """Set hip, knee and ankle of one leg so that the ankle joint comes to `ankle`.

        Parameters
        ----------
        rotations
            Changed in place.
        offset
            As for `pose`.
        side
            ``"L"`` or ``"R"``.
        ankle
            Wanted place; a place out of reach is approached with a straight leg.
        knee_towards
            Direction to which the knee bends.
        foot
            Rotation of the foot in the room.
        """
        thigh, shin, last = f"upperleg01.{side}", f"lowerleg01.{side}", f"foot.{side}"
        above = self.pose(rotations, offset)[self.parent[thigh]]
        hip = move(above, self.head[thigh])
        upper, lower = self.leg_lengths(side)
        wanted = ankle - hip
        reach = min(float(np.linalg.norm(wanted)), (upper + lower) * 0.99999)
        along = unit(wanted)
        cosine = np.clip((upper**2 + reach**2 - lower**2) / (2 * upper * reach), -1, 1)
        aside = unit(knee_towards - along * (knee_towards @ along))
        knee = hip + upper * (along * cosine + aside * np.sqrt(1 - cosine**2))
        hinge = np.cross(along, aside)
        thigh_turn = self._bone_turn(thigh, shin, knee - hip, hinge)
        shin_turn = self._bone_turn(shin, last, ankle - knee, hinge)
        rotations[thigh] = above[:3, :3].T @ thigh_turn
        rotations[shin] = thigh_turn.T @ shin_turn
        rotations[last] = shin_turn.T @ foot

    def hang_leg(self, rotations: Rotations, side: str, thigh_along: ArrayLike, shin_along: ArrayLike) -> None:
        """Set hip and knee of one leg from the directions of thigh and shin, the pelvis unturned."""
        thigh, shin, last = f"upperleg01.{side}", f"lowerleg01.{side}", f"foot.{side}"
        hinge = np.array([-1.0, 0, 0])
        thigh_turn = self._bone_turn(thigh, shin, thigh_along, hinge)
        rotations[thigh] = thigh_turn
        rotations[shin] = thigh_turn.T @ self._bone_turn(shin, last, shin_along, hinge)

    def leg_lengths(self, side: str) -> tuple[float, float]:
        """Return the lengths of thigh and shin, joint centre to joint centre."""
        hip, knee, ankle = (self.head[f"{name}.{side}"] for name in ("upperleg01", "lowerleg01", "foot"))
        return float(np.linalg.norm(knee - hip)), float(np.linalg.norm(ankle - knee))

    def _bone_turn(self, bone: str, following: str, along: ArrayLike, hinge: Array) -> Array:
        rest = axes_along(self.head[following] - self.head[bone], [-1.0, 0, 0])
        return axes_along(along, hinge) @ rest.T

    def point_arm(self, rotations: Rotations, offset: ArrayLike, side: str, upper: ArrayLike, fore: ArrayLike) -> None:
        """Point upper arm and forearm of one side along two directions in the room; `rotations` is changed."""
        chain = [f"upperarm01.{side}", f"lowerarm01.{side}", f"wrist.{side}"]
        for bone, following, goal in zip(chain[:-1], chain[1:], (upper, fore), strict=True):
            above = self.pose(rotations, offset)[self.parent[bone]][:3, :3]
            rest = self.head[following] - self.head[bone]
            rotations[bone] = above.T @ swing(above @ rest, goal) @ above
