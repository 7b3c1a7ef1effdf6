"""Makes playback files as a job that can be stopped, and makes them known to the shoot."""

import os
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.engine.finding_pieces import FoundPieces
from app.handoff.tables.kit_table import LIST_NAME, with_paths, write_list
from app.model.document.change import Change
from app.model.document.song import Song
from app.model.edits.playback_edits import add_playbacks, remove_playback, set_note
from app.model.guarding import guard_of
from app.model.kit.made_file import MadeFile
from app.model.kit.planned import Planned
from app.model.storage.guard import Guard
from app.window.jobs import Tasks, Ticket
from app.window.parts.dialogs import Dialogs
from app.window.parts.theme import Theme
from app.window.plan.kit_window import KitWindow
from app.window.plan.piece_steps import PieceSteps
from app.window.session import Session
from app.window.work.running import Running

SLOT, GIVEN, ORIGIN = "playback files", "given playback file", "kit"
FOLDER = "Playback files"
"""Beside the song, unless another is chosen."""


class KitSteps(QObject):
    """At most one window at a time; files go on being made when it is closed."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        tasks: Tasks,
        running: Running,
        dialogs: Dialogs,
        over: QWidget | None = None,
    ) -> None:
        super().__init__(over)
        self._session, self._theme, self._tasks = session, theme, tasks
        self._running, self._dialogs, self._over = running, dialogs, over
        self.pieces = PieceSteps(session, theme, tasks, running, self)
        self.window: KitWindow | None = None
        self._made: list[MadeFile] = []
        self._of: Song | None = None
        self._making = False
        session.changed.connect(self._on_session_changed)
        running.ended.connect(self._on_ended)
        running.failed.connect(self._on_failed)

    def open(self) -> None:
        """Show the window, in front of the others."""
        song = self._session.view.song
        if song is None:
            return
        if self.window is None:
            folder = Path(song.media.path).parent / FOLDER
            shoot, view = self._session.whole, self._session.view
            window = KitWindow(self._theme, shoot, view, song, folder, self._over)
            self.window = window
            window.destroyed.connect(self._on_gone)
            window.make_wanted.connect(self.make)
            window.stop_wanted.connect(self.stop)
            window.add_wanted.connect(self.add_given)
            window.folder_wanted.connect(self._choose_folder)
            window.note_wanted.connect(self._set_note)
            window.remove_wanted.connect(self._remove)
            window.pieces_wanted.connect(self._show_pieces)
            window.show_making(self._making)
        self.window.show()
        self.window.raise_()
        self.window.activateWindow()

    def make(self) -> None:
        """Make what the window lists."""
        song, window = self._session.view.song, self.window
        if song is None or window is None or not window.plans or self._making:
            return
        folder = Path(os.path.expanduser(window.folder.text().strip()))  # noqa: PTH111  (never raises)
        if not window.folder.text().strip() or not folder.is_absolute():
            window.say("Choose a folder to write to.", warm=True)
            return
        self._made, self._of, self._making = [], song, True
        plans, loudness = tuple(window.plans), window.choices.loudness_lufs
        guard, tasks = guard_of(self._session.whole), self._tasks
        window.say("")
        window.show_making(True)

        def progress(fraction: float, words: str) -> None:
            if self.window is not None:
                self.window.bar.setValue(round(1000 * fraction))

        self._running.start(
            SLOT,
            "Making playback files",
            lambda ticket: _make(song, plans, folder, guard, loudness, tasks, ticket),
            lambda told: self._say(told),
            report=self._made.append,
            progress=progress,
            failing="Not all playback files were made.",
        )

    def stop(self) -> None:
        """Stop; files that are whole stay, and are known to the shoot."""
        self._running.stop()

    def add_given(self) -> None:
        """Add a file that was played on set: how songs run through it is found first."""
        path = self._dialogs.choose_playback()
        if path is None:
            return
        songs, tasks = self._session.whole.songs, self._tasks
        self._say(f"Finding the song in {path.name}…")

        def work(ticket: Ticket) -> FoundPieces:
            return tasks.playback_pieces(
                songs, path, stop=ticket.stop, progress=ticket.progress, in_subprocess=True
            )

        self._running.start(
            GIVEN,
            f"Finding the song in {path.name}",
            work,
            lambda found: self._add(found, songs),
            failing=f"{path.name} was not added.",
        )

    def _add(self, told: FoundPieces, songs: Sequence[Song]) -> None:
        found = told.playback
        if self._session.whole.songs[: len(songs)] != tuple(songs):
            self._say("The songs have changed meanwhile: add the file again.")
            return
        self._session.apply("Add Playback File", add_playbacks(self._session.whole, [found]), ORIGIN)
        name = Path(found.media.path).name
        if found.note:
            self._say(f"Added {name}; {found.note}.{' See Pieces.' if told.doubtful else ''}")
        else:
            self._say(f"Added {name}." if found.pieces else f"Added {name}, but no song was found in it.")

    def _choose_folder(self) -> None:
        folder = self._dialogs.choose_folder("Folder for playback files")
        if folder is not None and self.window is not None:
            self.window.folder.setText(str(folder))

    def _show_pieces(self, playback_id: str) -> None:
        if self.window is not None:
            self.pieces.open(playback_id, self.window)

    def _set_note(self, playback_id: str) -> None:
        one = next((one for one in self._session.whole.playbacks if one.id == playback_id), None)
        if one is None:
            return
        note = self._dialogs.ask_text("Note", "What this playback file is for:", one.note)
        if note is not None:
            self._session.apply("Change Note", set_note(self._session.whole, playback_id, note), ORIGIN)

    def _remove(self, playback_id: str) -> None:
        edit = remove_playback(self._session.whole, [playback_id])
        self._session.apply("Remove Playback File", edit, ORIGIN)

    def _on_ended(self, slot: str) -> None:
        if slot != SLOT or not self._making:
            return
        self._making = False
        song = self._session.view.song
        if self.window is not None:
            self.window.show_making(False)
        same = song is not None and self._of is not None and song.media.same_content(self._of.media)
        if self._made and same:
            made = [one.playback for one in self._made]
            self._session.apply("Add Playback Files", add_playbacks(self._session.whole, made), ORIGIN)
        count = len(self._made)
        self._say(
            f"{'1 file is' if count == 1 else f'{count} files are'} whole." if count else "Nothing was made."
        )

    def _on_failed(self, slot: str, sentence: str) -> None:
        if slot in (SLOT, GIVEN) and self.window is not None:
            self.window.say(sentence, warm=True)

    def _say(self, sentence: str) -> None:
        if self.window is not None:
            self.window.say(sentence)

    def _on_session_changed(self, change: Change, origin: str) -> None:
        window, song = self.window, self._session.view.song
        if window is None or not change:
            return
        if song is None or song.id != window.song_id or origin == "open":
            window.close()
        else:
            window.show_shoot(self._session.whole, self._session.view, song)

    def _on_gone(self) -> None:
        self.window = None


def _make(
    song: Song,
    plans: Sequence[Planned],
    folder: Path,
    guard: Guard,
    loudness_lufs: float | None,
    tasks: Tasks,
    ticket: Ticket,
) -> str:
    """Make files and their list; gives a sentence on what came of it. The list tells of whole files only."""
    made: list[MadeFile] = []
    folder.mkdir(parents=True, exist_ok=True)
    try:
        for one in tasks.make_files(
            song,
            with_paths(plans, folder),
            guard,
            loudness_lufs=loudness_lufs,
            stop=ticket.stop,
            progress=ticket.progress,
        ):
            made.append(one)
            ticket.report(one)
    finally:
        if made:
            write_list(folder / LIST_NAME, made, guard)
    return f"Wrote {'1 file' if len(made) == 1 else f'{len(made)} files'} and a list to {folder}."
