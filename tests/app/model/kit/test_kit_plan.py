"""All files of one kit: each stretch once, in order, with hours of their own."""

from fractions import Fraction

from app.model.document.shoot import Shoot
from app.model.edits.shoot_edits import set_song
from app.model.kit.kit_plan import KitWish, kit_plan
from app.model.kit.wish import Wish
from tests.app.model.kit.test_planned import SONG


def test_files_are_numbered_and_the_first_section_is_not_made_twice() -> None:
    shoot, _ = set_song(Shoot(), SONG)
    song = shoot.song()
    assert song is not None
    usual = Wish(count_in_bars=2, lead_in_bars=4, pitch_kept=True, timecode=True)
    wish = KitWish(section_ids=("s1", "s2"), speeds=(Fraction(1), Fraction(2)), usual=usual)
    plans = kit_plan(shoot, song, wish)
    assert [plan.name.split(" ")[0] for plan in plans] == ["01", "02", "03", "04"]
    assert [plan.song_from for plan in plans] == [0, 9 * 48_000] * 2
    assert [plan.speed for plan in plans] == [1, 1, 2, 2]
    assert [plan.pitch_kept for plan in plans] == [False, False, True, True]
    assert [plan.timecode.label[:2] for plan in plans if plan.timecode] == ["01", "01", "10", "11"]
    # Without the whole song the first section is made, and where it ends early it is another stretch.
    only = kit_plan(shoot, song, KitWish(whole=False, section_ids=("s1", "s2"), usual=usual))
    assert [plan.song_from for plan in only] == [0, 9 * 48_000]
    ends = KitWish(section_ids=("s1",), usual=Wish(to_section_end=True))
    assert [plan.song_to for plan in kit_plan(shoot, song, ends)] == [62 * 48_000, 19 * 48_000]
