"""The bar above every place that tells which files are missing, with the button that looks for them."""

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from app.window.clips.moved_media import MovedMedia
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.session import Session

MOST_NAMES = 2


class MissingBar(QWidget):
    """Seen only while the file of the song or of a clip is not where it was."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        moved: MovedMedia,
        find: QAction,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._moved = session, moved
        self._shorter: tuple[str, ...] = ("",)
        em = round(theme.em())
        row = QHBoxLayout(self)
        row.setContentsMargins(em, 0, em, 0)
        row.setSpacing(em)
        # On one line, so that the place below keeps its room: the tip tells the rest.
        self._text = TextLabel(theme, role="warm", wrap=False)
        self._text.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        self.button = ActionButton(find)
        row.addWidget(self._text, 1)
        row.addWidget(self.button)
        moved.changed.connect(self._show)
        session.changed.connect(self._show)
        self._show()

    @property
    def text(self) -> str:
        """What is told now; empty where no file is missing."""
        return self.accessibleName()

    def _show(self) -> None:
        shoot, gone = self._session.shoot, self._moved.gone
        songs = [words.path_name(song.media.path) for song in shoot.songs if song.id in gone]
        files = [clip.media.path for clip in shoot.clips if clip.id in gone]
        names = [words.path_name(path) for path in files]
        text = missing_words(songs, names)
        self._shorter = (text, f"{text.partition('). ')[0]})." if text else "", missing_counts(songs, names))
        self._text.setToolTip("\n".join([text, *files]))
        self.setAccessibleName(text)
        self._fit()
        self.setVisible(bool(text))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Say as much as there is room for: all, without what it means, or how many files alone."""
        metrics, room = self._text.fontMetrics(), self._text.width()
        lines = [f"!  {one}" for one in self._shorter]
        fitting = [line for line in lines if metrics.horizontalAdvance(line) <= room]
        said = (fitting or lines[-1:])[0]
        self._text.setText(metrics.elidedText(said, Qt.TextElideMode.ElideRight, room))


def missing_words(songs: Sequence[str], clips: Sequence[str]) -> str:
    """Which files are missing, in a sentence, and what that means.

    >>> missing_words(["song.wav"], [])
    'Missing: the song (song.wav). It cannot be played, seen or copied until it is found.'
    >>> missing_words([], ["a.mov", "b.mov", "c.mov"])
    'Missing: 3 clips (a.mov, b.mov and 1 more). They cannot be played, seen or copied until they are found.'
    """
    parts = [f"the song{'s' if len(songs) > 1 else ''} ({', '.join(songs)})"] if songs else []
    if clips:
        more = f" and {len(clips) - MOST_NAMES} more" if len(clips) > MOST_NAMES else ""
        parts.append(f"{words.count(len(clips), 'clip')} ({', '.join(clips[:MOST_NAMES])}{more})")
    if not parts:
        return ""
    one = len(songs) + len(clips) == 1
    end = "It cannot be played, seen or copied until it is found."
    ends = "They cannot be played, seen or copied until they are found."
    return f"Missing: {' and '.join(parts)}. {end if one else ends}"


def missing_counts(songs: Sequence[str], clips: Sequence[str]) -> str:
    """The same without names.

    >>> missing_counts(["song.wav"], ["a.mov", "b.mov"]), missing_counts([], [])
    ('Missing: the song and 2 clips.', '')
    """
    several = words.count(len(songs), "song") if len(songs) > 1 else "the song"
    parts = [*([several] if songs else []), *([words.count(len(clips), "clip")] if clips else [])]
    return f"Missing: {' and '.join(parts)}." if parts else ""
