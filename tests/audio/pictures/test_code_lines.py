"""Lines from codes read, without a camera: which speed, which offset, which codes are passed over."""

from fractions import Fraction

import numpy as np
import pytest

from audio.pictures.code_lines import code_lines
from audio.pictures.code_reader import FrameRead
from audio.pictures.slate_code import SlateCode

SONG = "0123ABCD"
STAY_S = 13 / 60


def reads(
    camera: Fraction,
    file: Fraction,
    playback: Fraction = Fraction(1),
    *,
    song_s: float = 30.0,
    begins_s: float = 0.5,
    length_s: float = 4.0,
    take: int = 1,
    song: str = SONG,
) -> list[FrameRead]:
    """What frames read of a page whose codes appear every STAY_S real seconds; times in the camera's clip."""
    out = []
    for number in range(int((begins_s + length_s) * camera)):
        real_s = (number + 0.5) / float(camera) - begins_s
        code = None
        if real_s >= 0:
            told_s = song_s + float(playback) * STAY_S * int(real_s / STAY_S)
            code = SlateCode(song, round(1000 * told_s), playback, take)
        out.append(FrameRead(float(number / file), code))
    return out


@pytest.mark.parametrize(
    ("camera", "file", "playback", "exact"),
    [
        (Fraction(24), Fraction(24), Fraction(1), Fraction(1)),
        (Fraction(25), Fraction(25), Fraction(1), Fraction(1)),
        (Fraction(30000, 1001), Fraction(30000, 1001), Fraction(1), Fraction(1)),
        (Fraction(120), Fraction(120), Fraction(1), Fraction(1)),
        (Fraction(120), Fraction(24), Fraction(1), Fraction(1, 5)),
        (Fraction(120), Fraction(24), Fraction(5), Fraction(1)),
        (Fraction(60), Fraction(24000, 1001), Fraction(1001, 400), Fraction(1)),
        (Fraction(50), Fraction(25), Fraction(3, 2), Fraction(3, 4)),
    ],
)
def test_speed_is_exact_and_the_offset_within_a_quarter_of_a_frame(
    camera: Fraction, file: Fraction, playback: Fraction, exact: Fraction
) -> None:
    (line,) = code_lines(reads(camera, file, playback), SONG, file)
    assert (line.exact, line.sure) == (exact, True)
    clip_s = float(Fraction(1, 2) * camera / file)
    frame_s = float(playback / camera)
    assert line.line.song_time(clip_s) == pytest.approx(30.0, abs=0.25 * frame_s + 0.001)
    assert line.half_width_s >= abs(line.line.song_time(clip_s) - 30.0)


def test_codes_of_another_song_are_left_out() -> None:
    seen = reads(Fraction(25), Fraction(25), song="FFFF0000")
    assert code_lines(seen, SONG, Fraction(25)) == ()


def test_a_code_that_stands_still_is_no_line() -> None:
    code = SlateCode(SONG, 0, Fraction(1), 1)
    seen = [FrameRead(number / 25, code) for number in range(100)]
    assert code_lines(seen, SONG, Fraction(25)) == ()


def test_few_changes_are_not_sure() -> None:
    (line,) = code_lines(reads(Fraction(25), Fraction(25), length_s=0.8), SONG, Fraction(25))
    assert line.changes == 3
    assert not line.sure


def test_wrong_reads_are_passed_over() -> None:
    rng = np.random.default_rng(5)
    seen = reads(Fraction(25), Fraction(25))
    for number in rng.choice(np.arange(20, len(seen)), 3, replace=False):
        wrong = SlateCode(SONG, int(rng.integers(0, 200_000)), Fraction(1), 1)
        seen[number] = FrameRead(seen[number].clip_s, wrong)
    (line,) = code_lines(seen, SONG, Fraction(25))
    assert line.line.song_time(0.5) == pytest.approx(30.0, abs=0.011)
    assert line.changes >= 12


def test_codes_without_order_are_never_sure() -> None:
    rng = np.random.default_rng(7)
    times = rng.integers(0, 240_000, 20)
    seen = [FrameRead(n / 25, SlateCode(SONG, int(times[n // 5]), Fraction(1), 1)) for n in range(100)]
    assert not any(line.sure for line in code_lines(seen, SONG, Fraction(25)))


def test_a_page_started_over_makes_a_line_each() -> None:
    first = reads(Fraction(25), Fraction(25), take=4)
    second = reads(Fraction(25), Fraction(25), take=4, song_s=5.0)
    again = [FrameRead(read.clip_s + 10, read.code) for read in second]
    lines = code_lines(first + again, SONG, Fraction(25))
    assert [round(line.line.song_time(line.first_s)) for line in lines] == [30, 5]
    assert all(line.sure for line in lines)


def test_a_wish_for_a_rate_that_no_camera_has_is_told() -> None:
    seen = [FrameRead(read.clip_s * 1.037, read.code) for read in reads(Fraction(25), Fraction(25))]
    (line,) = code_lines(seen, SONG, Fraction(25))
    assert line.exact is None
    assert not line.sure
    assert line.line.speed == pytest.approx(1 / 1.037, rel=0.01)


def test_the_other_family_of_rates_stays_possible_until_codes_tell() -> None:
    short = code_lines(reads(Fraction(120), Fraction(24), length_s=2.0), SONG, Fraction(24))[0]
    assert short.exact == Fraction(1, 5)
    assert len(short.speeds) == 2
    long = code_lines(reads(Fraction(120), Fraction(24), length_s=60.0), SONG, Fraction(24))[0]
    assert long.speeds == (0.2,)


def test_another_rate_that_a_short_slate_allows_is_not_left_out() -> None:
    """Shot at 25, shown at 24: 1.5 s do not tell that from 24, and 4 % would be ten seconds off in a take."""
    (short,) = code_lines(reads(Fraction(25), Fraction(24), length_s=1.5), SONG, Fraction(24))
    assert {1.0, 0.96} <= set(short.speeds)
    assert short.uncertainty_s(200.0) > 5
    (longer,) = code_lines(reads(Fraction(25), Fraction(24), length_s=3.0), SONG, Fraction(24))
    assert longer.speeds == (0.96,)
