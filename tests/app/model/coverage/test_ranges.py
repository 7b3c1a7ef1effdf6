"""What shows a range of bars."""

from app.model.coverage.coverage import coverage
from app.model.coverage.ranges import RangeCoverage, range_coverage
from app.model.coverage.thinness import Thin
from app.model.document.angle import Angle
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from tests.app.random_shoots import clip, shoot, take

ANGLES = (Angle("angle-1", "Fiddle"), Angle("angle-2", "Drums"), Angle("angle-3", "Wide", safety=True))


def evening() -> SongView:
    """Bars of 2 s: the fiddle has bars 1 to 4, the drums 3 to 6, the safety 1 to 8, a doubt 5 and 6."""
    return shoot(
        clip(1, take("fiddle", 0, 8), angle="angle-1"),
        clip(2, take("drums", 4, 12), angle="angle-2"),
        clip(3, take("wide", 0, 16), angle="angle-3"),
        clip(4, take("doubt", 8, 12, verdict=Verdict.DOUBTFUL), angle="angle-1", verdict=Verdict.DOUBTFUL),
        angles=ANGLES,
    )


def found(first: int, last: int) -> RangeCoverage:
    value = evening()
    result = range_coverage(value, coverage(value), first, last)
    assert result is not None
    return result


def test_takes_of_a_range_are_told_whole_or_in_part() -> None:
    part = found(2, 5)
    assert {one.take_id: (one.bars, one.wholly) for one in part.takes} == {
        "fiddle": ((2, 3, 4), False),
        "drums": ((3, 4, 5), False),
        "wide": ((2, 3, 4, 5), True),
    }
    assert part.whole_angles == {"angle-3"}
    assert part.doubtful == ("doubt",)
    assert (part.least, part.most) == (2, 3)
    assert (part.start_s, part.end_s) == (2.0, 10.0)


def test_bars_with_nothing_and_with_the_safety_only_are_told_apart() -> None:
    part = found(5, 10)
    assert part.thin == {Thin.NOTHING: (9, 10), Thin.SAFETY_ONLY: (7, 8)}
    assert part.least == 0


def test_a_range_may_be_named_from_either_end_and_must_be_there() -> None:
    assert found(5, 2) == found(2, 5)
    value = evening()
    assert range_coverage(value, coverage(value), 90, 95) is None
