"""What sequences are called."""

from app.handoff.choices import Choices
from app.handoff.sequences.sequence import Kind
from app.model.string_out.string_out import About


def string_out_name(choices: Choices) -> str:
    """What a string-out is called, behind the name of the shoot: one of everything is just a string-out.

    >>> from app.handoff.choices import DEFAULT
    >>> string_out_name(DEFAULT)
    'string-out'
    """
    wish = choices.string_out
    if wish.about is About.SECTION:
        return Kind.STRING_OUT.value
    return f"{Kind.STRING_OUT.value} {wish.subject if wish.about is About.SUBJECT else wish.about.value}"


def first_pass_name(choices: Choices) -> str:
    """What a first pass is called, behind the name of the shoot.

    >>> from app.handoff.choices import DEFAULT
    >>> first_pass_name(DEFAULT)
    'first pass'
    """
    return f"{Kind.FIRST_PASS.value} {choices.first_pass.version}".strip()
