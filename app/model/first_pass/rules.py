"""The rules by which a first pass is cut: each has a name, a sentence, and how much it counts.

A rule counts ``never``, ``always``, or by a weight from 0 to 1000: the cost of a bar (or of a cut) that
breaks it. ``always`` outweighs all weights, so such a rule is broken only where there is no other way, and
that is told. That no fault and no take in doubt is ever shown is no rule: it cannot be switched off.
"""

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from app.model.document.cut import Setting

ALWAYS, NEVER = "always", "never"
MOST = 1000
"""The largest weight."""
PACES = ("energy", "slow", "medium", "fast")
CUTS = ("downbeats", "beats")
PACE = "pace"
_RANGE = re.compile(r"(\d{1,3})(?:-(\d{1,3}))?", re.ASCII)


class RulesError(ValueError):
    """Rules cannot be read; ``str(error)`` names the key and says what it may say."""


class Kind(StrEnum):
    """What a rule may say."""

    WEIGHT = "weight"
    COUNT = "count"
    PACE = "pace"
    CUTS = "cuts"


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule."""

    name: str
    kind: Kind
    default: str
    words: str
    """What it asks for, in a plain sentence."""
    most: int = MOST


RULES = (
    Rule("needs", Kind.WEIGHT, "20", "What the plan asks for is shown first; of a whole passage, a third."),
    Rule("keepers", Kind.WEIGHT, "25", "Keepers come before everything else that can be used."),
    Rule("confirmed", Kind.WEIGHT, "3", "Takes that a person confirmed come before those only computed."),
    Rule("featured", Kind.WEIGHT, "20", "Who sings, or gives a section its name, is seen there."),
    Rule("safety", Kind.WEIGHT, ALWAYS, "A safety is shown only where nothing else can be."),
    Rule("rank", Kind.WEIGHT, "1", "Angles that rank higher come first."),
    Rule("ends", Kind.WEIGHT, "30", "The song opens and ends on a wide angle."),
    Rule("wides", Kind.WEIGHT, "50", "Every section shows a wide angle."),
    Rule("everyone", Kind.WEIGHT, "60", "Every angle but safeties is seen at least once."),
    Rule(PACE, Kind.PACE, "energy", "How long shots are: energy, slow, medium, fast, or bars such as 2-4."),
    Rule("length", Kind.WEIGHT, "40", "Shots are no shorter and no longer than the pace says."),
    Rule("detail bars", Kind.COUNT, "4", "Details, such as hands, last so many bars at most.", most=16),
    Rule("cuts", Kind.CUTS, "downbeats", "Where cuts fall: on downbeats, or on beats."),
    Rule("frames before", Kind.COUNT, "0", "Cuts fall so many frames before the beat.", most=24),
    Rule("sections", Kind.WEIGHT, "40", "A section begins with a cut."),
    Rule("phrases", Kind.WEIGHT, "25", "Cuts fall at every second bar of a section, if shots are that long."),
    Rule("again bars", Kind.COUNT, "8", "So many bars pass before an angle comes back.", most=64),
    Rule("again", Kind.WEIGHT, "5", "An angle does not come back within those bars."),
    Rule("view", Kind.WEIGHT, "40", "Two shots from nearly the same view do not follow each other."),
    Rule("families", Kind.WEIGHT, "8", "Sections of one kind do not show the same angles in order."),
    Rule("handle frames", Kind.COUNT, "12", "A shot has so many frames more at its head and tail.", most=250),
    Rule("handles", Kind.WEIGHT, "10", "A shot keeps these frames."),
)
BY_NAME: Mapping[str, Rule] = {rule.name: rule for rule in RULES}


@dataclass(frozen=True, slots=True)
class Rules:
    """The rules of one first pass: what is not told has its default."""

    told: tuple[tuple[str, str], ...] = ()
    """Names and what they say, in the order of `RULES`; the pace of a section as ``pace B``."""

    def value(self, name: str) -> str:
        """What a rule says. Raises KeyError."""
        return dict(self.told).get(name, BY_NAME[name].default)

    def weight(self, name: str) -> int | None:
        """How much a rule counts; None for always."""
        value = self.value(name)
        return None if value == ALWAYS else 0 if value == NEVER else int(value)

    def count(self, name: str) -> int:
        """The number that a rule tells."""
        return int(self.value(name))

    def pace(self, letter: str) -> str:
        """The pace of the section of that letter."""
        return dict(self.told).get(f"{PACE} {letter}", self.value(PACE))


DEFAULT = Rules()


def rules_of(settings: Iterable[Setting]) -> Rules:
    """The rules that a version's settings tell. Raises RulesError."""
    told: dict[str, str] = {}
    for one in settings:
        if one.name in told:
            raise RulesError(f"The rules say {one.name!r} twice. Say it once.")
        told[one.name] = _checked(one.name, one.value)
    order = {rule.name: n for n, rule in enumerate(RULES)}
    return Rules(tuple(sorted(told.items(), key=lambda one: (order[_rule(one[0]).name], one[0]))))


def settings_of(rules: Rules) -> tuple[Setting, ...]:
    """The rules as a version keeps them.

    >>> settings_of(rules_of([Setting("pace C", "fast"), Setting("needs", "always")]))
    (Setting(name='needs', value='always'), Setting(name='pace C', value='fast'))
    """
    return tuple(Setting(name, value) for name, value in rules.told)


def rules_of_json(text: str) -> Rules:
    """Rules of a JSON file: an object of names, each with a text or a number. Raises RulesError.

    >>> rules_of_json('{"needs": "always", "view": 12, "pace B": "2-4"}').told
    (('needs', 'always'), ('pace B', '2-4'), ('view', '12'))
    """
    try:
        values = json.loads(text, object_pairs_hook=_once)
    except RecursionError:
        raise RulesError(
            "The rules are groups within groups. Write one object of names and values."
        ) from None
    except ValueError as error:
        if isinstance(error, RulesError):
            raise
        raise RulesError(f"The rules are no JSON: {error}. Write an object of names and values.") from None
    if not isinstance(values, dict):
        raise RulesError("The rules are no JSON object. Write names and values between { and }.")
    settings = []
    for name, value in values.items():
        if isinstance(value, bool) or not isinstance(value, str | int):
            raise RulesError(f"{name!r} is neither a text nor a whole number. {_may_say(_rule(name))}")
        settings.append(Setting(name, str(value)))
    return rules_of(settings)


def json_of_rules(rules: Rules) -> str:
    """All rules, told and by default, as a JSON file that `rules_of_json` reads."""
    values = {rule.name: rule.default for rule in RULES} | dict(rules.told)
    told = {name: int(value) if value.isdecimal() else value for name, value in values.items()}
    return json.dumps(told, indent=1, ensure_ascii=False) + "\n"


def bar_range(pace: str) -> tuple[int, int] | None:
    """The shortest and the longest shot in bars, where a pace tells them.

    >>> bar_range("2-4"), bar_range("3"), bar_range("slow")
    ((2, 4), (3, 3), None)
    """
    match = _RANGE.fullmatch(pace)
    if match is None:
        return None
    low = int(match[1])
    return low, int(match[2]) if match[2] else low


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found: dict[str, object] = {}
    for name, value in pairs:
        if name in found:
            raise RulesError(f"The rules say {name!r} twice. Say it once.")
        found[name] = value
    return found


def _rule(name: str) -> Rule:
    if name in BY_NAME:
        return BY_NAME[name]
    word, _, letter = name.partition(" ")
    if word == PACE and letter.strip() == letter != "":
        return BY_NAME[PACE]
    known = ", ".join(rule.name for rule in RULES)
    raise RulesError(f"There is no rule {name!r}. Rules are: {known}, and pace with a section's letter.")


def _checked(name: str, value: str) -> str:
    rule = _rule(name)
    value = value.strip()
    number = int(value) if re.fullmatch(r"\d{1,6}", value, re.ASCII) else None
    if rule.kind is Kind.WEIGHT and value in (ALWAYS, NEVER):
        return value
    if rule.kind in (Kind.WEIGHT, Kind.COUNT) and number is not None and number <= rule.most:
        return str(number)
    if rule.kind is Kind.PACE:
        bars = bar_range(value)
        if value in PACES or (bars is not None and 0 < bars[0] <= bars[1]):
            return value
    if rule.kind is Kind.CUTS and value in CUTS:
        return value
    raise RulesError(f"{name!r} says {value!r}. {_may_say(rule)}")


def _may_say(rule: Rule) -> str:
    if rule.kind is Kind.WEIGHT:
        return f"Write always, never, or a whole number from 0 to {rule.most}."
    if rule.kind is Kind.COUNT:
        return f"Write a whole number from 0 to {rule.most}."
    if rule.kind is Kind.PACE:
        return "Write energy, slow, medium, fast, or bars such as 2-4."
    return "Write downbeats or beats."
