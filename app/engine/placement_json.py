"""The engine's answer on a recording as JSON values, and back: kept so that clips can be compared later."""

from collections.abc import Sequence

from app.model.storage.json_node import Json, WrongShape
from audio.placement.align import Placement, PlaceRival, PlaceVerdict, TakeFit

NUMBERS = ("clip_start_s", "clip_end_s", "song_start_s", "speed", "uncertainty_s", "speed_sd", "strength")


def placement_to_json(placement: Placement) -> Json:
    """The answer as JSON values."""
    return {
        "verdict": placement.verdict.value,
        "reason": placement.reason,
        "channel": placement.channel,
        "takes": [
            {name: float(getattr(take, name)) for name in NUMBERS}
            | {
                "verdict": take.verdict.value,
                "reason": take.reason,
                "rivals": [_numbers(rival) for rival in take.rivals],
                "lags": [_numbers(lag) for lag in take.lags],
            }
            for take in placement.takes
        ],
    }


def placement_from_json(node: Json) -> Placement:
    """Read an answer as ``placement_to_json`` writes it. Raises WrongShape."""
    try:
        return Placement(
            PlaceVerdict(str(node["verdict"])),
            str(node["reason"]),
            tuple(_take(take) for take in _list(node["takes"])),
            int(node["channel"]),  # type: ignore[call-overload]
        )
    except (KeyError, TypeError, ValueError) as error:
        raise WrongShape(f"an answer is not what it should be: {error!r}") from error


def _take(node: object) -> TakeFit:
    if not isinstance(node, dict):
        raise WrongShape("a take is not a group of named values")
    return TakeFit(
        **{name: float(node[name]) for name in NUMBERS},
        verdict=PlaceVerdict(node["verdict"]),
        reason=str(node["reason"]),
        rivals=tuple(PlaceRival(*_numbers(rival)) for rival in _list(node["rivals"])),
        lags=tuple(
            (clip_s, lag_s, strength) for clip_s, lag_s, strength in map(_numbers, _list(node["lags"]))
        ),
    )


def _list(value: object) -> Sequence[Sequence[float]]:
    if not isinstance(value, list):
        raise WrongShape("a list is none")
    return value


def _numbers(values: Sequence[float]) -> list[float]:
    return [float(value) for value in values]
