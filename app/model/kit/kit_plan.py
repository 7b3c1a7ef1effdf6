"""The playback files of one kit: every start at every speed, each once, numbered in their order."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import product

from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.edits.kit_edits import add_made, free_hour
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
    later = shoot
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
        plan = planned(one, song, hour=free_hour(later, song.id, own_speed=speed == 1))
        stretch = (plan.song_from, plan.song_to, plan.speed)
        if stretch in heard:
            continue
        heard.add(stretch)
        out.append(replace(plan, name=f"{len(out) + 1:02} {plan.name}"))
        # Known to the shoot before it is made, so that the next one gets another hour.
        stand_in = PlaybackFile("", MediaRef(f"/{len(out)}", 0, ""), 0.0, timecode=plan.timecode)
        later = add_made(later, [stand_in])[0]
    return out
