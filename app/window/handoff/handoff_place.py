"""The place Hand-off: what to write, where to, what that would be, and what came of it."""

import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QTimer, QUrl
from PySide6.QtGui import QDesktopServices, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QProgressBar, QStackedLayout, QVBoxLayout, QWidget

from app.handoff.all import HandedOver, Preview
from app.handoff.choices import Choices
from app.handoff.each_song import Part, parts_of
from app.handoff.outcome import Planned
from app.handoff.saved_choices import from_text, to_text
from app.model.document.change import Change
from app.model.song_names import song_names
from app.window.handoff.hand_over import HandOver
from app.window.handoff.handoff_actions import handoff_actions
from app.window.handoff.handoff_choices import HandoffChoices
from app.window.handoff.handoff_files import WRITTEN, HandoffFiles
from app.window.handoff.handoff_jobs import looking, previewing, writing
from app.window.handoff.handoff_outcome import HandoffOutcome
from app.window.handoff.handoff_questions import may_replace, may_stop
from app.window.handoff.handoff_words import summary_words
from app.window.handoff.songs_choice import SongsChoice
from app.window.jobs import Jobs, sentence
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.actions import ActionTable
from app.window.parts.buttons import ActionButton
from app.window.parts.dialogs import Dialogs
from app.window.parts.empty_page import EmptyPage
from app.window.parts.place import Place
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.session import Session
from app.window.work.running import STOPPING

SLOT, PREVIEW_SLOT = "hand-off", "hand-off preview"
STOPPED = (
    "Stopped. Files marked as written are complete. In a folder of copies, finished copies stay. Nothing "
    "unfinished is left."
)
NOTHING_YET = "Drop the song and the clips in Clips (Ctrl+1) first."
NO_TAKE = "No clip has a take yet. Clips (Ctrl+1) says why."
HEADING = "Hand off to the edit"
WIDEST_EM, LARGEST_SHARE = 42, 0.52
"""Width of the choices: at most so many heights of a line of text, and so much of the place."""
THINNED_MS = 150
"""Choices that change faster than this are previewed together."""


class HandoffPlace(Place):
    """Writes what the editing program reads."""

    title = "Hand-off"

    def __init__(
        self,
        session: Session,
        theme: Theme,
        jobs: Jobs,
        dialogs: Dialogs,
        hand_over: HandOver,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(session, theme, parent)
        self._jobs, self._dialogs = jobs, dialogs
        self.hand_over = hand_over
        """What plans and writes, off the window's thread."""
        self._stopping = False
        """The writing was asked to end, and goes on for a moment."""
        self._shown: Sequence[Part] | None = None
        """What was previewed last."""
        self._suggested = ""
        """The folder that was put in by itself; followed by another as long as nobody changed it."""
        self._written_to: Path | None = None
        """The folder of the files that are listed as written."""
        self.action_table = ActionTable(
            self, handoff_actions(self._choose_folder, self.write, self.stop, self._open_folder)
        )
        self._choose, self._write, self._stop, self._show = self.action_table.several(
            "choose", "write", "stop", "show"
        )
        self._summary = TextLabel(theme)
        self._doubts = TextLabel(theme, role="warm")
        self.outcome = HandoffOutcome(theme, self._show)
        self.folder = QLineEdit()
        self.folder.setPlaceholderText("Folder for the hand-off")
        self.folder.setAccessibleName("Folder for the hand-off")
        self.folder.setToolTip("Where the files are written; clips stay where they are (Ctrl+L to choose)")
        self.folder.setAcceptDrops(False)  # files dropped anywhere belong to the window
        self.folder.textChanged.connect(self._folder_changed)
        self.chosen = HandoffChoices(theme)
        self.chosen.changed.connect(self._changed)
        self.songs = SongsChoice(theme)
        self.songs.changed.connect(self._songs_changed)
        self.files = HandoffFiles(theme)
        self._doing = TextLabel(theme, role="dim")
        self._bar = QProgressBar()
        self._bar.setRange(0, 1000)
        self._bar.setTextVisible(False)
        self._bar.setMinimumWidth(round(theme.em() * 4))
        self._bar.setAccessibleName("Progress of the hand-off")
        self._bar.setToolTip("How much is written")
        self._thinned = QTimer(self)
        self._thinned.setSingleShot(True)
        self._thinned.setInterval(THINNED_MS)
        self._thinned.timeout.connect(self._preview)
        self._arrange(round(theme.em()))

    @property
    def choices_text(self) -> str:
        """The choices as text, to be saved."""
        return to_text(self._choices)

    def restore_choices(self, text: str) -> None:
        """Show choices that were saved."""
        choices = from_text(text)
        self.chosen.show_choices(choices)
        self.songs.choose(all_songs=choices.all_songs)
        self._shown = None

    def driven_from(self) -> QWidget:
        return self.folder if self.folder.isEnabled() else self.files.table

    def refresh(self, change: Change) -> None:
        here, parts, songs = self.session.view, self._parts(), self.session.songs
        takes = any(clip.takes for view in self.session.views for clip in view.clips)
        self._stack.setCurrentIndex(1 if takes else 0)
        self._empty.lines[-1].setText(NO_TAKE if here.clips else NOTHING_YET)
        self.songs.show_songs(song_names(songs), "" if here.song is None else here.song.id)
        doubts = sum(len(words.open_takes(part.shoot)) for part in parts)
        self._summary.setText(summary_words(parts))
        self._doubts.setVisible(doubts > 0)
        self._doubts.setText(
            f"{words.count(doubts, 'take')} in doubt: decide in Check (Ctrl+4), or set Takes in doubt here."
        )
        self.chosen.show_shoot(here, [part.shoot for part in parts])
        busy = self._jobs.busy(SLOT)
        if not busy:
            self._suggest_folder()
        if takes and parts != self._shown and not busy:
            self._preview()
        self._enable()

    def write(self) -> None:
        """Write what is chosen into the folder, after asking about what is there."""
        if not self._write.isEnabled():
            return
        parts, choices, folder = self._parts(), self._choices, self._folder()
        assert folder is not None
        look = looking(self.hand_over, parts, folder, choices)

        def seen(answer: tuple[Preview, Sequence[str]]) -> None:
            preview, there = answer
            if there and not may_replace(self._dialogs, there):
                self._say("Nothing was written.")
                return
            self._start(parts, folder, choices, preview.planned)

        self._thinned.stop()
        self._forget_outcome()
        self._jobs.start(SLOT, look, seen, self._failed, stopped=lambda: self._say("Nothing was written."))
        if self.isAncestorOf(self.focusWidget()):
            # What has the keyboard may be switched off meanwhile, and the keyboard would go elsewhere.
            self.files.table.setFocus()
        self._doing.clear()
        self._bar.setRange(0, 0)
        self._enable()

    def stop(self) -> None:
        """Ask the writing to end; what is written just now may need some seconds for it."""
        self._jobs.stop(SLOT)
        self._stopping = self._jobs.busy(SLOT)
        self._enable()

    def may_end(self, then: str) -> bool:
        """Ask whether the writing may end, so that ``then`` can come; True where nothing is being written."""
        return not self._jobs.busy(SLOT) or may_stop(self._dialogs, then)

    def _start(
        self, parts: Sequence[Part], folder: Path, choices: Choices, planned: Sequence[Planned]
    ) -> None:
        def written(done: HandedOver) -> None:
            self.files.end()
            self._say("\n".join(f"✕ {trouble}" for trouble in done.troubles))
            self._tell_left(done.left)
            self.outcome.show_done(done.files, done.size_bytes, wholly=not done.troubles)

        def failed(error: Exception) -> None:
            self.files.end()
            self._failed(error)

        def stopped() -> None:
            self.files.end()
            self._say(STOPPED)

        self.files.show_planned(planned)
        self._shown, self._written_to = parts, folder
        self._jobs.start(
            SLOT,
            writing(self.hand_over, parts, folder, choices, planned),
            written,
            failed,
            stopped=stopped,
            progress=self._progress,
            report=self.files.mark,
        )
        self._enable()

    def _progress(self, fraction: float, text: str) -> None:
        self._bar.setRange(0, 1000)
        self._bar.setValue(round(1000 * fraction))
        if not self._stopping:
            self._doing.setText(f"{text}…" if text else "")
        self._bar.setAccessibleDescription(f"{round(100 * fraction)} percent")

    def _changed(self) -> None:
        """Other choices, or another folder: what came of the old ones is no answer any more."""
        self._forget_outcome()
        self._shown = None
        if self.isVisible():
            self._thinned.start()
        else:
            self._stale |= Change.NAME  # previewed once it is seen
        self._enable()

    def _folder_changed(self) -> None:
        self._tell_left(())
        self._changed()

    def _forget_outcome(self) -> None:
        self._written_to = None
        self.files.forget()
        self.outcome.clear()
        self._enable()

    def _preview(self) -> None:
        self._shown = parts = self._parts()
        look = previewing(self.hand_over, parts, self._folder(), self._choices)
        self._forget_outcome()

        def seen(preview: Preview) -> None:
            if not self._jobs.busy(SLOT):
                self.files.show_planned(preview.planned)
                self._say("\n".join(f"✕ {trouble}" for trouble in preview.troubles))

        def found(left: Sequence[str]) -> None:
            if not self._jobs.busy(SLOT):
                self._tell_left(left)

        def failed(error: Exception) -> None:
            self.files.show_entries([])
            self._tell_left(())
            self._failed(error)

        self._jobs.start(PREVIEW_SLOT, look, found, failed, report=seen)

    def _failed(self, error: Exception) -> None:
        self._say(f"✕ {sentence(error)}")

    @property
    def _choices(self) -> Choices:
        return replace(self.chosen.choices, all_songs=self.songs.all_songs)

    def _parts(self) -> Sequence[Part]:
        """What is handed off, under the name that the shoot has on screen, which is that of its file."""
        session = self.session
        name = session.whole.name if session.path is None else session.title
        here = session.view.song
        return parts_of(name, session.views, None if self.songs.all_songs or here is None else [here.id])

    def _songs_changed(self) -> None:
        self._changed()
        self.refresh(Change.SONG)

    def concerns(self, change: Change, origin: str) -> Change:
        if origin == "open":
            self._jobs.abandon(SLOT)
            self._forget_outcome()
            self.files.show_entries([])
            self._tell_left(())
        # Saved under another name, it is handed off under that.
        return change | Change.NAME if origin == "save" else change

    def _say(self, text: str) -> None:
        self.outcome.say(text)
        self._enable()

    def _tell_left(self, names: Sequence[str]) -> None:
        self.outcome.tell_left(names)
        self.files.show_earlier(names)

    def _folder(self) -> Path | None:
        """The folder to write into, as it is typed."""
        text = self.folder.text().strip()
        return Path(os.path.expanduser(text)).absolute() if text else None  # noqa: PTH111  (never raises)

    def _suggest_folder(self) -> None:
        """A folder beside the shoot's file and named after it, unless somebody chose another."""
        path = self.session.path
        if path is None:
            return
        before, self._suggested = self._suggested, str(path.parent / f"{path.stem} hand-off")
        if self.folder.text() in ("", before):
            self.folder.setText(self._suggested)

    def _choose_folder(self) -> None:
        folder = self._dialogs.choose_folder("Folder for the hand-off")
        if folder is not None:
            self.folder.setText(str(folder))

    def _open_folder(self) -> None:
        if self._written_to is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._written_to)))

    def _enable(self) -> None:
        busy = self._jobs.busy(SLOT)
        takes = any(clip.takes for part in self._parts() for clip in part.shoot.clips)
        ready = bool(self.folder.text().strip()) and bool(self.chosen.choices.what) and takes
        self._write.setEnabled(ready and not busy)
        self._stopping &= busy
        if self._stopping:
            self._doing.setText(STOPPING)
        self._stop.setEnabled(busy and not self._stopping)
        self._choose.setEnabled(not busy)
        self.chosen.setEnabled(not busy)
        self.folder.setEnabled(not busy)
        self.songs.setEnabled(not busy)
        for part in (self._bar, self._doing):
            part.setVisible(busy)
        self._stop_button.setVisible(busy and not self._stopping)
        there = not busy and any(entry.state == WRITTEN for entry in self.files.entries)
        self._show.setEnabled(there)
        self.outcome.button.setVisible(there)

    def _arrange(self, em: int) -> None:
        page = QWidget()
        columns = QHBoxLayout(page)
        columns.setContentsMargins(em, em, em, em)
        columns.setSpacing(em)
        columns.addWidget(self.chosen)
        box = QVBoxLayout()
        box.setSpacing(em // 2)
        columns.addLayout(box, 1)
        box.addWidget(TextLabel(self.theme, HEADING, size=looks.HEADING, bold=True))
        box.addWidget(self._summary)
        box.addWidget(self._doubts)
        box.addWidget(self.songs)
        row = QHBoxLayout()
        row.addWidget(self.folder, 1)
        row.addWidget(ActionButton(self._choose))
        box.addLayout(row)
        row = QHBoxLayout()
        self._stop_button = ActionButton(self._stop)
        row.addWidget(ActionButton(self._write, main=True))
        row.addWidget(self._stop_button)
        row.addWidget(self._bar, 1)
        row.addStretch(0)
        box.addLayout(row)
        box.addWidget(self._doing)
        box.addWidget(self.outcome)
        box.addWidget(self.files, 1)
        lines = (
            "There is nothing to hand off yet.",
            "Placed takes go to your editing program as files it can import.",
            NOTHING_YET,
        )
        self._stack = QStackedLayout(self)
        self._empty = EmptyPage(self.theme, HEADING, lines)
        self._stack.addWidget(self._empty)
        self._stack.addWidget(page)
        self._enable()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.chosen.wish(round(min(WIDEST_EM * self.theme.em(), LARGEST_SHARE * self.width())))
