"""Chains of hidden states, against adding up every path there is."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from review.signals.chains import posterior


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_posterior_is_the_share_of_all_paths_that_go_through_a_state(seed: int) -> None:
    """For a short chain every path can be written down; their weights give the same probabilities."""
    chance = np.random.default_rng(seed)
    emission = chance.normal(0, 2, (5, 3))
    emission[2, 1] = -np.inf
    transition = chance.normal(0, 2, (4, 3, 3))
    shares = np.zeros((5, 3))
    for path in product(range(3), repeat=5):
        weight = sum(emission[moment, state] for moment, state in enumerate(path))
        weight += sum(transition[moment, path[moment], path[moment + 1]] for moment in range(4))
        shares[np.arange(5), path] += np.exp(weight)
    np.testing.assert_allclose(posterior(emission, transition), shares / shares.sum(axis=1, keepdims=True), atol=1e-12)


def test_one_moment_and_none() -> None:
    """A single moment is its own emission, made to add up to 1; no moment gives nothing."""
    assert posterior(np.log([[3.0, 1.0]]), np.zeros((0, 2, 2))).tolist() == [[0.75, 0.25]]
    assert posterior(np.zeros((0, 2)), np.zeros((0, 2, 2))).shape == (0, 2)
