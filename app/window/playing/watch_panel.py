"""Pictures in step with the song: one angle, or up to nine."""

from functools import partial
from math import ceil
from typing import TYPE_CHECKING

from PySide6.QtCore import QElapsedTimer, Qt, QTimer
from PySide6.QtGui import QHideEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from app.engine import watching
from app.model import framing
from app.model.document.change import Change
from app.model.edits import take_settings
from app.model.first_pass.fixed_bars import shot_after, shot_at
from app.model.first_pass.result import FirstPass
from app.model.on_song import Clip, SongView, Take
from app.window.jobs import Jobs
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.actions import KeyLine
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.playing.player import Player
from app.window.playing.proxy_maker import ProxyMaker
from app.window.playing.seats import Seat, Seen, covering_takes, seats, seats_shown
from app.window.playing.watch_controls import WatchControls
from app.window.playing.watch_tile import Guide, WatchTile
from app.window.session import Session

if TYPE_CHECKING:
    from app.engine.watching import FramePrefetcher, FrameRequest

MOST = 9
STEP_MS = 16
HELD_MS = 700
"""Nudges that follow each other faster are one step to undo."""
ORIGIN = "watch"
NOTHING = "Nothing here now"
NEXT_S = 1.0
"""The picture after a cut is decoded so long before it, in seconds of the song."""


class WatchPanel(QWidget):
    """Shows what the chosen take, or every take that covers the moment, shows just now.

    Pictures are decoded by threads that run only while the panel is seen.
    """

    def __init__(
        self,
        player: Player,
        session: Session,
        theme: Theme,
        jobs: Jobs | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._player, self._session, self._theme = player, session, theme
        self.proxies = ProxyMaker(jobs or player.jobs, parent=self)
        self._watcher: FramePrefetcher | None = None
        self._seats: tuple[Seat, ...] = ()
        """All there are, of the shoot ``_seats_of``."""
        self._seats_of: SongView | None = None
        self._keys: tuple[tuple[str, int], ...] = ()
        """The seats on screen."""
        self._shown: tuple[tuple[str, Seen | None], ...] = ()
        """For each tile the angle's name and what is seen of it now."""
        self._cut: FirstPass | None = None
        """What is seen instead of the chosen take; see `follow`."""
        self._grips = 0
        """Every drag and every press of a key is a step of its own that can be undone."""
        self._nudged = QElapsedTimer()
        self.setAccessibleName("Pictures")
        # Of its own: several pictures side by side must not widen what is around them.
        self.setMinimumSize(round(theme.em() * 12), round(theme.em() * 8))
        self.controls = WatchControls(player, theme, self)
        self.tiles = [WatchTile(theme, self) for _ in range(MOST)]
        self._note = TextLabel(theme, size=looks.SMALL, role="dim")
        self._grid = QGridLayout()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(STEP_MS)
        self._timer.timeout.connect(self._step)
        self._arrange()
        self.controls.changed.connect(self._refresh)
        self.controls.nudged.connect(self._on_nudged)
        self.proxies.changed.connect(self._refresh)
        player.changed.connect(self._refresh)
        player.moved.connect(self._on_player_moved)
        session.changed.connect(self._on_session_changed)
        for tile in self.tiles:
            tile.chosen.connect(partial(self._on_tile_chosen, tile))
            tile.resized.connect(self._look)
            tile.gripped.connect(self._on_gripped)
            tile.dragged.connect(partial(self._on_tile_dragged, tile))

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._refresh()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._timer.stop()
        self.proxies.rest()
        watcher, self._watcher = self._watcher, None
        if watcher is not None:
            watcher.close()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place_tiles()
        self._look()

    @property
    def in_step(self) -> bool:
        """Whether every picture on screen is the one that its clip shows at the moment heard."""
        return all(
            not self._pending(tile) for tile in self.tiles if tile.take is not None and tile.isVisible()
        )

    def follow(self, cut: FirstPass | None) -> None:
        """Show the shots of a first pass, each while it lasts; None: the chosen take again."""
        if cut is not self._cut:
            self._cut = cut
            self._refresh()

    def key_lines(self) -> list[KeyLine]:
        """The keys of watching, for the page of keys."""
        return self.controls.action_table.page

    def _arrange(self) -> None:
        em = self._theme.em()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(round(em * 0.4))
        column.addWidget(self.controls)
        self._grid.setSpacing(round(em * 0.4))
        column.addLayout(self._grid, 1)
        column.addWidget(self._note)
        self._note.hide()

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if change:
            self._refresh()

    def _on_player_moved(self, song_s: float) -> None:
        if not self.isVisible():
            return
        if _ids(self._wanted()) != _ids(self._shown):
            self._refresh()
        else:
            self._look()

    def _refresh(self) -> None:
        """Show the takes that are to be seen now."""
        if not self.isVisible():
            return
        self._shown = self._wanted()
        for tile, (name, seen) in zip(self.tiles, self._shown, strict=False):
            if seen is None:
                tile.show_words(NOTHING, name)
                continue
            clip, take = seen
            marked = take.id == self._marked_id() and len(self._shown) > 1
            tile.show_take(clip, take, name, marked=marked)
            tile.set_guide(self._guide(clip, take))
        if not self._shown:
            self.tiles[0].show_words(self._why_none())
        self._place_tiles()
        self.proxies.want([seen[0] for _, seen in self._shown if seen is not None] + self._others())
        chosen = self._at_hand()
        self.controls.show_crop(None if chosen is None else self._guide(*chosen))
        self._tell()
        self._look()

    def _wanted(self) -> tuple[tuple[str, Seen | None], ...]:
        shoot, now = self._session.view, self._player.song_s
        chosen = self._player.found()
        if self._cut is not None and not self.controls.many:
            seen = self._at_hand()
            return () if seen is None else ((f"First pass · {shoot.angle(seen[0].angle_id).name}", seen),)
        if not self.controls.many or self._player.trying:
            if chosen is None:
                seen = next(iter(covering_takes(shoot, now)), None)
            else:
                seen = chosen if chosen[1].song_start_s <= now < chosen[1].song_end_s else None
            return () if seen is None else ((shoot.angle(seen[0].angle_id).name, seen),)
        if shoot is not self._seats_of:
            self._seats, self._seats_of = seats(shoot), shoot
        chosen_id = self._marked_id()
        shown = seats_shown(self._seats, now, self._keys, MOST, chosen_id)
        self._keys = tuple(seat.key for seat in shown)
        there = ((seat.angle.name, seat.at(now)) for seat in shown)
        return tuple(
            (name, chosen if chosen is not None and seen is not None and seen[1].id == chosen[1].id else seen)
            for name, seen in there
        )

    def _at_hand(self) -> Seen | None:
        """The take that is seen by itself: that of the first pass just now, or the chosen one."""
        if self._cut is None:
            return self._player.found()
        shot = shot_at(self._cut, self._player.position())
        return None if shot is None else self._player.found(shot.take_id)

    def _marked_id(self) -> str | None:
        """The take that stands out among several."""
        if self._cut is None:
            return self._player.take_id
        seen = self._at_hand()
        return None if seen is None else seen[1].id

    def _others(self) -> list[Clip]:
        """Clips that may be watched later."""
        return [clip for clip in self._session.view.clips if clip.takes]

    def _why_none(self) -> str:
        chosen = self._player.found()
        if self._cut is not None and not self.controls.many:
            return "The first pass has no picture here: nothing can be used."
        if chosen is not None and not self.controls.many:
            clip, take = chosen
            if clip.frame_rate is None:
                return f"{words.file_name(clip)} is sound only: there are no pictures."
            span = f"{words.song_time(take.song_start_s, 1)} to {words.song_time(take.song_end_s, 1)}"
            return f"This take does not cover this moment: it runs from {span} of the song."
        return "No take covers this moment of the song."

    def _guide(self, clip: Clip, take: Take) -> Guide | None:
        shape = self.controls.shape
        if shape is None or clip.width < 2 or clip.height < 2:
            return None
        at = take.settings
        crop = framing.crop(clip.width, clip.height, shape.ratio, at.shift_x, at.shift_y)
        return Guide(crop, self.controls.drawn)

    def _place_tiles(self) -> None:
        """Lay the tiles out so that the pictures are as large as can be."""
        count = max(1, len(self._shown))
        wide = max(1, self.width())
        high = max(1, self.height() - self.controls.height_for(self.width()))
        name = self.tiles[0].caption if self._shown else 0.0

        def size(columns: int) -> float:
            rows, apart = ceil(count / columns), self._grid.spacing()
            return min(
                (wide - (columns - 1) * apart) / columns / 16,
                ((high - (rows - 1) * apart) / rows - name) / 9,
            )

        columns = max(range(1, count + 1), key=size)
        for number, tile in enumerate(self.tiles):
            self._grid.removeWidget(tile)
            tile.setVisible(number < count)
            if number < count:
                self._grid.addWidget(tile, number // columns, number % columns)
        for number in range(MOST):
            self._grid.setColumnStretch(number, int(number < columns))
            self._grid.setRowStretch(number, int(number < ceil(count / columns)))

    def _look(self) -> None:
        """Show what is there and keep looking while something is to come."""
        if not self.isVisible():
            return
        self._show_now()
        if not self._timer.isActive() and (self._player.playing or not self.in_step):
            self._timer.start()

    def _step(self) -> None:
        """A moment later: cut where the first pass does."""
        if self._cut is not None and _ids(self._wanted()) != _ids(self._shown):
            self._refresh()
        else:
            self._show_now()

    def _show_now(self) -> None:
        now = self._player.position()
        wishes = []
        tiles = [tile for tile in self.tiles if tile.take is not None and tile.isVisible()]
        for tile in tiles:
            assert tile.clip is not None
            assert tile.take is not None
            path = self.proxies.path_of(tile.clip)
            clip_s = tile.take.clip_time(now)
            lines, running = tile.picture_height, self._player.playing
            wishes.append(watching.wish(tile.take.id, path, clip_s, lines, running=running))
        if self._watcher is None and wishes:
            self._watcher = watching.watcher()
        if self._watcher is not None:
            self._watcher.want([*wishes, *self._comes_next(now, {one.key for one in wishes})])
            for tile, wish in zip(tiles, wishes, strict=True):
                self._show(tile, self._watcher, wish)
        if not self._player.playing and self.in_step:
            self._timer.stop()

    def _comes_next(self, now: float, there: set[str]) -> "list[FrameRequest]":
        """The first pictures after the next cut, so that they are at hand when the cut comes."""
        shot = None if self._cut is None else shot_after(self._cut, now)
        found = None if shot is None else self._player.found(shot.take_id)
        if shot is None or found is None or shot.take_id in there or shot.song_start_s > now + NEXT_S:
            return []
        clip, take = found
        clip_s = take.clip_time(shot.song_start_s)
        lines = self.tiles[0].picture_height
        return [watching.wish(take.id, self.proxies.path_of(clip), clip_s, lines, running=True)]

    def _show(self, tile: WatchTile, watcher: "FramePrefetcher", wish: "FrameRequest") -> None:
        shown = watcher.picture(wish.key, wish.clip_s)
        if shown is not None:
            tile.set_picture(shown.picture)
        else:
            tile.say(watcher.trouble(wish.key) or "…")

    def _pending(self, tile: WatchTile) -> bool:
        """Whether a tile waits for its picture."""
        assert tile.take is not None
        if self._watcher is None or self._watcher.trouble(tile.take.id):
            return self._watcher is None
        shown = self._watcher.picture(tile.take.id, max(0.0, tile.take.clip_time(self._player.position())))
        if shown is None or shown.picture is not tile.shown_pixels:
            return True
        return bool(shown.picture.shape[0] != tile.picture_height)

    def _tell(self) -> None:
        notes = [self.proxies.words]
        shown = sum(seen is not None for _, seen in self._shown)
        more = len(covering_takes(self._session.view, self._player.song_s)) - shown
        if self.controls.many and more > 0:
            notes.insert(0, f"{words.count(more, 'more take covers', 'more takes cover')} this moment.")
        text = " ".join(filter(None, notes))
        self._note.setText(text)
        self._note.setVisible(bool(text))

    def _on_tile_chosen(self, tile: WatchTile) -> None:
        if tile.take is not None:
            self._player.choose(tile.take.id)

    def _on_tile_dragged(self, tile: WatchTile, x: float, y: float) -> None:
        if tile.take is not None:
            self._shift(tile.take.id, x, y)

    def _on_gripped(self) -> None:
        self._grips += 1

    def _on_nudged(self, x: float, y: float) -> None:
        """Move the guide of the take that is seen, or of the chosen one among several."""
        first = (seen for _, seen in self._shown if seen is not None)
        found = self._at_hand() or next(first, None)
        if found is not None:
            held = self._nudged.isValid() and self._nudged.elapsed() < HELD_MS
            self._nudged.start()
            self._grips += not held
            self._shift(found[1].id, x, y)

    def _shift(self, take_id: str, x: float, y: float) -> None:
        found = self._player.found(take_id)
        if found is None or all(one.id != take_id for one in found[0].takes):
            return  # nothing that is only tried has a guide
        take = found[1]
        at = take.settings
        edit = take_settings.shift_take(self._session.shoot, take_id, at.shift_x + x, at.shift_y + y)
        self._session.apply("Move Frame Guide", edit, ORIGIN, f"frame {take_id} {self._grips}")


def _ids(shown: tuple[tuple[str, Seen | None], ...]) -> list[tuple[str, str]]:
    """Which takes are seen, seat by seat."""
    return [(name, "" if seen is None else seen[1].id) for name, seen in shown]
