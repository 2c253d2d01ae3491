"""Chains of hidden states whose number changes from moment to moment."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Weights = NDArray[np.float64]


def posterior(emission: Weights, transition: Weights) -> Weights:
    """Return how probable each state is at each moment, given all that was seen (forward-backward algorithm).

    Parameters
    ----------
    emission
        Logarithm of how well what was seen fits each state, up to a constant for each moment; shape
        ``(moment, state)``. -inf where there is no such state.
    transition
        Logarithm of how likely one state follows another, up to a constant for each moment; shape
        ``(moment - 1, state before, state after)``.

    Returns
    -------
    ndarray
        Shape ``(moment, state)``; each row adds up to 1.

    References
    ----------
    Rabiner 1989, Proc. IEEE 77(2), 257-286, doi:10.1109/5.18626: equations 18 to 27, scaled at every moment.

    Examples
    --------
    >>> sure, open_ = np.log([0.9, 0.1]), np.log([0.5, 0.5])
    >>> stay = np.log([[0.9, 0.1], [0.1, 0.9]])
    >>> posterior(np.array([sure, open_]), stay[None]).round(2).tolist()
    [[0.9, 0.1], [0.82, 0.18]]
    """
    moments = len(emission)
    if not moments:
        return emission.copy()
    fit = np.exp(emission - emission.max(axis=1, keepdims=True))
    follow = np.exp(transition)
    ahead, behind = fit.copy(), np.ones_like(fit)
    for now in range(1, moments):
        ahead[now] *= ahead[now - 1] @ follow[now - 1]
        ahead[now] /= ahead[now].sum()
    for now in range(moments - 2, -1, -1):
        behind[now] = follow[now] @ (fit[now + 1] * behind[now + 1])
        behind[now] /= behind[now].sum()
    both = ahead * behind
    return np.asarray(both / both.sum(axis=1, keepdims=True))
