"""Who was seen where, before it is known who is examined: one compressed file for each unit of work.

::

    tracks/<recording>.seen/<unit>.npz

They stay when the tracks are written, so that the examined person can be pointed out anew without looking at the film
again.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from urllib.parse import quote, unquote

import numpy as np
import xarray as xr

from review.domain.errors import StoreBroken
from review.domain.sightings import FLAGS, SIGHTED, check_sightings, empty_sightings
from review.store.files import replacing
from review.store.home import Home
from review.store.trackstore import GRAINS


class SightingStore:
    """The sightings of one recording.

    Parameters
    ----------
    home
        Where they lie.
    recording_id
        Whose they are.
    """

    def __init__(self, home: Home, recording_id: str) -> None:
        self._folder = home.tracks / f"{recording_id}.seen"

    def units(self) -> set[str]:
        """Return the units that are kept."""
        if not self._folder.is_dir():
            return set()
        return {unquote(path.stem) for path in self._folder.glob("*.npz") if not path.name.startswith(".")}

    def put(self, unit: str, sightings: xr.Dataset) -> None:
        """Keep the sightings of a unit; they are on the disk on return."""
        check_sightings(sightings)
        self._folder.mkdir(exist_ok=True)
        arrays = {name: _rounded(name, sightings[name].values) for name in SIGHTED}
        arrays["time"] = sightings["time"].values
        with replacing(self._path(unit)) as fresh, fresh.open("wb") as handle:
            np.savez_compressed(handle, allow_pickle=False, **arrays)

    def get(self, unit: str) -> xr.Dataset:
        """Return the sightings of a unit.

        Raises
        ------
        StoreBroken
            If there are none that can be read.
        """
        try:
            with np.load(self._path(unit), allow_pickle=False) as kept:
                arrays = {name: kept[name] for name in (*SIGHTED, "time")}
        except (OSError, ValueError, KeyError) as error:
            raise StoreBroken(f"No sightings can be read from {self._path(unit)}. Analyse the film again.") from error
        sightings = empty_sightings(arrays["time"])
        return sightings.assign({name: sightings[name].copy(data=arrays[name]) for name in SIGHTED})

    def erase(self) -> None:
        """Remove all sightings; no fault if there are none."""
        shutil.rmtree(self._folder, ignore_errors=True)

    def _path(self, unit: str) -> Path:
        return self._folder / f"{quote(unit, safe='').replace('.', '%2E')}.npz"


def _rounded(name: str, values: np.ndarray) -> np.ndarray:
    if name in FLAGS:
        return values.astype(np.int8)
    grain = np.float32(GRAINS.get(name, 1 / 1024))
    return np.asarray(np.round(values.astype(np.float32) / grain) * grain, dtype=np.float32)
