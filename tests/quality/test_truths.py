"""The truth of kinds of clip that change more than one sample into another: stretched, cut, other mixes."""

import numpy as np
import pytest
from scipy import signal

from audio.files.channels import timecode_share
from tests.quality import damage
from tests.quality.bounds import faint_ends
from tests.quality.instruments import Wave
from tests.quality.kinds import KINDS
from tests.quality.kinds_of_mix import live_sounding
from tests.quality.scene import Example, Scene
from tests.quality.songs import ENGINE_RATE, WORK_RATE, SongKey, composed
from tests.quality.stretching import stretched
from tests.quality.studio import MORE_GUITAR, NO_VOICE, ROUGH
from tests.quality.test_simulator import EXACT_S, lag_s

ROCK = SongKey("rock", 1, short=True)


def _made(kind: str, strength: str, key: SongKey = ROCK) -> Example:
    scene = KINDS[kind].build(key.load(), key, strength, np.random.default_rng(4))
    assert scene is not None
    return scene.example()


def _envelopes(wave: Wave) -> Wave:
    bands = [
        signal.butter(2, edges, "band", fs=WORK_RATE, output="sos") for edges in ((300, 1200), (1200, 5000))
    ]
    slow = signal.butter(2, 25, fs=WORK_RATE, output="sos")
    return np.array([signal.sosfiltfilt(slow, signal.sosfiltfilt(band, wave) ** 2) for band in bands])


@pytest.mark.parametrize("speed", [0.75, 1.25, 2.0])
@pytest.mark.parametrize(("way", "within_s"), [("bins", 0.003), ("splices", 0.002)])
def test_stretched_sound_is_where_its_truth_says(speed: float, way: str, within_s: float) -> None:
    """Slow envelopes of noise that swells at random, held against the same envelopes along the true line."""
    rng = np.random.default_rng(3)
    n = 30 * WORK_RATE
    swell = np.interp(np.arange(n) / WORK_RATE, np.arange(302) / 10, rng.uniform(0, 1, 302) ** 3)
    source = (swell * rng.standard_normal(n)).astype(np.float32)
    first, count = WORK_RATE, int(27 * WORK_RATE / speed)
    out, off_s = stretched(source, first, speed, count, way)
    k = np.arange(WORK_RATE // 4, count - WORK_RATE // 4, 16)
    lags = np.arange(-0.012, 0.0121, 0.001)
    fit = np.zeros(len(lags))
    for here, there in zip(_envelopes(out), _envelopes(source), strict=True):
        for place, lag in enumerate(lags):
            along = np.interp(first + k * speed + (off_s + lag) * WORK_RATE, np.arange(n), there)
            fit[place] += np.corrcoef(along, here[k])[0, 1]
    assert abs(lags[int(np.argmax(fit))]) <= within_s, fit


def test_a_recorder_that_pauses_leaves_two_takes_that_touch() -> None:
    song = ROCK.load()
    scene = Scene(song, ROCK, 40.0, np.random.default_rng(1))
    scene.play(0.0, 10.0, 40.0)
    scene.hear(speaker=False)
    scene.pause_recorder(20.0, 5.0)
    one, two = scene.takes
    assert (one.clip_end_s, two.clip_start_s, two.clip_end_s) == (20.0, 20.0, 35.0)
    assert two.song_at(21.0) == pytest.approx(36.0)
    assert np.array_equal(scene.wave[21 * WORK_RATE :][:99], song.room_feed[36 * WORK_RATE :][:99])


def test_both_cameras_hear_the_moment_their_truths_say() -> None:
    clip = _made("two cameras", "garage-2m and garage-4m")
    assert clip.partner is not None
    master = ROCK.load().master
    for one in (clip, clip.partner):
        take, rate = one.takes[0], ENGINE_RATE
        first = int(np.ceil((take.clip_start_s + 30 - one.sound.start_s) * rate))
        told = take.song_at(one.sound.start_s + first / rate)
        heard = one.sound.samples[0, first : first + 4 * rate].astype(np.float64)
        begin = round(told * rate)
        found = -lag_s(heard, master[begin : begin + 4 * rate].astype(np.float64), rate)
        assert found == pytest.approx(told - begin / rate, abs=0.002)  # the room's reflections are in it
    assert clip.partner.takes[0].speed != 1.0


@pytest.mark.parametrize("mix", [ROUGH, NO_VOICE, MORE_GUITAR])
def test_other_mixes_are_the_same_recording_at_the_same_place(mix: str) -> None:
    master, other = ROCK.load().master, composed("rock", 1, short=True, mix=mix).master
    n = min(len(master), len(other))
    assert abs(lag_s(other[:n].astype(np.float64), master[:n].astype(np.float64), ENGINE_RATE)) < EXACT_S
    assert 0.2 < np.corrcoef(master[:n], other[:n])[0, 1] < 0.99


def test_a_master_made_live_stays_in_its_place() -> None:
    master = ROCK.load().master
    live = live_sounding(master, 12.0, np.random.default_rng(2))
    assert abs(lag_s(live.astype(np.float64), master.astype(np.float64), ENGINE_RATE)) < 20 * EXACT_S


def test_a_longer_head_moves_the_song() -> None:
    clip = _made("other head", "3.217")
    assert clip.master is not None
    head = len(clip.master) - len(ROCK.load().master)
    assert head == round(3.217 * ENGINE_RATE)
    assert np.array_equal(clip.master[head:], ROCK.load().master)
    assert clip.takes[0].song_start_s == pytest.approx(3.217)


def test_songs_have_the_faintness_and_the_silence_they_are_for() -> None:
    hush, pause = composed("hush", 1, short=True), composed("pause", 1, short=True)
    before, after = faint_ends(hush, 0.0, hush.seconds)
    assert 15 < before < 30
    assert after < 4
    assert faint_ends(hush, 30.0, 20.0) == (0.0, 0.0)
    assert faint_ends(hush, 3.0, 10.0) == (0.0, 0.0), "as soft all through: set against the noise as it is"
    quiet = np.flatnonzero(np.abs(pause.master) > 1e-3)
    assert np.max(np.diff(quiet)) > 5 * ENGINE_RATE


def test_timecode_is_known_for_what_it_is_and_left_out() -> None:
    """SMPTE ST 12-1: at 25 frames 2000 bits a second, crossings 0.5 ms apart in a stretch of zeros."""
    tone = damage.timecode(2 * WORK_RATE, 25, 3).astype(np.float32)
    assert timecode_share(tone, WORK_RATE) > 0.8
    assert _made("channels", "timecode").sound.labels == ("track 2, channel 1",)
    assert _made("channels", "one dead").sound.labels == ("track 2, channel 1",)
    assert len(_made("channels", "one opposite").sound.labels) == 2
