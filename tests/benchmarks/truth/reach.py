"""How near the truth each measure has to come."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tests.benchmarks.truth.rows import Row


@dataclass(frozen=True)
class Reach:
    """The greatest error allowed: the larger of an amount in the measure's unit and a share of the truth.

    Nothing is asked of a truth below `least` or above `most`.
    """

    amount: float = 0.0
    share: float = 0.0
    words: str = ""
    least: float = -math.inf
    most: float = math.inf

    def asks(self, row: Row) -> bool:
        """Tell whether a row has a number, and a truth of which something is asked."""
        return row.error is not None and row.truth is not None and self.least <= row.truth <= self.most

    def met(self, row: Row) -> bool:
        """Tell whether a row with a number and a truth keeps it."""
        if row.error is None or row.truth is None:
            raise ValueError(f"{row.clip}: {row.measure} has no number, or should have none; expected both")
        return abs(row.error) <= max(self.amount, self.share * abs(row.truth)) + 1e-9


REACH: Mapping[str, Reach] = MappingProxyType(
    {
        "stance_width": Reach(0.02, 0.05, "5 % (0.02 at least)"),
        "stance_width_mm": Reach(10, 0.05, "5 % (10 mm at least)"),
        "base_of_support": Reach(0, 0, "every step"),
        "postural_sway_mm": Reach(0, 0.20, "20 % at 5 to 20 mm", 4.5, 20.5),
        "eye_closure": Reach(0.15, 0, "0.15 s"),
        "head_yaw_range": Reach(3.0, 0, "3 deg"),
        "gaze_sweep": Reach(0, 0, "every position"),
        "facial_movement": Reach(0, 0, "every movement"),
        "smile_asymmetry": Reach(0.1, 0, "0.1"),
        "brow_asymmetry": Reach(0.1, 0, "0.1"),
        "jaw_opening": Reach(4.0, 0, "4 mm"),
        "jaw_side": Reach(4.0, 0, "4 mm"),
        "neck_rotation": Reach(5.0, 0, "5 deg"),
        "neck_flexion": Reach(5.0, 0, "5 deg"),
        "neck_extension": Reach(5.0, 0, "5 deg"),
        "neck_side_bend": Reach(5.0, 0, "5 deg"),
        "shoulder_elevation": Reach(0.02, 0.20, "2 % of the trunk or 20 %"),
        "elbow_jerk": Reach(3.0, 0.20, "3 deg or 20 %"),
        "wrist_jerk": Reach(3.0, 0.20, "3 deg or 20 %"),
        "knee_jerk": Reach(3.0, 0.20, "3 deg or 20 %"),
        "ankle_jerk": Reach(3.0, 0.20, "3 deg or 20 %"),
        "tap_moment": Reach(0, 0, "every tap"),
        "touch_sequence": Reach(0, 0, "every site"),
        "target_path": Reach(0, 0, "every end"),
        "hold_time": Reach(0.3, 0, "0.3 s"),
        "whispered_share": Reach(0.05, 0, "0.05"),
    }
)
