"""Which of the sound files that came along are songs: where it is not plain, the person says."""

from collections.abc import Sequence
from pathlib import Path

from app.window.parts.dialogs import Dialogs

MOST_NAMES = 4
"""Files named in one answer."""
NONE, ALL = "None of them", "All of them are songs"
QUESTION = "There is no song yet. Which of these sound files are songs?"


def songs_asked(dialogs: Dialogs, sounds: Sequence[Path], named: Sequence[Path]) -> list[Path]:
    """The songs among sound files, those handed over by name first; none where nobody says."""
    if len(named) == 1:
        return list(named)
    answers: list[tuple[str, Sequence[Path]]] = []
    if 1 < len(named) < len(sounds):
        # Songs lie beside the folders of clips, in which a recorder may have left files of its own.
        more = f" and {len(named) - MOST_NAMES} more" if len(named) > MOST_NAMES else ""
        told = ", ".join(path.name for path in named[:MOST_NAMES])
        answers.append((f"{len(named)} songs: {told}{more}", named))
    answers += [(path.name, [path]) for path in sounds]
    answers.append((NONE, []))
    if len(sounds) > 1:
        answers.append((ALL, sounds))
    chosen = dialogs.choose_one("The song", QUESTION, [words for words, _ in answers])
    return [] if chosen is None else list(answers[chosen][1])
