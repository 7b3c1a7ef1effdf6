"""Takes of one clip that share a room: what is clear in one take of its echoes settles them in another.

A camera that stands has one impulse response for all its takes. Where the responses of two takes, each laid
on its own direct sound, agree as they lie, both put it on the same arrival; if one of them tells for sure
which arrival that is, so does the other.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from audio.placement.line_fit import LineFit

BEFORE_S, AFTER_S = 0.03, 0.06
"""Part of an impulse response that is compared (s before the direct sound and after it). Chosen by hand."""
APART_S = 0.001
"""Further apart than this, two arrivals are two. Chosen by hand."""
ALIKE = 0.6
"""Correlation from which on two takes share a room …"""
CLEARLY = 0.8
"""… if shifted by any other arrival they agree less than this share of that. Both chosen by hand."""


def settled_echoes(fits: Sequence[LineFit]) -> list[LineFit]:
    """The fits of a clip's takes, each as sure of its direct sound as the surest that shares its room."""
    if len(fits) < 2 or not any(fit.ambiguity_s for fit in fits):
        return list(fits)
    responses = [_response(fit) for fit in fits]
    out = []
    for fit, own in zip(fits, responses, strict=True):
        sharing = [
            other.ambiguity_s
            for other, response in zip(fits, responses, strict=True)
            if other.ambiguity_s < fit.ambiguity_s and _same_arrival(own, response, fit.segments.rate)
        ]
        out.append(replace(fit, ambiguity_s=min(sharing)) if sharing else fit)
    return out


def _response(fit: LineFit) -> NDArray[np.float32]:
    """The impulse response around the direct sound; what arrives later lies further on."""
    segments = fit.segments
    whole = segments.whitened().summed()[::-1]
    middle = len(whole) - 1 - segments.size // 2
    return whole[middle - round(BEFORE_S * segments.rate) : middle + round(AFTER_S * segments.rate)]


def _same_arrival(one: NDArray[np.float32], other: NDArray[np.float32], rate: int) -> bool:
    """Whether two impulse responses agree as they lie, and shifted by any other arrival clearly less."""
    size = 2 * len(one)
    agreement = np.fft.irfft(np.fft.rfft(one, size) * np.conj(np.fft.rfft(other, size)), size)
    agreement /= float(np.sqrt(np.square(one).sum() * np.square(other).sum())) + 1e-20
    near = round(APART_S * rate)
    here = float(agreement[np.arange(-1, 2)].max())
    return here > ALIKE and float(np.abs(agreement[near:-near]).max()) < CLEARLY * here
