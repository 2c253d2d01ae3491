"""Visual acuity: the smallest line read, in any of four notations.

References
----------
DICOM PS3.17, Annex RR.2: an acuity V is the decimal, logMAR = -log10 V, and a letter of a five-letter line counts 0.02.
The labels of the lines are those of charts whose lines differ by 0.1 logMAR: 20/20 to 20/10 stand in that annex, the
others are from memory.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final, Literal

from review.domain.entries.scan import NUMBER, Scan

Notation = Literal["feet", "metres", "decimal", "logMAR"]

LINES: Final[tuple[tuple[float, str, str, str], ...]] = (
    (1.0, "20/200", "6/60", "0.10"),
    (0.9, "20/160", "6/48", "0.125"),
    (0.8, "20/125", "6/38", "0.16"),
    (0.7, "20/100", "6/30", "0.20"),
    (0.6, "20/80", "6/24", "0.25"),
    (0.5, "20/63", "6/19", "0.32"),
    (0.4, "20/50", "6/15", "0.40"),
    (0.3, "20/40", "6/12", "0.50"),
    (0.2, "20/32", "6/9.5", "0.63"),
    (0.1, "20/25", "6/7.5", "0.80"),
    (0.0, "20/20", "6/6", "1.00"),
    (-0.1, "20/16", "6/4.8", "1.25"),
    (-0.2, "20/12.5", "6/3.8", "1.6"),
    (-0.3, "20/10", "6/3", "2.0"),
)
"""Lines of a chart: logMAR, and the labels in feet, in metres and as a decimal."""

LOGMAR_RANGE: Final = (-0.4, 2.0)
"""What is taken for an acuity read off a chart, from 20/8 to 20/2000: author's choice, no source."""

PER_LETTER: Final = 0.02
"""logMAR that one letter counts, on charts with five letters a line."""

MOST_LETTERS: Final = 4
"""Letters more or less than a line; five would be the next line."""

DISTANCES_M: Final = (0.1, 10.0)
"""Distances of a chart in metres: author's choice, no source."""

_LABELS_MEAN: Final = 0.006
"""Half width in logMAR inside which a number means the line: the label 0.32 lies 0.0052 from its line, 0.5."""

_ABOVE: Final[dict[float, Notation]] = {20: "feet", 6: "metres", 5: "metres", 4: "metres", 3: "metres", 2: "metres"}
_METRES: Final = {"m": 1.0, "cm": 0.01, "mm": 0.001, "ft": 0.3048, "feet": 0.3048, "in": 0.0254, "inches": 0.0254}
_EYES: Final = {
    **dict.fromkeys(("right eye", "right", "od"), "right"),
    **dict.fromkeys(("left eye", "left", "os"), "left"),
    **dict.fromkeys(("both eyes", "both", "ou"), "both"),
}
_WORN: Final = {
    **dict.fromkeys(("with glasses", "glasses", "with spectacles", "spectacles"), "with glasses"),
    **dict.fromkeys(("with contact lenses", "contact lenses", "with lenses", "lenses"), "with contact lenses"),
    **dict.fromkeys(("corrected", "with correction", "cc"), "corrected"),
    **dict.fromkeys(("with pinhole", "pinhole", "ph"), "with pinhole"),
    **dict.fromkeys(("without glasses", "no glasses", "without lenses", "no lenses"), "uncorrected"),
    **dict.fromkeys(("without correction", "uncorrected", "unaided", "sc"), "uncorrected"),
}


@dataclass(frozen=True, slots=True)
class Acuity:
    """The smallest line one eye read.

    Parameters
    ----------
    eye
        "right", "left" or "both", the examined person's own.
    said
        The line as it was said, without letters: "20/40", "decimal 0.5".
    letters
        Letters more (or less) than that line.
    logmar
        What both come to: that of the line less 0.02 a letter, rounded to four places.
    worn
        What was worn, in words; None if that was not said.
    distance, distance_m
        Distance of the chart as it was said ("20 ft") and in metres, if it was said.
    """

    eye: str
    said: str
    letters: int
    logmar: float
    worn: str | None
    distance: str | None
    distance_m: float | None

    @property
    def place(self) -> str:
        """Which eye."""
        return "both eyes" if self.eye == "both" else f"{self.eye} eye"

    @property
    def words(self) -> str:
        """The line in all notations, what was worn, and the distance."""
        forms = [written(self.logmar, notation) for notation in ("feet", "metres", "decimal", "logMAR")]
        said = f"{self.said} {self.letters:+d}: " if self.letters else "" if self.said in forms else f"{self.said}: "
        worn = self.worn or "glasses or lenses not said"
        far = [f"at {self.distance}"] if self.distance else []
        return said + "; ".join([", ".join(forms), worn, *far])


def written(logmar: float, notation: Notation) -> str:
    """Write an acuity: the label of its line, or three digits that count where it lies between lines.

    Examples
    --------
    >>> [written(0.3, one) for one in ("feet", "metres", "decimal", "logMAR")]
    ['20/40', '6/12', 'decimal 0.50', 'logMAR 0.30']
    >>> written(0.34, "feet"), written(-math.log10(20 / 30), "metres")
    ('20/43.8', '6/9')
    """
    line = next((line for line in LINES if abs(line[0] - logmar) < _LABELS_MEAN), None)
    match notation:
        case "feet":
            return line[1] if line else f"20/{_three_digits(20 * 10**logmar)}"
        case "metres":
            return line[2] if line else f"6/{_three_digits(6 * 10**logmar)}"
        case "decimal":
            return f"decimal {line[3] if line else _three_digits(10**-logmar)}"
        case "logMAR":
            return f"logMAR {line[0] if line else logmar + 0.0:.2f}"


def _three_digits(number: float) -> str:
    places = max(0, 2 - math.floor(math.log10(number)))
    text = f"{number:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def read_acuity(scan: Scan) -> Acuity:
    """Read an acuity such as ``6/12 -1 with glasses at 6 m``; what it is worth after a fault does not count."""
    distance, distance_m = _distance(scan)
    worn, eye = scan.word(_WORN, "thing worn"), scan.place("eye", _EYES)
    said, line = _value(scan)
    letters = _letters(scan)
    scan.end()
    logmar = 0.0 if line is None else round(line - PER_LETTER * letters, 4)
    low, high = LOGMAR_RANGE
    if not low <= round(logmar, 2) <= high:
        came = said if said.startswith("logMAR") and not letters else f"{said} is logMAR {logmar:.2f}, which"
        scan.fault(f"{came} is beyond any chart; expected logMAR {low:g} to {high:g} (about 20/8 to 20/2000).")
    return Acuity(eye or "", said, letters, logmar, worn, distance, distance_m)


def _distance(scan: Scan) -> tuple[str | None, float | None]:
    found = scan.one(rf"\bat\s*({NUMBER})\s*(cm|mm|m|ft|feet|inches|in)\b", "distance")
    if found is None:
        return None, None
    distance_m = float(found[1]) * _METRES[found[2]]
    low, high = DISTANCES_M
    if not low <= distance_m <= high:
        scan.fault(f"A chart {found[1]} {found[2]} away came; expected {low:g} to {high:g} m.")
    return f"{float(found[1]):g} {found[2]}", round(distance_m, 4)


def _value(scan: Scan) -> tuple[str, float | None]:
    """Take the line that was read: how it was said, and its logMAR, None after a fault."""
    fractions = scan.take(rf"({NUMBER})\s*/\s*(-?{NUMBER.removeprefix('[+-]?')})")
    named = scan.take(rf"\b(logmar|decimal|dec)\s*[:=]?\s*({NUMBER})|({NUMBER})\s*(logmar|decimal|dec)\b")
    if len(fractions) + len(named) > 1:
        listed = " and ".join(match.group().strip() for match in (*fractions, *named))
        scan.fault(f"{listed} came; expected one acuity.")
    if fractions:
        return _fraction(scan, fractions[0])
    if named:
        return _named(scan, named[0])
    bare = scan.one(NUMBER, "acuity")
    scan.fault(_unnamed(bare.group() if bare else None))
    return "", None


def _unnamed(bare: str | None) -> str:
    if bare is None:
        return "The acuity is missing; expected one such as 20/40, 6/12, decimal 0.5 or logMAR 0.3."
    number = float(bare)
    if 0 < number <= LOGMAR_RANGE[1]:
        decimal, logmar = written(-math.log10(number), "metres"), written(number, "metres")
        return f"{bare} can be decimal ({decimal}) or logMAR ({logmar}); write decimal {bare} or logMAR {bare}."
    return f"{bare} alone says no acuity; expected one such as 20/40, 6/12, decimal 0.5 or logMAR 0.3."


def _fraction(scan: Scan, found: re.Match[str]) -> tuple[str, float | None]:
    above, below = float(found[1]), float(found[2])
    said = f"{above:g}/{below:g}"
    faults = []
    if above not in _ABOVE:
        swapped = " Are the two numbers swapped?" if above > below and below in _ABOVE else ""
        faults.append(
            f"{said} has {above:g} above; expected the distance of the chart, 20 (feet) or 6, 5, 4, 3 or 2 (metres)."
            + swapped
        )
    if below <= 0:
        faults.append(f"{said} has {below:g} below; expected a number above 0.")
    for fault in faults:
        scan.fault(fault)
    return said, None if faults else _on_line(math.log10(below / above))


def _named(scan: Scan, found: re.Match[str]) -> tuple[str, float | None]:
    name, number = (found[1], found[2]) if found[1] else (found[4], found[3])
    if name == "logmar":
        return f"logMAR {float(number):.2f}", float(number)
    said = f"decimal {float(number):g}"
    if float(number) <= 0:
        scan.fault(f"{said} came; expected a number above 0.")
        return said, None
    return said, _on_line(-math.log10(float(number)))


def _on_line(logmar: float) -> float:
    """Return the logMAR of the line that a label means, or that of the number itself between lines."""
    return next((line[0] for line in LINES if abs(line[0] - logmar) < _LABELS_MEAN), logmar)


def _letters(scan: Scan) -> int:
    found = scan.one(r"([+-])\s*(\d+)(?![.\d])\s*(?:letters?)?", "count of letters")
    if found is None:
        return 0
    letters = int(found[1] + found[2])
    if abs(letters) > MOST_LETTERS:
        scan.fault(f"{letters:+d} letters came; expected -{MOST_LETTERS} to +{MOST_LETTERS}, as five are a whole line.")
    return letters
