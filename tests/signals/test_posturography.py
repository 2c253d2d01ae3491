"""Sway formulas against closed forms, tables of coefficients and the printed values of a force-plate record."""

from pathlib import Path

import numpy as np
import pytest
from scipy.signal import butter, filtfilt

from review.signals import posturography as sway

RECORD = Path(__file__).parents[1] / "data" / "force_plate_100hz.csv"
EVEN_HZ = 25.0

PRINTED = {
    "mean_distance_ML": 0.1795810955311253,
    "mean_distance_AP": 0.34804323313894586,
    "mean_distance_Radius": 0.4254325412234754,
    "rms_ML": 0.26540984939429485,
    "rms_AP": 0.41648441647296885,
    "rms_Radius": 0.4938640069091203,
    "range_ML": 1.6807988285326032,
    "range_AP": 2.1256765044334616,
    "range_ML_AND_AP": 2.127255063910078,
    "principal_sway_direction": 13.280808808239561,
    "mean_velocity_ML": 0.3581913643625223,
    "mean_velocity_AP": 0.5203914302706945,
    "mean_velocity_ML_AND_AP": 0.6953667708089489,
    "mean_frequency_ML": 0.353069743030671,
    "mean_frequency_AP": 0.2646689220465907,
    "mean_frequency_ML_AND_AP": 0.26048598103306375,
    "sway_area_per_second": 0.09587003176410186,
    "confidence_ellipse_area": 2.034277923412154,
}
"""As printed by the authors of the record (see `tests/data`), for Quijoux et al. 2021; lengths in cm.

Their spectral, diffusion, sway-density and fractal values have no counterpart here and are not compared.
"""


def evened(clock: np.ndarray, samples: np.ndarray) -> np.ndarray:
    """Lay samples on a 25 Hz clock the authors' way: means over 0.08 s, each sample weighing the time it stands for."""
    half = 0.04 - 5e-7
    rows = []
    centre = clock[0]
    while centre < clock[-1]:
        near = np.flatnonzero(np.abs(clock - centre) < half)
        between = (clock[near][1:] + clock[near][:-1]) / 2
        edges = np.concatenate(([max(clock[0], centre - half)], between, [min(clock[-1], centre + half)]))
        rows.append(np.average(samples[near], axis=0, weights=np.diff(edges)))
        centre += 1 / EVEN_HZ
    return np.array(rows)


@pytest.fixture(scope="module")
def record() -> tuple[np.ndarray, np.ndarray]:
    """Prepare the record as its authors do: mean off, first 0.1 s and last sample off, 25 Hz, 10 Hz low-pass."""
    raw = np.loadtxt(RECORD, delimiter=",", skiprows=1)
    even = evened((np.arange(len(raw)) / 100)[10:-1], (raw - raw.mean(axis=0))[10:-1])
    smooth = filtfilt(*butter(4, 10 / (EVEN_HZ / 2)), even, axis=0)
    return smooth[:, 0], smooth[:, 1]


def measured(x: np.ndarray, y: np.ndarray) -> dict[str, float]:
    """Compute the printed values; the authors take the mean off before smoothing, so distances are from 0.

    They divide the path by n / rate where the formula says (n - 1) / rate, and their ellipse has the divisor n in the
    covariance and lacks the factor (n + 1) / n of the prediction ellipse: both are undone here.
    """
    n, zero = len(x), (0.0, 0.0)
    values = {
        "range_ML_AND_AP": sway.sway_range(x, y),
        "principal_sway_direction": sway.sway_direction_deg(x, y),
        "sway_area_per_second": sway.sway_area_rate(x, y, EVEN_HZ, about=zero),
        "confidence_ellipse_area": sway.prediction_ellipse_area(x, y, about=zero) * (n - 1) / (n + 1),
        "mean_distance_Radius": sway.mean_distance(x, y, about=zero),
        "rms_Radius": sway.rms(x, y, about=zero),
        "mean_velocity_ML_AND_AP": sway.mean_velocity(x, y, rate_hz=EVEN_HZ) * (n - 1) / n,
        "mean_frequency_ML_AND_AP": sway.mean_frequency(x, y, rate_hz=EVEN_HZ, about=zero),
    }
    for axis, series in (("ML", x), ("AP", y)):
        values[f"mean_distance_{axis}"] = sway.mean_distance(series, about=(0.0,))
        values[f"rms_{axis}"] = sway.rms(series, about=(0.0,))
        values[f"range_{axis}"] = sway.sway_range(series)
        values[f"mean_velocity_{axis}"] = sway.mean_velocity(series, rate_hz=EVEN_HZ) * (n - 1) / n
        values[f"mean_frequency_{axis}"] = sway.mean_frequency(series, rate_hz=EVEN_HZ, about=(0.0,))
    return values


@pytest.mark.parametrize("name", PRINTED)
def test_force_plate_record(record: tuple[np.ndarray, np.ndarray], name: str) -> None:
    """Measures of a real force-plate record agree with the values printed for it to one in a million."""
    assert measured(*record)[name] == pytest.approx(PRINTED[name], rel=1e-6)


@pytest.fixture
def circle() -> tuple[np.ndarray, np.ndarray]:
    """Radius 10 mm, half a turn a second, ten whole turns at 30 Hz."""
    angle = 2 * np.pi * 0.5 * np.arange(600) / 30
    return 10 * np.cos(angle), 10 * np.sin(angle)


CIRCLE = {
    "mean distance": (lambda x, y: sway.mean_distance(x, y), 10.0),
    "rms": (lambda x, y: sway.rms(x, y), 10.0),
    "rms of one axis": (lambda x, y: sway.rms(x), 10 / np.sqrt(2)),
    "range": (lambda x, y: sway.sway_range(x, y), 20.0),
    "path is that of a polygon": (lambda x, y: sway.path_length(x, y), 599 * 20 * np.sin(np.pi / 60)),
    "velocity": (lambda x, y: sway.mean_velocity(x, y, rate_hz=30), 30 * 20 * np.sin(np.pi / 60)),
    "frequency is just below the half turn": (
        lambda x, y: sway.mean_frequency(x, y, rate_hz=30),
        30 * 2 * np.sin(np.pi / 60) / (2 * np.pi),
    ),
    "area rate is that of triangles": (lambda x, y: sway.sway_area_rate(x, y, 30), 30 * 50 * np.sin(np.pi / 30)),
}


@pytest.mark.parametrize("name", CIRCLE)
def test_circle(circle: tuple[np.ndarray, np.ndarray], name: str) -> None:
    """A circle at even speed has all its measures in closed form."""
    compute, expected = CIRCLE[name]
    assert compute(*circle) == pytest.approx(expected, rel=1e-9)


def test_circle_in_figures(circle: tuple[np.ndarray, np.ndarray]) -> None:
    """The same circle in figures: 626.985 mm of path, 31.4016 mm/s, 0.49977 Hz, 156.793 mm2/s."""
    assert sway.path_length(*circle) == pytest.approx(626.985, abs=5e-4)
    assert sway.mean_velocity(*circle, rate_hz=30) == pytest.approx(31.4016, abs=5e-5)
    assert sway.mean_frequency(*circle, rate_hz=30) == pytest.approx(0.49977, abs=5e-6)
    assert sway.sway_area_rate(*circle, 30) == pytest.approx(156.793, abs=5e-4)


@pytest.mark.parametrize(
    ("count", "prediction", "two_pi_f"),
    [
        pytest.param(100, 19.804, 19.410, id="n = 100"),
        pytest.param(300, 19.141, 19.013, id="n = 300"),
        pytest.param(600, 18.981, 18.917, id="n = 600"),
        pytest.param(900, 18.928, 18.886, id="n = 900"),
        pytest.param(1800, 18.875, 18.854, id="n = 1800"),
    ],
)
def test_ellipse_coefficients(count: int, prediction: float, two_pi_f: float) -> None:
    """The multipliers of the root determinant agree with a table worked out from the F distribution."""
    assert sway.prediction_coefficient(count) == pytest.approx(prediction, abs=6e-4)
    assert sway.two_pi_f_coefficient(count) == pytest.approx(two_pi_f, abs=6e-4)


def test_ellipse_approaches_chi_square(circle: tuple[np.ndarray, np.ndarray]) -> None:
    """For long series both multipliers approach pi times the 95 % point of chi-square, 5.9915."""
    assert sway.prediction_coefficient(10**7) == pytest.approx(np.pi * 5.991465, rel=1e-5)
    assert sway.two_pi_f_coefficient(10**7) == pytest.approx(np.pi * 5.991465, rel=1e-5)


@pytest.mark.parametrize(
    ("ml_mm", "ap_mm"), [pytest.param(10.0, 10.0, id="circle"), pytest.param(3.0, 6.0, id="ellipse 3 by 6")]
)
def test_ellipse_area_of_whole_turns(ml_mm: float, ap_mm: float) -> None:
    """Two sines a quarter turn apart have standard deviations a / sqrt(2), so the root determinant is a b / 2."""
    angle = 2 * np.pi * 0.5 * np.arange(600) / 30
    x, y = ml_mm * np.cos(angle), ap_mm * np.sin(angle)
    assert sway.two_pi_f_ellipse_area(x, y) == pytest.approx(18.917 * ml_mm * ap_mm / 2, rel=1e-4)
    assert sway.prediction_ellipse_area(x, y) == pytest.approx(18.981 * ml_mm * ap_mm / 2 * 600 / 599, rel=1e-4)


@pytest.mark.parametrize(
    ("along_x", "along_y", "angle"),
    [
        pytest.param(0.0, 1.0, 0.0, id="along y"),
        pytest.param(1.0, 0.0, 90.0, id="along x"),
        pytest.param(1.0, -1.0, 45.0, id="halfway, whatever the sign"),
    ],
)
def test_sway_direction(along_x: float, along_y: float, angle: float) -> None:
    """Sway on a straight line has that line as its main axis."""
    wave = np.sin(np.arange(100) / 3)
    assert sway.sway_direction_deg(along_x * wave, along_y * wave) == pytest.approx(angle, abs=1e-6)


def test_sway_on_a_line_has_no_area() -> None:
    """Sway along one line spans no ellipse, sweeps no area and is as wide as its ends are apart."""
    wave = np.sin(np.arange(100) / 3)
    assert sway.prediction_ellipse_area(wave, 2 * wave) == pytest.approx(0.0, abs=1e-6)
    assert sway.sway_area_rate(wave, 2 * wave, 30) == pytest.approx(0.0, abs=1e-9)
    assert sway.sway_range(wave, 2 * wave) == pytest.approx(np.sqrt(5) * np.ptp(wave))


@pytest.mark.parametrize(
    "compute",
    [
        pytest.param(sway.rms, id="rms"),
        pytest.param(sway.mean_distance, id="mean distance"),
        pytest.param(sway.sway_range, id="range"),
        pytest.param(sway.path_length, id="path"),
        pytest.param(sway.prediction_ellipse_area, id="prediction ellipse"),
        pytest.param(sway.sway_direction_deg, id="direction"),
    ],
)
def test_missing_stays_missing(compute: object) -> None:
    """A missing sample makes the measure missing: nothing is skipped in silence."""
    x, y = np.arange(20.0), np.arange(20.0) ** 2
    x[3] = np.nan
    assert np.isnan(compute(x, y))  # type: ignore[operator]


def test_frame_to_frame_noise_ruins_the_velocity_not_the_rms() -> None:
    """White noise of 1 mm at 30 Hz alone travels 30 x 2 / sqrt(pi) mm/s and adds hardly any RMS."""
    noise = np.random.default_rng(7).normal(0, 1, 60_000)
    slow = 5 * np.sin(2 * np.pi * 0.1 * np.arange(60_000) / 30)
    assert sway.mean_velocity(noise, rate_hz=30) == pytest.approx(30 * 2 / np.sqrt(np.pi), rel=0.02)
    assert sway.rms(slow + noise) == pytest.approx(np.sqrt(12.5 + 1), rel=0.01)
