"""The engine's answer on a recording as JSON values, and back: kept so that clips can be compared later."""

from collections.abc import Sequence

from app.model.storage.json_node import Json, WrongShape
from audio.line import Line
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Figure, Reason, ReasonCode

NUMBERS = ("clip_start_s", "clip_end_s", "song_start_s", "speed", "uncertainty_s", "speed_sd", "strength")


def placement_to_json(placement: Placement) -> Json:
    """The answer as JSON values."""
    return {
        "verdict": placement.verdict.value,
        "reason": _reason_to_json(placement.reason),
        "channel": placement.channel,
        "takes": [
            {name: float(getattr(take, name)) for name in NUMBERS}
            | {
                "verdict": take.verdict.value,
                "reason": _reason_to_json(take.reason),
                "rivals": [[*_numbers(rival[:2]), bool(rival.open)] for rival in take.rivals],
                "lags": [_numbers(lag) for lag in take.lags],
                "heard_on": take.heard_on,
            }
            for take in placement.takes
        ],
    }


def placement_from_json(node: Json) -> Placement:
    """Read an answer as ``placement_to_json`` writes it. Raises WrongShape."""
    try:
        return Placement(
            PlaceVerdict(str(node["verdict"])),
            _reason(node["reason"]),
            tuple(_take(take) for take in _list(node["takes"])),
            int(node["channel"]),  # type: ignore[call-overload]
        )
    except (KeyError, TypeError, ValueError) as error:
        raise WrongShape(f"an answer is not what it should be: {error!r}") from error


def _take(node: object) -> TakeFit:
    if not isinstance(node, dict):
        raise WrongShape("a take is not a group of named values")
    numbers = {name: float(node[name]) for name in NUMBERS}
    line = Line(*(numbers.pop(name) for name in ("clip_start_s", "song_start_s", "speed")))
    return TakeFit(
        line=line,
        **numbers,
        verdict=PlaceVerdict(node["verdict"]),
        reason=_reason(node["reason"]),
        rivals=tuple(_rival(rival) for rival in _list(node["rivals"])),
        lags=tuple(
            (clip_s, lag_s, strength) for clip_s, lag_s, strength in map(_numbers, _list(node["lags"]))
        ),
        heard_on=str(node["heard_on"]),
    )


def _rival(node: object) -> PlaceRival:
    song_start_s, strength, is_open = _list(node)
    if not isinstance(is_open, bool):
        raise WrongShape("a rival does not say whether it is open")
    return PlaceRival(*_numbers((song_start_s, strength)), is_open)


def _reason_to_json(reason: Reason | None) -> Json | None:
    if reason is None:
        return None
    return {"code": reason.code.value, "figures": [list(figure) for figure in reason.figures]}


def _reason(node: object) -> Reason | None:
    if node is None:
        return None
    if not isinstance(node, dict):
        raise WrongShape("a reason is not a group of named values")
    figures: list[tuple[str, Figure]] = []
    for name, value in node["figures"]:
        if not isinstance(value, int | float | str):
            raise WrongShape("a figure is neither a number nor a text")
        figures.append((str(name), value))
    return Reason(ReasonCode(node["code"]), tuple(figures))


def _list(value: object) -> Sequence[Sequence[float]]:
    if not isinstance(value, list):
        raise WrongShape("a list is none")
    return value


def _numbers(values: Sequence[float]) -> list[float]:
    return [float(value) for value in values]
