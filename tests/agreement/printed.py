"""Published tables of ratings, with what was printed for them."""

from __future__ import annotations

import numpy as np

GAP = np.nan

FOUR_RATERS = np.array(
    [
        [1, 2, 3, 3, 2, 1, 4, 1, 2, GAP, GAP, GAP],
        [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, GAP, GAP],
        [GAP, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, 3],
        [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, GAP],
    ]
).T
"""Gwet K. L. (2014), Handbook of Inter-Rater Reliability, 4th ed.; read in the data of the package irrCAC 0.4.4."""

FOUR_CODERS = np.array(
    [
        [1, 2, 3, 3, 2, 1, 4, 1, 2, GAP, GAP, GAP],
        [1, 2, 3, 3, 2, 2, 4, 1, 2, 5, GAP, 3],
        [GAP, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, GAP],
        [1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, GAP],
    ]
).T
"""Krippendorff K., Content Analysis, chapter on reliability; the arrangement is from memory."""

FOURTEEN_RATERS = np.array(
    [
        [0, 0, 0, 0, 14],
        [0, 2, 6, 4, 2],
        [0, 0, 3, 5, 6],
        [0, 3, 9, 2, 0],
        [2, 2, 8, 1, 1],
        [7, 7, 0, 0, 0],
        [3, 2, 6, 3, 0],
        [2, 5, 3, 2, 2],
        [6, 5, 2, 1, 0],
        [0, 2, 2, 3, 7],
    ]
)
"""Ten things, fourteen raters, five levels: the table of the Wikipedia page on Fleiss' kappa, not of Fleiss himself;
read in the tests of statsmodels 0.15.0."""

DIAGNOSES = """
444444 222555 233335 555555 222444 113333 333355 113334 114444 555555 144444 124444 222333 144444 224445
333335 111455 111112 224444 133555 555555 244444 224555 114444 144445 222224 111155 224444 133333 555555
"""
"""Thirty patients, six raters, five diagnoses (Fleiss 1971); read in the tests of statsmodels 0.15.0."""

JUDGES = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
"""Shrout P. E., Fleiss J. L. (1979), Psychol. Bull. 86:420-428, table 2: six targets, four judges."""

WINES = [
    [1, 2, 0, 1],
    [1, 3, 3, 2],
    [3, 8, 1, 4],
    [6, 4, 3, 3],
    [6, 5, 5, 6],
    [7, 5, 6, 2],
    [8, 7, 7, 9],
    [9, 9, 9, 8],
]
"""Eight wines, four judges: the data set `icc` of pingouin 0.6.1."""

QUESTIONS = """
3241451432 5463512555 7355643365 2433222663 6565444675 1234252352 4353521243 2443722465
6555165232 5464353172 4352532341 4232534234 5562332445 6554221465 4355313234
"""
"""Fifteen people, ten questions: the data set `cronbach_alpha` of pingouin 0.6.1."""

PEAK_FLOW_WRIGHT = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
PEAK_FLOW_MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
"""Bland J. M., Altman D. G. (1986), Lancet i:307-310: first readings of 17 people by two peak flow meters, l/min."""
