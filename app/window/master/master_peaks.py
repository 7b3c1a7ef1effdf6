"""The waveform of a master as it is drawn."""

from pathlib import Path

from app.window.jobs import Tasks, is_plain
from app.window.master.two_waves import Peak

PEAKS = 2400
"""Stretches of a master that are drawn."""


def peaks_of(tasks: Tasks, path: Path) -> list[Peak]:
    """Lowest and highest values of a master; none where its file cannot be read any more."""
    try:
        return [(float(low), float(high)) for low, high in tasks.song_peaks(path, PEAKS)]
    except Exception as error:
        if not is_plain(error):
            raise
        return []
