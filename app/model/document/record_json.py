"""Records of plain values as JSON and back: the names and kinds of a dataclass's fields tell how.

A field added to such a record is kept and read without another line here.
"""

import types
from collections.abc import Mapping
from dataclasses import Field, fields, is_dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from app.model.document.bounds import check_count, check_fraction, check_items, check_number, check_text
from app.model.document.clip import FileFacts
from app.model.document.decisions import TakeSettings
from app.model.reasons import Reason
from app.model.storage.json_node import Json, Node, WrongShape
from app.model.timebase import parse_rate, rate_text

Record = TypeVar("Record")


def record_out(record: object) -> Json:
    """A record as JSON values.

    >>> from app.model.document.decisions import Pin
    >>> record_out(Pin(1.5, 30.25))
    {'clip_s': 1.5, 'song_s': 30.25}
    """
    assert is_dataclass(record)
    return {one.name: _out(getattr(record, one.name)) for one in fields(record)}


def record_in(node: Node, kind: type[Record]) -> Record:
    """Read a record of that kind. Raises WrongShape for a value that is missing, unknown, or of another kind.

    What a person set on a take may be missing: it then is as nobody set it. What a file said of itself that
    cannot be, as it was believed once, is as if it said nothing.
    """
    values = {}
    for one, hint in _hints(kind).items():  # type: ignore[arg-type]  # a class can be hashed
        if kind is TakeSettings and one.name not in node:
            continue
        value = _in(node, one.name, hint)
        try:
            _within_bounds(node.where, one.name, value)
        except WrongShape:
            if kind is not FileFacts:
                raise
            value = one.default
        values[one.name] = value
    return node.done(kind(**values))


def _within_bounds(where: str, name: str, value: Any) -> None:
    """Raises WrongShape."""
    if isinstance(value, str):
        check_text(where, name, value)
    elif isinstance(value, bool):
        return
    elif isinstance(value, float):
        check_number(where, name, value)
    elif isinstance(value, int):
        check_count(where, name, value)
    elif isinstance(value, Fraction):
        check_fraction(where, name, value)
    elif isinstance(value, Reason):
        check_text(where, "code", value.code)
        for what, figure in value.figures:
            check_text(where, name, what)
            _within_bounds(where, what, float(figure) if isinstance(figure, int) else figure)
    elif isinstance(value, tuple):
        check_items(where, name, len(value))
        if value and isinstance(value[0], float):
            check_number(where, name, min(value))
            check_number(where, name, max(value))
        elif value and isinstance(value[0], str):
            for text in value:
                check_text(where, name, text)


@cache
def _hints(kind: Any) -> Mapping["Field[Any]", Any]:
    hints = get_type_hints(kind)
    return {one: hints[one.name] for one in fields(kind)}


def _out(value: Any) -> object:
    if isinstance(value, Fraction):
        return rate_text(value)
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, Reason):
        return {"code": value.code, "figures": dict(value.figures)}
    if isinstance(value, tuple):
        return [_out(item) for item in value]
    return record_out(value) if is_dataclass(value) else value


def _in(node: Node, name: str, hint: Any) -> Any:
    kinds = get_args(hint) if get_origin(hint) in (Union, types.UnionType) else (hint,)
    if type(None) in kinds:
        if node.is_null(name):
            return None
        (hint,) = (kind for kind in kinds if kind is not type(None))
    if get_origin(hint) is tuple:
        (item, _) = get_args(hint)
        if item is str:
            return node.texts(name)
        if item is float:
            return node.numbers(name)
        return node.each(name, lambda inner: record_in(inner, item))
    if hint is Fraction:
        try:
            return parse_rate(node.text(name))
        except ValueError as error:
            raise WrongShape(f"{name!r} of {node.where}: {error}") from None
    if hint is Reason:
        inner = node.node(name)
        return inner.done(Reason(inner.text("code"), inner.node("figures").figures()))
    if hint in _PLAIN:
        return _PLAIN[hint](node, name)
    if issubclass(hint, StrEnum):
        return node.one_of(name, hint)
    return record_in(node.node(name), hint)


_PLAIN: Mapping[type, Any] = {bool: Node.truth, float: Node.number, int: Node.count, str: Node.text}
