"""The slate page of the window: opened from the places, driven by keys, painted with the screen's refreshes.

A code says the song time in the middle of the refresh with which it appears. What is painted now appears
`LATE` refreshes later on average: a screen draws its next picture up to a refresh later, and most desktops
collect pictures for one refresh before. Nobody tells a program more than that. See
`audio.pictures.slate_code`.
"""

import time
from collections.abc import Callable
from fractions import Fraction

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtWidgets import QWidget

from app.engine.slate_showing import code_rows, stay
from app.model.document.change import Change
from app.model.kit.played import Played, played_for
from app.model.set_advice.camera_rates import TIMELINE_RATES, camera_rate, known_timeline_rate
from app.model.timebase import rate_words
from app.window.parts.actions import Action, ActionTable, Line
from app.window.playing.player import Player
from app.window.playing.sound_out import Out
from app.window.session import Session
from app.window.slate.slate_actions import slate_actions
from app.window.slate.slate_page import SlatePage, SlateWords
from app.window.slate.slate_sound import SlateSound
from app.window.slate.slate_take import SlateTake, State, TakeNumbers

LATE = 1.0
"""Refreshes from painting to appearing: half a one to the next, and half a chance of a desktop's one more."""
FLASH_S = 0.1
"""Longer than two frames at 24 a second."""
USUAL_REFRESH = 60.0
QUIETLY = "Start quietly and turn it up slowly."
KEYS = (
    "Film this page while the song plays: three seconds are enough.\n\n"
    "Space   start or stop\n"
    "Enter   start by hand, with another device\n"
    "N   next take\n"
    "← →   section to start from\n"
    "↑ ↓   playback file\n"
    "F   frame rate of the timeline\n"
    "Ctrl+↑ ↓   volume\n"
    "Esc   end\n\n" + QUIETLY
)


class Slate(QObject):
    """At most one page at a time; take numbers live as long as this."""

    def __init__(
        self,
        session: Session,
        player: Player,
        over: QWidget | None = None,
        *,
        out: Out | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """``over`` is the window that it belongs to."""
        super().__init__(over)
        self._session, self._player, self._over = session, player, over
        self._out, self._clock = out, clock
        self.numbers = TakeNumbers({})
        self._timeline: Fraction | None = None
        self.page: SlatePage | None = None
        self.take: SlateTake | None = None
        self._sound: SlateSound | None = None
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.tick)
        self._begun_s, self._next_code = 0.0, 0
        self._flash_ends_s: float | None = None
        self._flashed = False
        session.changed.connect(self._on_session_changed)

    @property
    def refresh(self) -> float:
        """Pictures a second of the screen that the page is on."""
        rate = self.page.screen().refreshRate() if self.page is not None else 0.0
        return rate if rate >= 20 else USUAL_REFRESH

    @property
    def timeline(self) -> Fraction | None:
        """The timeline's rate: as chosen here, or as clips tell it; None where nobody knows."""
        return self._timeline or known_timeline_rate(self._session.view)

    def open(self) -> None:
        """Show the page on all of the screen; what the window plays stops."""
        song = self._session.view.song
        if song is None:
            return
        self._player.pause()
        if self.page is None:
            self._sound = SlateSound(self._player.jobs, self, out=self._out)
            self._sound.changed.connect(self._on_sound)
            self._sound.set_volume(self._player.volume_db)
            self.take = SlateTake(song, self._sound, self.numbers, self._clock)
            self.take.choose(played_for(self._session.view)[0])
            self.page = SlatePage(self._over)
            self.page.setToolTip(KEYS)
            self.page.installEventFilter(self)
            self.action_table = ActionTable(self.page, slate_actions(self))
            # A window system that knows no full screen gives it the screen's size at least.
            self.page.setGeometry((self._over or self.page).screen().geometry())
        self._say()
        self.page.showFullScreen()
        self.page.raise_()
        self.page.activateWindow()
        self.page.setFocus()

    def line(self) -> Line:
        """What opens it, for the table of a place."""
        tip = "Fill the screen with a slate to be filmed: take number, running song time and its code"
        return Line("", Action("Slate Page", "Shift+K", tip, self.open, name="slate"))

    # What can be done on the page, as `slate_actions` tells it.

    def toggle(self) -> None:
        if self.take is None:
            return
        if self.take.running:
            self._stop()
        else:
            self.take.start()
            self._run()

    def start_by_hand(self) -> None:
        if self.take is not None and not self.take.running:
            self.take.start_by_hand()
            self._run()

    def next_take(self, step: int) -> None:
        if self.take is not None:
            self._stop()
            self.take.count(step)
            self._say()

    def next_section(self, step: int) -> None:
        if self.take is not None:
            self.take.next_section(step)
            self._say()

    def next_file(self, step: int) -> None:
        if self.take is None or self.take.running or self.take.played is None:
            return
        files = played_for(self._session.view)
        at = next((n for n, one in enumerate(files) if one == self.take.played), 0)
        self.take.choose(files[max(0, min(len(files) - 1, at + step))])
        self._say()

    def next_rate(self) -> None:
        now = self.timeline
        at = TIMELINE_RATES.index(now) + 1 if now in TIMELINE_RATES else 0
        self._timeline = TIMELINE_RATES[at % len(TIMELINE_RATES)]
        self._say()

    def turn(self, decibels: float) -> None:
        self._player.set_volume(self._player.volume_db + decibels)
        if self._sound is not None:
            self._sound.set_volume(self._player.volume_db)
        self._say()

    def end(self) -> None:
        """Stop, and close the page."""
        self._stop()
        if self._sound is not None:
            self._sound.close()
            self._sound.deleteLater()
        page, self.page, self.take, self._sound = self.page, None, None, None
        if page is not None:
            page.removeEventFilter(self)
            page.close()
            page.deleteLater()
        if self._over is not None:
            self._over.activateWindow()

    def tick(self) -> None:
        """Paint what this refresh changes, and come again with the next one."""
        page, take = self.page, self.take
        if page is None or take is None or not take.running:
            return
        if take.over:
            self._stop()
            return
        number = int((self._clock() - self._begun_s) * self.refresh + 0.5)
        song_s = take.song_s()
        if song_s is None:
            page.show_code(None)
        else:
            if number >= self._next_code:
                self._next_code = number + stay(self.refresh)
                self._show_code(page, take)
            page.show_time(running_words(song_s))
            self._flash(page, take, song_s)
        due_s = self._begun_s + (number + 1) / self.refresh - self._clock()
        self._timer.start(max(0, round(due_s * 1000)))

    def _show_code(self, page: SlatePage, take: SlateTake) -> None:
        song_s = take.song_s()
        assert take.played is not None
        if song_s is None:
            return
        appears_s = song_s + float(take.played.speed) * (LATE + 0.5) / self.refresh
        by_hand = take.state is State.BY_HAND
        try:
            modules = code_rows(take.song, appears_s, take.played.speed, take.number, by_hand=by_hand)
        except ValueError:
            page.show_code(None)  # too long a song, or too many takes, for a code
        else:
            page.show_code(modules)

    def _flash(self, page: SlatePage, take: SlateTake, song_s: float) -> None:
        beat_s, now_s = take.first_beat_s, self._clock()
        ahead_s = float(take.played.speed if take.played is not None else 1) * (LATE + 0.5) / self.refresh
        if beat_s is not None and not self._flashed and song_s + ahead_s >= beat_s:
            self._flashed, self._flash_ends_s = True, now_s + FLASH_S
            page.show_flash(True)
        elif self._flash_ends_s is not None and now_s >= self._flash_ends_s:
            self._flash_ends_s = None
            page.show_flash(False)

    def _run(self) -> None:
        if self.take is None or not self.take.running:
            self._say()
            return
        self._begun_s, self._next_code = self._clock(), 0
        self._flashed, self._flash_ends_s = False, None
        self._say()
        self.tick()

    def _stop(self) -> None:
        self._timer.stop()
        if self.take is not None:
            self.take.stop()
        if self.page is not None:
            self.page.show_code(None)
            self.page.show_flash(False)
        self._say()

    def _say(self) -> None:
        page, take = self.page, self.take
        if page is None or take is None or take.played is None or self._sound is None:
            return
        rate = self.timeline
        reading = "" if self._sound.ready or self._sound.trouble else f"Reading {take.played.name}…"
        foot = self._sound.trouble or reading
        song = take.song
        words = SlateWords(
            title=song.called,
            where=take.where,
            take=f"Take {take.number}",
            settings=settings_words(
                take.played, None if rate is None else rate_words(camera_rate(rate, take.played.speed))
            ),
            flash=_flash_words(take),
            foot=foot
            or ("" if take.running else f"Volume {self._player.volume_db:.0f} dB".replace("-", "−")),
            help="" if take.running else KEYS,
        )
        page.show_words(words)
        if not take.running:
            page.show_time("")

    def _on_sound(self) -> None:
        if self.take is not None and self._sound is not None and self._sound.trouble:
            self._stop()
        self._say()

    def _on_session_changed(self, change: Change, origin: str) -> None:
        song = self._session.view.song
        if self.take is not None and (song is None or song.id != self.take.song.id):
            self.end()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.page and event.type() == QEvent.Type.Close:
            QTimer.singleShot(0, self, self.end)
        return False


def running_words(song_s: float) -> str:
    """A song time that runs, to the tenth of a second.

    >>> running_words(83.96), running_words(-1.25)
    ('1:23.9', '−0:01.3')
    """
    tenths = int(song_s * 10 // 1)
    sign, tenths = ("−", -tenths) if tenths < 0 else ("", tenths)
    return f"{sign}{tenths // 600}:{tenths // 10 % 60:02}.{tenths % 10}"


def settings_words(played: Played, rate: str | None) -> str:
    """The speed, and what to set the cameras to.

    >>> from fractions import Fraction
    >>> song = Played("a.wav", "/a.wav", 60.0, Fraction(1001, 400), (), False)
    >>> settings_words(song, "60").splitlines()
    ['Speed 250.25 %', 'Camera 60 fps']
    """
    percent = f"{float(played.speed) * 100:.2f}".rstrip("0").rstrip(".")
    camera = "Same frame rate on every camera" if rate is None else f"Camera {rate} fps"
    return f"Speed {percent} %\n{camera}"


def _flash_words(take: SlateTake) -> str:
    if take.state is State.BY_HAND:
        return "Started by hand: check the sync"
    return "First beat" if take.first_beat_s is not None else "No beats known: no flash"
