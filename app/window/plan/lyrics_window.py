"""Where the words of the song are pasted or read from a file."""

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QFileDialog, QPlainTextEdit, QVBoxLayout, QWidget

from app.model.document.song import LyricLine, Song
from app.model.song_map.bar_spans import section_words, song_sections
from app.model.song_map.lyrics import LyricsError, lines_of_section, read_lyrics
from app.model.storage.plain_file import read_plain
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

MOST_BYTES = 2_000_000
"""No lyrics are longer."""


class LyricsWindow(QDialog):
    """Text along the sections; ``lines`` is what was accepted."""

    def __init__(self, theme: Theme, song: Song, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._song = song
        self.lines: tuple[LyricLine, ...] = song.lyrics
        self.setWindowTitle("Lyrics")
        em = round(theme.em())
        box = QVBoxLayout(self)
        box.setSpacing(em // 2)
        box.addWidget(
            TextLabel(
                theme,
                "Paste or type the words. An empty line begins the next section; a line such as [Chorus] or "
                "B: says which. LRC and SRT files have times of their own.",
            )
        )
        self.text = QPlainTextEdit(lyrics_text(song))
        self.text.setAccessibleName("Lyrics")
        self.text.setToolTip("The words of the song, section by section")
        self.text.setTabChangesFocus(True)
        box.addWidget(self.text, 1)
        self.trouble = TextLabel(theme, role="warm")
        self.trouble.hide()
        box.addWidget(self.trouble)
        buttons = QDialogButtonBox()
        self.read = buttons.addButton("Import…", QDialogButtonBox.ButtonRole.ActionRole)
        self.read.setShortcut("Ctrl+O")
        self.read.setToolTip("Import a text, LRC or SRT file (Ctrl+O)")
        self.read.clicked.connect(self._choose_file)
        self.keep = buttons.addButton("Use Lyrics", QDialogButtonBox.ButtonRole.AcceptRole)
        self.keep.setShortcut("Ctrl+Return")
        self.keep.setToolTip("Use these lyrics (Ctrl+Enter)")
        cancel = buttons.addButton("Cancel", QDialogButtonBox.ButtonRole.RejectRole)
        cancel.setToolTip("Leave the lyrics as they were (Esc)")
        buttons.accepted.connect(self._keep)
        buttons.rejected.connect(self.reject)
        box.addWidget(buttons)
        self.resize(round(em * 30), round(em * 28))
        self.text.setFocus(Qt.FocusReason.OtherFocusReason)

    def read_file(self, path: Path) -> None:
        """Put the text of a file into the field."""
        try:
            self.text.setPlainText(read_plain(path, MOST_BYTES).decode("utf-8-sig"))
            self.trouble.hide()
        except UnicodeDecodeError:
            self._tell(f"{path.name} is not plain text (UTF-8). Save it as UTF-8 first.")
        except (OSError, LyricsError) as error:
            self._tell(str(getattr(error, "strerror", None) or error))

    def _choose_file(self) -> None:
        kinds = "Lyrics (*.txt *.lrc *.srt);;All files (*)"
        name, _ = QFileDialog.getOpenFileName(self, "Import lyrics", "", kinds)
        if name:
            self.read_file(Path(name))

    def _keep(self) -> None:
        text = self.text.toPlainText()
        if text.strip() == lyrics_text(self._song).strip():
            self.reject()  # untouched: lines keep the times they have
            return
        try:
            self.lines = read_lyrics(text, self._song) if text.strip() else ()
        except LyricsError as error:
            self._tell(str(error))
            return
        self.accept()

    def _tell(self, sentence: str) -> None:
        self.trouble.setText(sentence)
        self.trouble.show()


def lyrics_text(song: Song) -> str:
    """The lyrics as text to be changed: with their times where they have any, else under their sections."""
    if any(line.start_s is not None for line in song.lyrics):
        return "\n".join(f"[{_stamp(line.start_s or 0.0)}]{line.text}" for line in song.lyrics)
    blocks = []
    for section in song_sections(song):
        lines = [line.text for line in lines_of_section(song, section)]
        if lines:
            blocks.append("\n".join([f"[{section.letter or section_words(section)}]", *lines]))
    return "\n\n".join(blocks)


def _stamp(seconds: float) -> str:
    hundredths = round(seconds * 100)
    return f"{hundredths // 6000:02}:{hundredths // 100 % 60:02}.{hundredths % 100:02}"
