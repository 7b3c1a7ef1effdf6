"""Light and motion of a clip as JSON values, and back: kept so that no clip is looked at twice."""

import numpy as np

from app.model.storage.json_node import Json, WrongShape
from audio.pictures.silent_series import SilentSeries

DIGITS = 4
"""After the point: a tenth of a millisecond, and far below a picture's noise."""


def series_to_json(series: SilentSeries) -> Json:
    """The series as JSON values."""
    return {name: np.round(getattr(series, name), DIGITS).tolist() for name in ("clip_s", "light", "rise")}


def series_from_json(node: Json) -> SilentSeries:
    """Read a series as ``series_to_json`` writes it. Raises WrongShape."""
    try:
        rows = [np.array(node[name], np.float64) for name in ("clip_s", "light", "rise")]
    except (KeyError, TypeError, ValueError) as error:
        raise WrongShape(f"a series is not what it should be: {error!r}") from error
    if any(row.ndim != 1 or len(row) != len(rows[0]) or not len(row) for row in rows):
        raise WrongShape("the parts of a series are not of one length")
    return SilentSeries(*rows)
