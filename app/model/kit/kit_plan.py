"""The playback files of one kit: every start at every speed, each once, numbered in their order."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import product

from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.kit.planned import Planned, planned
from app.model.kit.wish import Wish


@dataclass(frozen=True, slots=True)
class KitWish:
    """What somebody wants of a song."""

    whole: bool = True
    """The song from its beginning."""
    section_ids: Sequence[str] = ()
    """Sections to begin with, besides."""
    speeds: Sequence[Fraction] = (Fraction(1),)
    usual: Wish = field(default_factory=Wish)
    """What all files have in common; a lead-in, an end and a kept pitch only where they mean something."""


def kit_plan(shoot: Shoot, song: Song, wish: KitWish) -> list[Planned]:
    """The files, in their order. Raises ValueError with a sentence where one cannot be made.

    A start that gives the same stretch of the song as one before it is left out, such as a first section that
    begins with the song. Without bars there is no count-in and no lead-in.
    """
    out: list[Planned] = []
    heard = set()
    has_bars = bool(song.map.bars_s)
    starts = [*([""] if wish.whole else []), *dict.fromkeys(wish.section_ids)]
    for speed, section_id in product(dict.fromkeys(wish.speeds), starts):
        one = replace(
            wish.usual,
            section_id=section_id,
            count_in_bars=wish.usual.count_in_bars if has_bars else 0,
            lead_in_bars=wish.usual.lead_in_bars if section_id and has_bars else 0,
            to_section_end=bool(section_id) and wish.usual.to_section_end,
            speed=speed,
            pitch_kept=wish.usual.pitch_kept and speed != 1,
        )
        plan = planned(one, song, hour=_hour(shoot, song.id, out, own_speed=speed == 1))
        stretch = (plan.song_from, plan.song_to, plan.speed)
        if stretch in heard:
            continue
        heard.add(stretch)
        out.append(replace(plan, name=f"{len(out) + 1:02} {plan.name}"))
    return out


def _hour(shoot: Shoot, song_id: str, before: Sequence[Planned], *, own_speed: bool) -> int:
    """The hour of timecode for a new playback file, beside those of the shoot and of this kit ``before`` it.

    All files at the song's own speed have that of the song, its number in the shoot, so that labels tell song
    time. Others have one of their own from 10 on, so that a label names its file; after 23 they begin again.
    """
    if own_speed:
        return next(number for number, song in enumerate(shoot.songs, 1) if song.id == song_id) % 10 or 10
    codes = [*(one.timecode for one in shoot.playbacks), *(one.timecode for one in before)]
    taken = {code.label[:2] for code in codes if code is not None}
    return next((hour for hour in range(10, 24) if f"{hour:02}" not in taken), 10)
