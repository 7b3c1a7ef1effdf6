"""Which song is in hand, where a shoot has several: a list in the column of places."""

from PySide6.QtWidgets import QWidget

from app.model.document.change import Change
from app.model.song_names import song_names
from app.window.parts.drop_down import DropDown
from app.window.parts.theme import Theme
from app.window.session import Session


class SongSwitch(DropDown):
    """The songs of the shoot; hidden where there is only one."""

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(theme, parent)
        self._session = session
        self.setAccessibleName("Song in hand")
        self.setSizeAdjustPolicy(DropDown.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.activated.connect(self._chosen)
        session.changed.connect(self._on_session_changed)
        self.refresh()

    def refresh(self) -> None:
        """Show the songs as they are."""
        songs, here = self._session.songs, self._session.view.song
        called = song_names(songs)
        names = list(called.values())
        if names != [self.itemText(number) for number in range(self.count())]:
            self.clear()
            self.addItems(names)
        if here is not None:
            self.setCurrentIndex(next(n for n, song in enumerate(songs) if song.id == here.id))
            self.setToolTip(
                f"Song, Plan, Check, Score and Hand-off show {called[here.id]}. "
                "Next song: Ctrl+Page Down; previous: Ctrl+Page Up."
            )
        self.setVisible(len(songs) > 1)

    def step(self, by: int) -> None:
        """Take the next song in hand, or the one before; at the ends the list begins again."""
        songs, here = self._session.songs, self._session.view.song
        if here is not None and len(songs) > 1:
            number = next(n for n, song in enumerate(songs) if song.id == here.id)
            self._session.take_song(songs[(number + by) % len(songs)].id)

    def _chosen(self, number: int) -> None:
        self._session.take_song(self._session.songs[number].id)

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if change & Change.SONG:
            self.refresh()
