"""The slate page on a stage: a device and a clock that go when a test says so, a song, and a faster file."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QImage

from app.model.document.change import NOTHING
from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.shoot import Shoot
from app.model.edits.shoot_edits import set_song
from app.window.jobs import Jobs
from app.window.playing.player import Player
from app.window.session import Session
from app.window.slate.slate import Slate
from app.window.slate.slate_page import SlatePage
from app.window.slate.slate_take import SlateTake
from audio.pictures.code_reader import codes_in
from audio.pictures.slate_code import SlateCode
from tests.app.window.made_playing import MadeUpDevice, noise_shoot
from tests.app.window.made_up import MadeUpTasks

SPEED = Fraction(1001, 400)
DIGEST = "9f3c01aa55"


class Stage:
    """A slate whose device and clock go as the test says."""

    def __init__(self, session: Session, jobs: Jobs, wait: Callable[[Callable[[], bool]], None]) -> None:
        """``wait`` waits until something is so."""
        self.device, self.now_s = MadeUpDevice(), 0.0
        player = Player(session, MadeUpTasks(), jobs, session, out=MadeUpDevice())
        self.slate = Slate(session, player, out=self.device, clock=lambda: self.now_s)
        self.slate.setParent(session)
        self.slate.open()
        # On the test's screen a page of any size will do; keys go to it.
        self.page.showNormal()
        self.page.resize(960, 540)
        wait(self.is_ready)

    def is_ready(self) -> bool:
        """Whether what is to be played was read."""
        return self.slate._sound is not None and self.slate._sound.ready

    @property
    def page(self) -> SlatePage:
        assert self.slate.page is not None
        return self.slate.page

    @property
    def take(self) -> SlateTake:
        assert self.slate.take is not None
        return self.slate.take

    def go(self, seconds: float) -> None:
        self.device.go(seconds)
        self.now_s += seconds
        self.slate.tick()

    def picture(self) -> NDArray[np.uint8]:
        image = self.page.grab().toImage().convertToFormat(QImage.Format.Format_Grayscale8)
        rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
        return rows[:, : image.width()].copy()

    def code(self) -> SlateCode | None:
        found = codes_in(self.picture())
        return found[0][0] if found else None


def slate_session(folder: Path) -> Session:
    """A song of 8 s, and a playback file of it that begins after 2 s, at another speed."""
    view, _ = noise_shoot(folder)
    assert view.song is not None
    media = replace(view.song.media, digest=DIGEST)
    bars = replace(view.song.map, bars_s=(0.5, 2.5, 4.5, 6.5))
    shoot, _ = set_song(Shoot("Noise"), replace(view.song, media=media, map=bars))
    song = shoot.song()
    assert song is not None
    piece = PlaybackPiece(song.id, 2.0, 2.0 + 8.0 / float(SPEED), 0.0, float(SPEED))
    other = replace(media, path=str(folder / "clip.mov"))
    fast = PlaybackFile("playback-2", other, 5.5, (piece,), made=True, note="at 60 fps")
    other_song = PlaybackFile(
        "playback-1", MediaRef("/x.wav", 1, "x"), 5.0, (replace(piece, song_id="song-9"),)
    )
    made = Session()
    made.find_out(lambda _: (replace(shoot, playbacks=(other_song, fast)), ~NOTHING), "test")
    return made
