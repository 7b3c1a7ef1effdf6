"""The walk that listens: the window plays into a sound server of its own, and what arrives there is recorded.

The server is PulseAudio with a null sink, whose monitor is recorded by PulseAudio's own recorder. Left is the
song, right the take, and both are at the same moment of the song.
"""

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import correlate

from app.model.on_song import SongView
from app.window.playing.player import START_DB
from audio.files.media import read_song, read_sound
from tests.app.window.sample_truth import true_shoot

ROOT = Path(__file__).parents[2]
RATE = 48_000
TOOLS = ("pulseaudio", "parec", "pactl")
SERVER = """
load-module module-native-protocol-unix socket={socket} auth-anonymous=1
load-module module-null-sink sink_name=ear rate=48000 format=float32le channels=2
set-default-sink ear
"""
MOST_APART_S = 0.005
LISTENED_S = 3.0
ROOM_S = 10.0
"""So much more of song and clip than should be heard is searched: what is not there is not like it."""
MOST_TRIES = 4


@pytest.fixture
def sound_server(tmp_path: Path) -> Iterator[dict[str, str]]:
    """The environment in which a sound server of the test's own is the system's."""
    lacking = [tool for tool in TOOLS if shutil.which(tool) is None]
    if lacking:
        pytest.skip(f"needs PulseAudio to listen to what is played: {', '.join(lacking)} not found")
    socket, script = tmp_path / "pulse.sock", tmp_path / "server.pa"
    script.write_text(SERVER.format(socket=socket))
    environment = os.environ | {
        "HOME": str(tmp_path),
        "XDG_RUNTIME_DIR": str(tmp_path),
        "XDG_CACHE_HOME": str(tmp_path / "cache"),
        "PULSE_SERVER": f"unix:{socket}",
    }
    tmp_path.chmod(0o700)
    command = ["pulseaudio", "-n", "-F", str(script), "--exit-idle-time=-1", "--use-pid-file=false"]
    with (tmp_path / "server.log").open("w") as log:
        server = subprocess.Popen([*command, "--daemonize=no"], env=environment, stderr=log, stdout=log)
    try:
        for _ in range(100):
            if subprocess.run(["pactl", "info"], env=environment, capture_output=True).returncode == 0:
                break
            time.sleep(0.1)
        else:
            pytest.skip(f"PulseAudio does not start: {(tmp_path / 'server.log').read_text()[-500:]}")
        yield environment
    finally:
        server.terminate()
        server.wait(10)


def place_in(whole: NDArray[np.float32], part: NDArray[np.float32]) -> tuple[float, float]:
    """Where a stretch lies in a recording (in samples, between them by a parabola), and how like it is."""
    scores = correlate(whole.astype(np.float64), part.astype(np.float64), "valid", method="fft")
    at = int(np.argmax(scores))
    found = whole[at : at + len(part)]
    likeness = float(scores[at] / (np.linalg.norm(found) * np.linalg.norm(part)))
    if 0 < at < len(scores) - 1:
        before, top, after = scores[at - 1 : at + 2]
        return at + float(0.5 * (before - after) / (before - 2 * top + after)), likeness
    return float(at), likeness


def whole_second(song: NDArray[np.float32], heard: NDArray[np.float32]) -> NDArray[np.float32]:
    """The second of what was heard, shape (2, n), whose left side is most like the song.

    A machine with much else to do lets the sound server run dry now and then, which tears holes in others.
    """
    at, room = round(place_in(song, heard[:, 0])[0]), RATE // 50

    def likeness(start: int) -> float:
        near = song[max(0, at + start - room) : at + start + RATE + room]
        return place_in(near, heard[start : start + RATE, 0])[1]

    best = max(range(RATE // 4, len(heard) - 5 * RATE // 4, RATE // 4), key=likeness)
    return heard[best : best + RATE].T


def listen(
    environment: dict[str, str], take_id: str, out: Path
) -> tuple[NDArray[np.float32], dict[str, object]]:
    """Let the walk go while the monitor is recorded; the recording, shape (n, 2), and what the walk told."""
    form = ["--raw", "--format=float32le", "--rate=48000", "--channels=2", "--latency-msec=20"]
    with out.open("wb") as file:
        recorder = subprocess.Popen(["parec", "-d", "ear.monitor", *form], env=environment, stdout=file)
        try:
            walk = subprocess.run(
                [sys.executable, "-m", "tests.screens.listen_walk", take_id, str(LISTENED_S)],
                env=environment,
                cwd=ROOT,
                capture_output=True,
                text=True,
                timeout=180,
            )
        finally:
            recorder.terminate()
            recorder.wait(10)
    assert walk.returncode == 0, walk.stderr
    return np.fromfile(out, np.float32).reshape(-1, 2), json.loads(walk.stdout.splitlines()[-1])


def clip_of(shoot: SongView, take_id: str) -> Path:
    return next(Path(c.media.path) for c in shoot.clips if any(t.id == take_id for t in c.takes))


@pytest.mark.parametrize("take_id", ["B0004.MP4 1", "G0018.MOV 1"])
def test_left_is_the_song_and_right_the_take(
    sound_server: dict[str, str], tmp_path: Path, take_id: str
) -> None:
    """One clip drifts by 62 ppm; the sound of the other begins 0.4375 s after its picture."""
    shoot = true_shoot()
    assert shoot.song is not None
    song = read_song(Path(shoot.song.media.path), RATE)
    take = next(take for clip in shoot.clips for take in clip.takes if take.id == take_id)
    song_likeness = 0.0
    # On a machine with much else to do there may be no second without a hole: then listen again.
    for _ in range(MOST_TRIES):
        heard, told = listen(sound_server, take_id, tmp_path / "heard.raw")
        assert told["trouble"] == ""
        assert not told["playing"]
        assert told["said_s"] - told["start_s"] >= LISTENED_S  # type: ignore[operator]
        sounding = np.flatnonzero(np.abs(heard).max(axis=1) > 1e-4)
        assert len(sounding) > 2 * RATE, "two seconds at least came out"
        peak_db = 20 * np.log10(np.abs(heard).max())
        assert START_DB - 30 < peak_db <= START_DB, f"it starts quietly ({peak_db:.1f} dB)"
        first = round((told["start_s"] - ROOM_S) * RATE)  # type: ignore[operator]
        part = song[max(0, first) : round((told["said_s"] + ROOM_S) * RATE)]  # type: ignore[operator]
        left, right = whole_second(part, heard[sounding[0] : sounding[-1]])
        song_at, song_likeness = place_in(part, left)
        song_at += max(0, first)
        if song_likeness > 0.99:
            break
    assert song_likeness > 0.99
    sound = read_sound(clip_of(shoot, take_id), RATE)
    first = round((take.clip_time(song_at / RATE) - sound.start_s - ROOM_S) * RATE)
    clip_at, clip_likeness = place_in(
        sound.samples[0][max(0, first) : first + len(right) + round(2 * ROOM_S * RATE)], right
    )
    clip_at += max(0, first)
    # Less, for the sample's coder put noise of its own in place of noise, anew with every decoding.
    assert clip_likeness > 0.97
    apart_s = take.song_time(clip_at / RATE + sound.start_s) - song_at / RATE
    assert abs(apart_s) < MOST_APART_S, f"{apart_s * 1e3:.3f} ms"
    assert told["start_s"] - 0.1 < song_at / RATE < told["said_s"]  # type: ignore[operator]
