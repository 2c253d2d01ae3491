"""Coefficients against four packages, and how long the reports behind the pages take for a class of sixty.

The packages hold numpy at an old version, so they live in an environment of their own::

    python -m venv build/packages && build/packages/bin/pip install statsmodels krippendorff irrCAC pingouin
    PYTHONPATH=. build/packages/bin/python -m tests.benchmarks.raters
    python -m tests.benchmarks.raters --class-home build/class
"""

from __future__ import annotations

import argparse
import warnings
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from review.signals.agreement.alpha import krippendorff_alpha
from review.signals.agreement.figure import Figure
from review.signals.agreement.icc import icc
from review.signals.agreement.kappa import cohen_kappa, linear, quadratic
from review.signals.agreement.ratings import counts_of, table_of
from review.signals.agreement.several import fleiss_kappa, gwet_ac, uniform_kappa

TABLES: Final = 300
_FORMS: Final = {"1,1": "(1,1)", "2,1": "(A,1)", "3,1": "(C,1)", "1,k": "(1,k)", "2,k": "(A,k)", "3,k": "(C,k)"}
Floats = npt.NDArray[np.float64]
Found = Iterator[tuple[str, float | None, float]]


def against_packages() -> None:
    """Print, for each number, on how many random tables it was compared and the worst difference."""
    rng = np.random.default_rng(1)
    differences = defaultdict(list)
    for _ in range(TABLES):
        for name, ours, theirs in (*_two(rng), *_several(rng), *_totals(rng)):
            if ours is not None and np.isfinite(theirs):
                differences[name].append(abs(ours - theirs))
    for name, met in differences.items():
        print(f"{name:<32}{len(met):>6} tables, worst difference {max(met):.1e}")


def _grades(rng: np.random.Generator) -> tuple[Floats, int]:
    levels, things, raters = (int(rng.integers(*ends)) for ends in ((2, 6), (8, 60), (2, 6)))
    truth = rng.integers(0, levels, things)
    right = rng.random((things, raters)) < rng.uniform(0.3, 0.95)
    return np.where(right, truth[:, None], rng.integers(0, levels, (things, raters))).astype(float), levels


def _two(rng: np.random.Generator) -> Found:
    from statsmodels.stats.inter_rater import cohens_kappa
    from statsmodels.stats.inter_rater import fleiss_kappa as their_fleiss

    ratings, levels = _grades(rng)
    table = table_of(ratings[:, :2], levels)
    for name, weights in (("plain", None), ("linear", linear(levels)), ("quadratic", quadratic(levels))):
        ours = cohen_kappa(table, weights)
        theirs = cohens_kappa(table, weights=None if weights is None else weights / weights.max())
        yield f"kappa, {name}", ours.value, theirs.kappa
        yield f"kappa, {name}, low end", ours.low, max(-1.0, theirs.kappa_low)
    counts = counts_of(ratings, levels)
    yield "Fleiss' kappa", fleiss_kappa(counts).value, their_fleiss(counts)


def _several(rng: np.random.Generator) -> Found:
    import krippendorff
    import pandas as pd
    from irrCAC.raw import CAC

    ratings, levels = _grades(rng)
    ratings[rng.random(ratings.shape) < 0.25] = np.nan
    ratings = ratings[np.isfinite(ratings).any(axis=1)]
    if len(np.unique(ratings[np.isfinite(ratings)])) < levels:
        return
    counts = counts_of(ratings, levels)
    theirs = CAC(pd.DataFrame(ratings + 1), digits=10, categories=list(range(1, levels + 1)))
    pairs: dict[str, tuple[Callable[[Any], Figure], Any]] = {
        "AC1, gaps": (gwet_ac, theirs.gwet),
        "Fleiss' kappa, gaps": (fleiss_kappa, theirs.fleiss),
        "Brennan-Prediger, gaps": (uniform_kappa, theirs.bp),
    }
    for name, (own, other) in pairs.items():
        ours, found = own(counts), other()["est"]
        yield name, ours.value, found["coefficient_value"]
        yield f"{name}, low end", ours.low, max(-1.0, found["confidence_interval"][0])
    for metric in ("nominal", "ordinal", "interval"):
        alpha = krippendorff.alpha(
            reliability_data=ratings.T, level_of_measurement=metric, value_domain=list(range(levels))
        )
        yield f"alpha, {metric}, gaps", krippendorff_alpha(ratings, levels, metric).value, alpha


def _totals(rng: np.random.Generator) -> Found:
    import pandas as pd
    import pingouin

    things, raters = int(rng.integers(4, 20)), int(rng.integers(2, 6))
    shape = (things, raters)
    totals = 2 * rng.normal(0, 1, (things, 1)) + rng.normal(0, 1, shape) + rng.normal(0, 1, (1, raters))
    long = pd.DataFrame([(thing, rater, totals[thing, rater]) for thing, rater in np.ndindex(shape)])
    found = pingouin.intraclass_corr(long, targets=0, raters=1, ratings=2).set_index("Type")
    for form, label in _FORMS.items():
        ours, theirs = icc(totals, form), found.loc[f"ICC{label}"]
        yield f"ICC({form})", ours.value, theirs["ICC"]
        yield f"ICC({form}), ends, two places", ours.low, theirs["CI95"][0]
        yield f"ICC({form}), ends, two places", ours.high, theirs["CI95"][1]


def main() -> None:
    """Compare with the packages, or time the pages for a class."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--class-home", type=Path, help="make a class of sixty here and time what is behind the pages")
    args = parser.parse_args()
    if args.class_home is None:
        with warnings.catch_warnings(action="ignore"):
            against_packages()
    else:
        from tests.benchmarks.raters_class import time_pages

        time_pages(args.class_home)


if __name__ == "__main__":
    main()
