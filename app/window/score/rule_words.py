"""How much a rule counts, in words to choose from."""

from app.model.first_pass.rules import ALWAYS, CUTS, NEVER, PACES, Kind, Rule

USUAL_OF_ALWAYS = 30
"""What is normal for a rule that usually always holds."""
STRONGER = 3
"""Much counts so many times as much as normal, and little as much less."""
PACE_WORDS = {"energy": "By the song's energy", "slow": "Slow", "medium": "Medium", "fast": "Fast"}
CUT_WORDS = {"downbeats": "On downbeats", "beats": "On beats"}
COLUMNS = (
    (
        (
            "What is seen",
            ("needs", "keepers", "confirmed", "featured", "safety", "rank", "ends", "wides", "everyone"),
        ),
        ("Handles", ("handle frames", "handles")),
    ),
    (
        (
            "How long, and where cuts fall",
            ("pace", "length", "detail bars", "cuts", "frames before", "sections", "phrases"),
        ),
        ("What follows what", ("again bars", "again", "view", "families")),
    ),
)
"""How the rules are laid out: for each column its headings, and the rules under each."""
BARS = ("1", "2", "1-2", "2-4", "4", "4-8", "8")


def choices_of(rule: Rule, value: str) -> list[tuple[str, str]]:
    """What a rule may say, as values and words; what it says now is always among them.

    >>> from app.model.first_pass.rules import BY_NAME
    >>> choices_of(BY_NAME["view"], "40")
    [('never', 'Never'), ('13', 'Little'), ('40', 'Normal'), ('120', 'Much'), ('always', 'Always')]
    >>> choices_of(BY_NAME["view"], "50")[3]
    ('50', 'Weight 50')
    """
    if rule.kind is Kind.PACE:
        return with_value([*PACE_WORDS.items(), *((one, bars_text(one)) for one in BARS)], value)
    if rule.kind is Kind.CUTS:
        return [(one, CUT_WORDS[one]) for one in CUTS]
    usual = int(rule.default) if rule.default.isdecimal() else USUAL_OF_ALWAYS
    weights = {max(1, usual // STRONGER): "Little", usual: "Normal", min(usual * STRONGER, rule.most): "Much"}
    if value.isdecimal() and int(value) not in weights:
        weights[int(value)] = f"Weight {value}"
    ordered = [(str(one), weights[one]) for one in sorted(weights)]
    return [(NEVER, "Never"), *ordered, (ALWAYS, "Always")]


def sentence_of(rule: Rule) -> str:
    """What a rule asks for; without what a file may say, where there is a list to choose from.

    >>> from app.model.first_pass.rules import BY_NAME
    >>> sentence_of(BY_NAME["cuts"]), sentence_of(BY_NAME["sections"])
    ('Where cuts fall.', 'A section begins with a cut.')
    """
    if rule.kind in (Kind.PACE, Kind.CUTS):
        return f"{rule.words.partition(':')[0].rstrip('.')}."
    return rule.words


def with_value(choices: list[tuple[str, str]], value: str) -> list[tuple[str, str]]:
    """The choices, and one more where a length of shots is none of them."""
    known = any(value == one for one, _ in choices)
    return choices if known or value in PACES else [*choices, (value, bars_text(value))]


def bars_text(bars: str) -> str:
    """A length of shots in words.

    >>> bars_text("1"), bars_text("2-4")
    ('1 bar', '2–4 bars')
    """
    return "1 bar" if bars == "1" else f"{bars.replace('-', '–')} bars"
