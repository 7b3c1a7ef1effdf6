"""The sample rate at which the engine compares songs and clips."""

from audio.errors import BadSignal

ENGINE_RATE = 8000
"""Samples a second at which songs and clips are compared; no other rate works.

Phones and loudspeakers carry the song best below 4 kHz, and the transforms of a song stay small. Chosen by
hand; lengths of transforms and of lag bins are powers of two that come out even at this rate."""


def check_rate(rate: float, what: str) -> None:
    """Raise BadSignal unless ``rate`` (samples a second) is ENGINE_RATE.

    >>> check_rate(11025, "The song")
    Traceback (most recent call last):
    audio.errors.BadSignal: The song has a sample rate of 11025 Hz, but placing needs 8000 Hz: resample it.
    """
    if rate != ENGINE_RATE:
        raise BadSignal(
            f"{what} has a sample rate of {rate} Hz, but placing needs {ENGINE_RATE} Hz: resample it."
        )
