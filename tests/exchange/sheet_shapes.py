"""Ten made-up check-off sheets in the shapes that schools give theirs, and what each of them says."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from openpyxl import Workbook
from openpyxl.styles import Font

Table = Sequence[Sequence[Any]]


@dataclass(frozen=True, slots=True)
class Expected:
    """What an author means with a sheet: sections with their steps, and how it is graded.

    A step is its title, its points, and then whatever applies: "critical", "right", "left", and its criteria as lists
    of text and points.
    """

    title: str
    sections: dict[str, list[list[Any]]]
    levels: list[tuple[str, float]]
    share: float | None = None
    limit_s: float | None = None
    notes: list[str] = field(default_factory=list)
    hidden: str = "not assessable"


@dataclass(frozen=True, slots=True)
class Shape:
    """A sheet as a file, and what it says."""

    file: str
    content: Callable[[], bytes]
    expected: Expected


def as_csv(table: Table, separator: str = ",", encoding: str = "utf-8") -> bytes:
    """Write a table as a spreadsheet saves it: quotes only where they must be."""
    return "\r\n".join(separator.join(_quoted(str(cell), separator) for cell in row) for row in table).encode(encoding)


def _quoted(cell: str, separator: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if separator in cell or "\n" in cell or '"' in cell else cell


def as_xlsx(table: Table, merged: Sequence[str] = (), bold: Sequence[str] = (), formats: Any = None) -> bytes:
    """Write a table as a workbook."""
    book = Workbook()
    sheet: Any = book.active
    for row in table:
        sheet.append([None if cell == "" else cell for cell in row])
    for span in merged:
        sheet.merge_cells(span)
    for cell in bold:
        sheet[cell].font = Font(bold=True)
    for cell, written in (formats or {}).items():
        sheet[cell].number_format = written
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _numbered() -> bytes:
    return as_csv(
        [
            ["No.", "Step", "Points"],
            ["1", "Washes hands", "1"],
            ["2", "Explains the test, and asks for consent *", "2"],
            ["3", "Has the shoes taken off", "1"],
            ["4", "Stands guard within arm's reach *", "3"],
            ["", "Total", "7"],
        ]
    )


def _merged() -> bytes:
    table = [
        ["Fenwick Shore: Romberg check-off", "", "", "", ""],
        ["Learner: ________   Date: ________", "", "", "", ""],
        ["", "", "", "", ""],
        ["#", "Performance criteria", "Rating", "", ""],
        ["", "", 3, 2, 1],
        ["Preparation", "", "", "", ""],
        [1, "Clears the floor", "", "", ""],
        [2, "Sets a chair close by", "", "", ""],
        ["Standing", "", "", "", ""],
        [3, "Feet together, eyes open", "", "", ""],
        [4, "Eyes closed for 20 s", "", "", ""],
        ["", "", "", "", ""],
        ["3 = without help; 2 = with a hint; 1 = not done", "", "", "", ""],
        ["Passing score: 80 %", "", "", "", ""],
    ]
    spans = ["A1:E1", "A2:E2", "C4:E4", "A6:E6", "A9:E9", "A13:E13", "A14:E14"]
    return as_xlsx(table, spans, ["A1", "A4", "B4", "C4", "A6", "A9"])


def _slashes() -> bytes:
    return as_csv(
        [
            ["Evening class - reflex sheet"],
            ["Skill", "Score (3/2/1)", "Comments"],
            ["BICEPS", "", ""],
            ["Supports the arm", "3/2/1", ""],
            ["Taps on the thumb (R/L)", "3/2/1", ""],
            ["KNEE", "", ""],
            ["Lets the legs hang", "3/2/1", ""],
            ["Taps below the kneecap (R/L)", "3/2/1", ""],
            ["Notes: compare both sides each time", "", ""],
        ],
        ";",
    )


def _satisfactory() -> bytes:
    return as_csv(
        [
            ["Skill", "S", "U", "N/A"],
            ["A. Optic nerve", "", "", ""],
            ["1. Tests acuity, each eye alone", "", "", ""],
            ["2. Tests fields by confrontation", "", "", ""],
            ["", "", "", ""],
            ["B. Facial nerve", "", "", ""],
            ["3. Has the brows raised", "", "", ""],
            ["4. Has the eyes shut tight (critical)", "", "", ""],
            ["", "", "", ""],
            ["S = satisfactory, U = unsatisfactory, N/A = not applicable", "", "", ""],
            ["Instructor signature: ______________", "", "", ""],
        ],
        "\t",
        "utf-8-sig",
    )


def _fractions() -> bytes:
    return as_csv(
        [
            ["Prüfbogen Gleichgewicht", "", ""],
            ["Nr", "Step", "1 / 0,75 / 0,5 / 0"],
            ["1", "Füße zusammen, Augen offen", ""],
            ["2", "Füße zusammen, Augen zu", ""],
            ["3", "Ergebnis gesagt", ""],
        ],
        ";",
        "windows-1252",
    )


def _points_in_titles() -> bytes:
    return as_csv(
        [
            ["Hearing and balance, station 4"],
            ["Time limit: 15 minutes"],
            ["Task", "Done", "Not done"],
            ["Section 1: Hearing (4 points)", "", ""],
            ["Stands behind the partner (1 pt)", "☐", "☐"],
            ["Whispers two numbers and a letter (3 points)", "☐", "☐"],
            ["Section 2: Fork (3 points)", "", ""],
            ["Fork on the crown of the head /1", "☐", "☐"],
            ["Fork behind the ear, then beside it ___/2", "☐", "☐"],
            ["TOTAL ____/7", "", ""],
            ["Must score 5/7 to pass", "", ""],
        ]
    )


def _sub_items() -> bytes:
    table = [
        ["Item", "Description", "Max points", "Points earned"],
        [1, "Extraocular movements", "", ""],
        ["a", "Holds the target at reading distance", 1, ""],
        ["b", "Draws an H, slowly", 2, ""],
        ["c", "Looks for nystagmus at the ends", 1, ""],
        ["", "", "", ""],
        [2, "Pupils", "", ""],
        ["a", "Dims the light", 1, ""],
        ["b", "Lights each eye from the side", 2, ""],
        [3, "Says the finding", 1, ""],
        ["", "Note: stop at double vision", "", ""],
        ["", "Total points", 8, ""],
    ]
    return as_xlsx(table, [], ["A1", "B1", "C1", "D1"])


def _columns_of_points() -> bytes:
    table = [
        ["Cranial nerves, practical", "", "", "", ""],
        ["Section", "Step", "Full", "Partial", "None"],
        ["CN V", "Light touch on three areas", 2, 1, 0],
        ["", "Jaw opened against the hand", 4, 2, 0],
        ["CN XI", "Shoulders lifted against the hands", 2, 1, 0],
        ["", "Head turned against the hand", 2, 1, 0],
    ]
    return as_xlsx(table, ["A1:E1", "A3:A4", "A5:A6"])


def _in_one_cell() -> bytes:
    return as_csv(
        [
            ["Step", "Safety", "Expected finding", "Must pass", "Side", "Weight", "S/U"],
            [
                "Romberg\na. feet together\nb. eyes closed",
                "Stand guard",
                "Steady, mild sway at most",
                "x",
                "",
                "2",
                "S / U",
            ],
            ["Patellar reflex", "Tap the tendon, not the bone", "Leg kicks", "", "both", "1", "S / U"],
            ["Achilles reflex", "Hold the foot lightly", "Foot pushes", "", "R, L", "1", "S / U"],
        ]
    )


def _outline() -> bytes:
    return as_csv(
        [
            ["Lab sheet 7", "", "", ""],
            ["Instructions: go through all of it without a pause.", "", "", ""],
            ["", "", "", ""],
            ["Step #", "What the learner does", "Value", "Time limit (s)"],
            ["1", "Balance", "", ""],
            ["1.1", "Both feet together, eyes open", "2", "30"],
            ["1.2", "Both feet together, eyes closed*", "4", "30"],
            ["Step #", "What the learner does", "Value", "Time limit (s)"],
            ["2", "Senses", "", ""],
            ["2.1", "Smell, each side alone", "1,5", ""],
            ["2.2", "Light touch", "½", ""],
            ["", "* = critical step, must be done", "", ""],
        ],
        ";",
        "utf-16",
    )


TWO = [("done", 1.0), ("not done", 0.0)]
SHAPES = [
    Shape(
        "numbered table.csv",
        _numbered,
        Expected(
            "numbered table",
            {
                "Steps": [
                    ["Washes hands", 1],
                    ["Explains the test, and asks for consent", 2, "critical"],
                    ["Has the shoes taken off", 1],
                    ["Stands guard within arm's reach", 3, "critical"],
                ]
            },
            TWO,
        ),
    ),
    Shape(
        "merged headings.xlsx",
        _merged,
        Expected(
            "Fenwick Shore: Romberg check-off",
            {
                "Preparation": [["Clears the floor", 3], ["Sets a chair close by", 3]],
                "Standing": [["Feet together, eyes open", 3], ["Eyes closed for 20 s", 3]],
            },
            [("without help", 3.0), ("with a hint", 2.0), ("not done", 1.0)],
            share=0.8,
        ),
    ),
    Shape(
        "three two one.csv",
        _slashes,
        Expected(
            "Evening class - reflex sheet",
            {
                "BICEPS": [["Supports the arm", 3], ["Taps on the thumb", 3, "right", "left"]],
                "KNEE": [["Lets the legs hang", 3], ["Taps below the kneecap", 3, "right", "left"]],
            },
            [("3", 3.0), ("2", 2.0), ("1", 1.0)],
            notes=["Notes: compare both sides each time"],
        ),
    ),
    Shape(
        "satisfactory.csv",
        _satisfactory,
        Expected(
            "satisfactory",
            {
                "Optic nerve": [["Tests acuity, each eye alone", 1], ["Tests fields by confrontation", 1]],
                "Facial nerve": [["Has the brows raised", 1], ["Has the eyes shut tight", 1, "critical"]],
            },
            [("satisfactory", 1.0), ("unsatisfactory", 0.0)],
            hidden="not applicable",
        ),
    ),
    Shape(
        "four fractions.csv",
        _fractions,
        Expected(
            "Prüfbogen Gleichgewicht",
            {"Steps": [["Füße zusammen, Augen offen", 1], ["Füße zusammen, Augen zu", 1], ["Ergebnis gesagt", 1]]},
            [("1", 1.0), ("0,75", 0.75), ("0,5", 0.5), ("0", 0.0)],
        ),
    ),
    Shape(
        "points in titles.csv",
        _points_in_titles,
        Expected(
            "Hearing and balance, station 4",
            {
                "Hearing": [["Stands behind the partner", 1], ["Whispers two numbers and a letter", 3]],
                "Fork": [["Fork on the crown of the head", 1], ["Fork behind the ear, then beside it", 2]],
            },
            [("Done", 1.0), ("Not done", 0.0)],
            share=round(5 / 7, 6),
            limit_s=900.0,
        ),
    ),
    Shape(
        "sub-items.xlsx",
        _sub_items,
        Expected(
            "sub-items",
            {
                "Steps": [
                    [
                        "Extraocular movements",
                        4,
                        ["Holds the target at reading distance", 1],
                        ["Draws an H, slowly", 2],
                        ["Looks for nystagmus at the ends", 1],
                    ],
                    ["Pupils", 3, ["Dims the light", 1], ["Lights each eye from the side", 2]],
                    ["Says the finding", 1],
                ]
            },
            TWO,
            notes=["Note: stop at double vision"],
        ),
    ),
    Shape(
        "columns of points.xlsx",
        _columns_of_points,
        Expected(
            "Cranial nerves, practical",
            {
                "CN V": [["Light touch on three areas", 2], ["Jaw opened against the hand", 4]],
                "CN XI": [["Shoulders lifted against the hands", 2], ["Head turned against the hand", 2]],
            },
            [("Full", 1.0), ("Partial", 0.5), ("None", 0.0)],
        ),
    ),
    Shape(
        "all in one cell.csv",
        _in_one_cell,
        Expected(
            "all in one cell",
            {
                "Steps": [
                    ["Romberg", 1, "critical", ["feet together", None], ["eyes closed", None]],
                    ["Patellar reflex", 1, "right", "left"],
                    ["Achilles reflex", 1, "right", "left"],
                ]
            },
            [("S", 1.0), ("U", 0.0)],
        ),
    ),
    Shape(
        "outline.csv",
        _outline,
        Expected(
            "Lab sheet 7",
            {
                "Balance": [["Both feet together, eyes open", 2], ["Both feet together, eyes closed", 4, "critical"]],
                "Senses": [["Smell, each side alone", 1.5], ["Light touch", 0.5]],
            },
            TWO,
            notes=["Instructions: go through all of it without a pause.", "* = critical step, must be done"],
        ),
    ),
]
