"""What can be used of takes: against cases by hand, and against a count in steps of a millisecond."""

import random
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from app.model.coverage.coverage import coverage
from app.model.coverage.usable import longest_with_one_angle, usable_bars, usable_takes
from app.model.document.angle import Angle
from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.document.plan import Plan
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.song_map.bar_spans import bar_spans
from tests.app.random_shoots import clip, shoot, take, waltz


def mark(start_s: float, end_s: float, kind: MarkKind = MarkKind.FAULT, **more: object) -> Mark:
    return Mark("m", "clip-1", kind, start_s, end_s, FaultReason.FOCUS, **more)  # type: ignore[arg-type]


def usable(one: Clip, plan: Plan | None = None) -> list[tuple[float, float]]:
    (found,) = usable_takes(replace(shoot(one), plan=plan or Plan()))
    return [*found.usable]


def test_faults_are_taken_out_on_the_clips_clock() -> None:
    late = Take("t", 10.0, 30.0, 4.0, speed=0.5)  # song 4 to 14 s
    marks = (mark(0.0, 12.0), mark(20.0, 22.0), mark(21.0, 24.0), mark(90.0, 95.0))
    assert usable(clip(1, late, marks=marks)) == [(5.0, 9.0), (11.0, 14.0)]


def test_only_what_a_person_set_counts() -> None:
    marks = (
        mark(2.0, 4.0, state=MarkState.PROPOSED, by="pictures"),
        mark(6.0, 8.0, state=MarkState.DISMISSED, by="pictures"),
        mark(9.0, 10.0, MarkKind.KEEPER),
    )
    (one,) = usable_takes(shoot(clip(1, take("t", 0, 24), marks=marks)))
    assert (one.usable, one.keepers) == (((0.0, 24.0),), ((9.0, 10.0),))


def test_a_fault_in_a_keeper_is_no_keeper() -> None:
    marks = (mark(2.0, 8.0, MarkKind.KEEPER), mark(3.0, 4.0))
    (one,) = usable_takes(shoot(clip(1, take("t", 0, 24), marks=marks)))
    assert one.keepers == ((2.0, 3.0), (4.0, 8.0))


def test_a_handle_is_in_the_clips_frames_and_not_asked_for_at_the_songs_ends() -> None:
    plan = Plan(handle_frames=25)
    whole = clip(1, take("t", 0, 24), marks=(mark(10.0, 12.0),))
    assert usable(whole, plan) == [(0.0, 9.0), (13.0, 24.0)]
    assert usable(clip(1, take("t", 2, 20), rate=Fraction(50)), plan) == [(2.5, 19.5)]
    assert usable(clip(1, take("t", 2, 3.9)), plan) == []


def test_a_bar_is_usable_in_one_piece_or_not_at_all() -> None:
    song = waltz()
    bars = bar_spans(song)
    (one,) = usable_takes(shoot(clip(1, take("t", 0, 24), marks=(mark(5.0, 5.1), mark(9.9, 10.1)))))
    # The first fault cuts bar 3 in two halves; the second takes a twentieth off bars 5 and 6.
    assert [bars[n].number for n in usable_bars(one, bars)] == [1, 2, 4, 5, 6, 7, 8, 9, 10, 11, 12]


def test_spoilt_bars_are_thin() -> None:
    wide = clip(2, take("w", 0, 24), angle="angle-2")
    fiddle = clip(1, take("f", 0, 24), marks=(mark(8.0, 14.0),))
    angles = (Angle("angle-1", "Fiddle"), Angle("angle-2", "Wide", safety=True))
    sections = coverage(shoot(fiddle, wide, angles=angles))
    assert [place.words for part in sections for place in part.thin] == ["bars 5–7: safety only"]
    assert [bar.depth for bar in sections[1].bars] == [2] * 8
    assert [bar.usable_depth for bar in sections[1].bars] == [1, 1, 1, 2, 2, 2, 2, 2]


@pytest.mark.parametrize("seed", range(40))
def test_depth_and_longest_lonely_stretch_against_a_count_per_millisecond(seed: int) -> None:
    view = random_view(seed)
    assert view.song is not None
    bars = bar_spans(view.song)
    shown = {angle.id: np.zeros(24_000, bool) for angle in view.angles}
    depth = dict.fromkeys(range(len(bars)), 0)
    for one in view.clips:
        for held in one.takes:
            row = np.zeros(24_000, bool)
            row[ms(held.song_start_s) : ms(held.song_end_s)] = True
            for fault in one.marks:
                row[ms(held.song_time(fault.clip_start_s)) : ms(held.song_time(fault.clip_end_s))] = False
            if held.verdict is Verdict.PLACED:
                shown[one.angle_id] |= row
                for n, bar in enumerate(bars):
                    depth[n] += longest_run(row[ms(bar.start_s) : ms(bar.end_s)]) >= 1800
    sections = coverage(view)
    assert [bar.usable_depth for part in sections for bar in part.bars] == [*depth.values()]
    many = np.sum([*shown.values()], axis=0)
    runs = {name: longest_run(row & (many == 1)) for name, row in shown.items()}
    found = longest_with_one_angle(usable_takes(view))
    if found is None:
        assert not any(runs.values())
    else:
        assert ms(found.end_s) - ms(found.start_s) == max(runs.values()) == runs[found.angle_id]


def random_view(seed: int) -> SongView:
    """Takes and faults on whole tenths of a second, at speed 1."""
    draw = random.Random(seed)
    clips = []
    for number in range(draw.randint(1, 5)):
        start = draw.randint(0, 180) / 10
        end = draw.randint(int(start * 10) + 10, 240) / 10
        verdict = draw.choice((Verdict.PLACED, Verdict.PLACED, Verdict.DOUBTFUL))
        marks = tuple(
            replace(mark(low / 10, low / 10 + draw.randint(1, 30) / 10), clip_id=f"clip-{number}")
            for low in (draw.randint(0, 200) for _ in range(draw.randint(0, 3)))
        )
        angle = f"angle-{draw.randint(1, 3)}"
        clips.append(clip(number, take(f"t{number}", start, end, verdict=verdict), angle=angle, marks=marks))
    return shoot(*clips, angles=tuple(Angle(f"angle-{n}", f"Angle {n}", n == 3) for n in (1, 2, 3)))


def ms(seconds: float) -> int:
    return max(0, round(seconds * 1000))


def longest_run(row: "np.ndarray[tuple[int], np.dtype[np.bool_]]") -> int:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], row, [False])).astype(int)))
    return int(max(edges[1::2] - edges[::2], default=0))
