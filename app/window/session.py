"""The open shoot: its value, what can be undone, where it is kept, and one signal for every change.

One song is in hand at a time. Edits and views that name no song mean the first; so the shoot is handed out
with the song in hand first, and is put back into its own order when an edit comes home.
"""

import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path, PurePath

from PySide6.QtCore import QObject, Signal

from app.model.document import store
from app.model.document.change import NOTHING, Change
from app.model.document.history import History
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.store import SUFFIX
from app.model.edits.arrivals import arrive
from app.model.on_song import SongView
from app.model.songs_of_clips import everywhere, views_of

__all__ = ["EVERYTHING", "SUFFIX", "Session", "now"]

EVERYTHING = ~NOTHING
"""What may have changed when another shoot is opened: all of it."""


def now() -> str:
    """The time as decisions record it: UTC, ISO 8601 to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


class Session(QObject):
    """One shoot being worked on.

    ``changed(change, origin)`` is emitted after every change. ``origin`` names who caused it, so that a view
    can pass over its own. A change of nothing (``Change(0)``) tells that the shoot was saved or got another
    file.
    """

    changed = Signal(object, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._history = History(Shoot())
        self._viewed: Shoot | None = None
        self._view = SongView()
        self._all_viewed: Shoot | None = None
        self._views: tuple[SongView, ...] = ()
        self._everywhere = (self._view, self._view)
        """The view of the song in hand, and what `everywhere` made of it: asked for at every answer."""
        self._path: Path | None = None
        self._digest: str | None = None
        """Of the file as it was last read or written here."""
        self._song_id: str | None = None
        self._faced: tuple[Shoot, Shoot] = (self._history.shoot, self._history.shoot)
        """The shoot in its own order, and with the song in hand first."""

    @property
    def shoot(self) -> Shoot:
        """The shoot as it is now, the song in hand first: edits that name no song are about that one."""
        own = self._history.shoot
        if self._faced[0] is not own:
            self._faced = (own, _facing(own, self._song_id))
        return self._faced[1]

    @property
    def whole(self) -> Shoot:
        """The shoot as it is now, its songs in their own order: as it is saved."""
        return self._history.shoot

    @property
    def view(self) -> SongView:
        """The shoot as it stands on the song in hand."""
        shoot = self.shoot
        if self._viewed is not shoot:
            here = shoot.song()
            self._viewed = shoot
            self._view = next((one for one in self.views if here and one.song is here), self.views[0])
        return self._view

    @property
    def views(self) -> tuple[SongView, ...]:
        """The shoot as it stands on each of its songs, in its own order."""
        whole = self.whole
        if self._all_viewed is not whole:
            self._all_viewed, self._views = whole, views_of(whole)
        return self._views

    @property
    def everywhere(self) -> SongView:
        """Every clip as it stands on its own song (see `app.model.songs_of_clips`)."""
        if len(self.songs) < 2:
            return self.view
        if self._everywhere[0] is not self.view:
            self._everywhere = (self.view, everywhere(self.views, self.view))
        return self._everywhere[1]

    @property
    def songs(self) -> tuple[Song, ...]:
        """All songs, in the shoot's own order."""
        return self._history.shoot.songs

    def take_song(self, song_id: str) -> None:
        """Take another song in hand; no step. Raises KeyError for one that is not there."""
        self._history.shoot.song(song_id)
        if self.view.song is None or self.view.song.id != song_id:
            self._history.end_merge()
            self._song_id = song_id
            self._faced = (self._history.shoot, _facing(self._history.shoot, song_id))
            self.changed.emit(EVERYTHING, "song")

    @property
    def path(self) -> Path | None:
        """The file the shoot is kept in; None as long as it was never saved."""
        return self._path

    @property
    def modified(self) -> bool:
        """Whether the shoot differs from its file."""
        return self._history.modified

    @property
    def title(self) -> str:
        """What to call the shoot on screen."""
        return (self._path.stem if self._path else "") or self.shoot.name or "New shoot"

    @property
    def undo_label(self) -> str | None:
        """What would be undone."""
        return self._history.undo_label

    @property
    def redo_label(self) -> str | None:
        """What would be done again."""
        return self._history.redo_label

    def apply(
        self, label: str, edit_result: tuple[Shoot, Change], origin: str, merge_key: str | None = None
    ) -> bool:
        """Take over the result of an edit as a step that can be undone; tells whether anything changed."""
        shoot, change = edit_result
        if not change:
            return False
        shoot = _in_order(shoot, self._history.shoot)
        self._history.push(label, shoot, change, merge_key)
        self.changed.emit(change, origin)
        return True

    def find_out(self, edit: Callable[[Shoot], tuple[Shoot, Change]], origin: str) -> None:
        """Take over what the engine found out: no step of its own, and kept when earlier steps are undone."""

        def ordered(own: Shoot) -> tuple[Shoot, Change]:
            shoot, change = edit(_facing(own, self._song_id))
            return (_in_order(shoot, own), change) if change else (own, change)

        change = self._history.apply_everywhere(ordered)
        if change:
            self.changed.emit(change, origin)

    def arrive(self, files: Sequence[MediaRef], origin: str, root: PurePath) -> None:
        """Take in files that came by themselves: no step, and they stay whatever is undone or done again.

        ``root`` is the folder that they came to.
        """
        change = self._history.rewrite(lambda values, at: arrive(values, at, files, root))
        if change:
            self.changed.emit(change, origin)

    def undo(self) -> None:
        """Go back one step."""
        change = self._history.undo()
        if change:
            self.changed.emit(change, "undo")

    def redo(self) -> None:
        """Go forward one step."""
        change = self._history.redo()
        if change:
            self.changed.emit(change, "redo")

    def new(self) -> None:
        """Begin an empty shoot."""
        self._take(Shoot(), None, None)

    def open(self, path: Path, *, trust: bool = False) -> None:
        """Open a shoot file. Raises what the store raises; the shoot open before then stays.

        ``trust``: the person agreed to the files that it names outside its folder.
        """
        shoot, digest = store.load_with_digest(path, trust=trust)
        self._take(shoot, path, digest)

    def save(self, path: Path | None = None, *, over: bool = False) -> None:
        """Write the shoot to its file, or to another one which is its file from then on.

        Raises what the store raises: ChangedMeanwhile where somebody else saved the file since it was read
        here, unless ``over`` says that it may be written over.
        """
        target = path or self._path
        if target is None:
            raise ValueError("This shoot has no file yet. Choose one with Save As.")
        same = self._path is not None and os.path.realpath(target) == os.path.realpath(self._path)
        expected = self._digest if same and not over else None
        own = self._history.shoot
        self._digest = store.save(own, target, expected=expected)
        self._path = target
        self._history.mark_saved(own)
        self.changed.emit(NOTHING, "save")

    def _take(self, shoot: Shoot, path: Path | None, digest: str | None) -> None:
        self._history = History(shoot)
        self._path, self._digest = path, digest
        self._song_id = None
        self.changed.emit(EVERYTHING, "open")


def _facing(shoot: Shoot, song_id: str | None) -> Shoot:
    """The shoot with that song first; as it is where it has none of that id, or has it there already."""
    song = next((one for one in shoot.songs if one.id == song_id), None)
    if song is None or shoot.songs[0] is song:
        return shoot
    return replace(shoot, songs=(song, *(one for one in shoot.songs if one is not song)))


def _in_order(shoot: Shoot, before: Shoot) -> Shoot:
    """The shoot with its songs in the order they had before; new ones come last."""
    order = {song.id: number for number, song in enumerate(before.songs)}
    songs = tuple(sorted(shoot.songs, key=lambda song: order.get(song.id, len(order))))
    return shoot if songs == shoot.songs else replace(shoot, songs=songs)
