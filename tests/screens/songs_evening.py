"""An evening with three songs in one heap, in a real window: ``python -m tests.screens.songs_evening [OUT]``.

The sample song and two composed ones are dropped with one heap of clips: those of the sample, clips of its
pictures with another song as their sound, and one in which the camera rolled through two songs. Every clip
must tell its song; songs are switched, a doubt is looked at and decided, all songs are handed off. With a
folder as argument pictures are put there. Ends with 0 when all was as it should be.
"""

import argparse
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import av
import numpy as np
import soundfile
from numpy.typing import NDArray
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QComboBox, QDialog, QLineEdit, QTableView, QWidget

from app.model.document.decisions import Decision
from app.window.frame.main_window import MainWindow
from app.window.frame.preferences import Preferences
from app.window.handoff.handoff_place import SLOT as HAND_OFF
from tests.quality import damage
from tests.quality.clock import play
from tests.quality.songs import WORK_RATE, Song, composed
from tests.screens.faint import SAMPLE
from tests.screens.first_evening import answering, say, start
from tests.screens.walking import click, control, drop, press, type_text, wait, wait_until

SIZES = ((2560, 1440), (1280, 720))
FIRST, NIGHT, KITE = "Six o'clock ferry", "Night boat", "Red kite"
PICTURES = ("bass/O0009.MP4", "drums/P0230.MP4", "fiddle/G0017.MOV", "accordion/B0003.MP4")
"""Clips of the sample whose pictures the other songs' clips show."""
CAMERAS = ("A001/A001C0{}.MOV", "B001/B001C0{}.MOV", "C001/C001C0{}.MOV", "D001/D001C0{}.MOV")


def main() -> int:
    """Walk; gives the exit status."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("out", type=Path, nargs="?", help="folder for pictures")
    chosen = parser.parse_args()
    if chosen.out is not None:
        chosen.out.mkdir(parents=True, exist_ok=True)
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["ANGLEBOOK_CACHE"] = name  # nothing is known from earlier runs
        songs, heap, truth = evening_of(folder / "Evening")
        window = start(folder)
        walk(window, songs, heap, truth, Shots(window, chosen.out, ""))
        saved = folder / "Evening" / "Friday.anglebook"
        window.session.save(saved)  # so that closing asks nothing
        window.close()
        if chosen.out is not None:
            in_large_type(folder, saved, chosen.out)
    return 0


def in_large_type(folder: Path, saved: Path, out: Path) -> None:
    """Pictures of the places at 150 % text."""
    settings = QSettings(str(folder / "settings.ini"), QSettings.Format.IniFormat)
    settings.setValue("window/text size", 150)
    settings.sync()
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    Preferences(settings).take_effect(app)
    window = start(folder)
    window.take_in([saved])
    wait_until(lambda: placed(window))
    shots = Shots(window, out, "-150")
    for number, name in ((1, "clips"), (5, "score"), (4, "check"), (6, "handoff"), (3, "plan")):
        press(f"Ctrl+{number}")
        wait(1500)
        shots.take(name)
    window.close()


class Shots:
    """Pictures of the window, light and dark, where somebody wants them."""

    def __init__(self, window: MainWindow, out: Path | None, text: str) -> None:
        self._window, self._out, self._text = window, out, text

    def take(self, name: str, of: QWidget | None = None) -> None:
        """Take one of each colour scheme."""
        if self._out is None:
            return
        for width, height in SIZES:
            self._window.resize(width, height)
            for scheme in ("dark", "light"):
                self._window.action_table[scheme].trigger()
                wait(700)
                (of or self._window).grab().save(str(self._out / f"{name}-{width}{self._text}-{scheme}.png"))


def walk(
    window: MainWindow, songs: Sequence[Path], heap: Path, truth: dict[str, set[str]], shots: Shots
) -> None:
    """From the drop to the hand-off of all songs."""
    begun = time.monotonic()
    answering(lambda asked: asked_songs(asked, shots))
    drop(window, window.places[0], [*songs, heap])
    wait_until(lambda: len(window.session.songs) == 3 and placed(window), 1500)
    press("Ctrl+T")  # looking at pictures is another walk's business
    wait_until(lambda: not window.running.doing, 60)
    say(f"2 actions: three songs, {len(window.session.view.clips)} clips, {time.monotonic() - begun:.0f} s")
    found: dict[str, set[str]] = {}
    for view in window.session.views:
        for clip in view.clips:
            if clip.takes and view.song is not None:
                found.setdefault(Path(clip.media.path).name, set()).add(view.song.called)
    wrong = {name: found.get(name) for name, own in truth.items() if found.get(name) != own}
    assert not wrong, wrong
    assert all(own == {FIRST} for name, own in found.items() if name not in truth), found
    say("every clip tells its song")
    shots.take("1-clips")

    for number in range(3):
        press("Ctrl+5")
        wait(1200)
        shots.take(f"2-score-{number}")
        press("Ctrl+PgDown")
    assert window.session.view.song is not None
    assert window.session.view.song.called == FIRST

    press("Ctrl+4")
    press("D")
    wait(1500)
    shots.take("3-check")
    before = decided(window)
    press("Return")
    wait_until(lambda: decided(window) == before + 1, 10)
    say("a doubt is decided")

    press("Ctrl+6")
    wait(500)
    press("Alt+8")
    press("Down")
    assert control(window, "Songs to hand off", QComboBox).currentText().startswith("All 3 songs")
    click(control(window, "Folder for the hand-off", QLineEdit))
    press("Ctrl+A")
    edit = heap.parent / "edit"
    type_text(str(edit))
    wait_until(lambda: window.handoff.action_table["write"].isEnabled(), 30)
    wait(1000)
    shots.take("4-handoff-before")
    press("Ctrl+Return")
    wait_until(lambda: not window.jobs.busy(HAND_OFF) and any(edit.rglob("*.csv")), 120)
    wait(500)
    shots.take("5-handoff-done")
    names = sorted(path.name for path in edit.rglob("*.otio"))
    assert names == sorted({f"{song.stem}.otio" for song in songs}), names
    assert sorted(path.name for path in edit.iterdir()) == sorted(song.stem for song in songs)
    say("all songs are handed off, each in its folder")
    press("Ctrl+1")
    control(window, "Clips", QTableView)


def asked_songs(asked: QWidget, shots: Shots) -> None:
    """The first answer: what lies beside the folder are songs."""
    assert isinstance(asked, QDialog)
    shots.take("0-asked", asked)
    press("Return")


def placed(window: MainWindow) -> bool:
    """Whether all that came is placed."""
    clips = window.session.everywhere.clips
    busy = any(window.jobs.busy(slot) for slot in ("find", "song", "place"))
    return bool(clips) and not busy and not window.work.waiting


def decided(window: MainWindow) -> int:
    """How many takes a person decided."""
    takes = [take for clip in window.session.view.clips for take in clip.takes]
    return sum(take.decision is not Decision.COMPUTED for take in takes)


def evening_of(folder: Path) -> tuple[list[Path], Path, dict[str, set[str]]]:
    """The files of the evening: three songs, one heap, and which songs the clips that are not the sample's
    have."""
    heap = folder / "heap"
    shutil.copytree(SAMPLE / "clips", heap)
    songs = [folder / f"{FIRST}.ogg", folder / f"{NIGHT}.wav", folder / f"{KITE}.wav"]
    shutil.copyfile(SAMPLE / "song.ogg", songs[0])
    made = {NIGHT: composed("pop", 41, short=True), KITE: composed("rock", 7, short=True)}
    for path in songs[1:]:
        soundfile.write(path, made[path.stem].room_feed, WORK_RATE, subtype="PCM_24")
    truth: dict[str, set[str]] = {}
    rng = np.random.default_rng(5)
    for number, (name, song) in enumerate(made.items(), 1):
        for at, (pictures, camera) in enumerate(zip(PICTURES, CAMERAS, strict=True)):
            path = heap / camera.format(number)
            length_s = min(song.seconds - 8.0 * at, 40.0)
            wave = heard(song, 6.0 * at - 2.0, length_s, rng)
            dressed(path, SAMPLE / "clips" / pictures, wave)
            truth[path.name] = {name}
    through = heap / "E001/E001C01.MOV"
    wave = np.concatenate([heard(made[NIGHT], 30.0, 16.0, rng), heard(made[KITE], 20.0, 16.0, rng)])
    dressed(through, SAMPLE / "clips" / PICTURES[0], wave)
    truth[through.name] = {NIGHT, KITE}
    return songs, heap, truth


def heard(song: Song, from_s: float, length_s: float, rng: np.random.Generator) -> NDArray[np.float32]:
    """What a camera's microphone hears of a song under noise; shape (n,) at WORK_RATE."""
    wave = play(song.room_feed.astype(np.float64), from_s, 1.0, round(length_s * WORK_RATE))
    noise = damage.at_level(damage.pink(len(wave), rng), damage.rms(wave), -12)
    return np.clip(0.5 * (wave + noise), -0.99, 0.99).astype(np.float32)


def dressed(path: Path, pictures: Path, wave: NDArray[np.float32]) -> None:
    """Write a clip with the pictures of another, over and over, and a sound of its own."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with av.open(str(pictures)) as source, av.open(str(path), "w") as out:
        shown = source.streams.video[0]
        video = out.add_stream("libx264", rate=shown.average_rate)
        video.width, video.height, video.pix_fmt = shown.width, shown.height, "yuv420p"
        video.options = {"preset": "ultrafast", "crf": "28"}
        sound = out.add_stream("pcm_s16le", rate=WORK_RATE)
        rate = shown.average_rate
        assert rate is not None
        wanted = int(len(wave) / WORK_RATE * rate)
        frames = [frame.reformat(format="yuv420p") for frame in source.decode(video=0)][:wanted]
        for number in range(wanted):
            frame = frames[number % len(frames)]
            frame.pts, frame.time_base = number, 1 / rate
            out.mux(video.encode(frame))
        out.mux(video.encode(None))
        block = av.AudioFrame.from_ndarray((wave * 32767).astype(np.int16)[None], format="s16", layout="mono")
        block.sample_rate = WORK_RATE
        out.mux(sound.encode(block))
        out.mux(sound.encode(None))


if __name__ == "__main__":
    sys.exit(main())
