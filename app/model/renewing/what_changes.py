"""What a new master changes in a shoot, in words: takes, sections, marks, plan, first pass."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePath

from app.model.document.marks import MarkState
from app.model.document.masters import Left
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.on_song import Clip, SongView, Take, shared_s
from app.model.renewing.carried_reasons import BY_CODE, ELSEWHERE, HERE, NOT_HEARD, NOT_YET, WAS_CUT
from app.model.renewing.carried_takes import LEAST_S


@dataclass(frozen=True, slots=True)
class Row:
    """One kind of thing, and what becomes of it."""

    what: str
    """Its name, such as ``Takes``."""
    said: str
    """What becomes of it, in a sentence or two."""
    named: tuple[str, ...] = ()
    """What has no place any more, or is split, one by one."""

    @property
    def loses(self) -> bool:
        """Whether something of it has no place any more."""
        return bool(self.named)


def what_changes(before: SongView, after: SongView, left: Sequence[Left]) -> tuple[Row, ...]:
    """What becomes of a shoot; ``left`` is what has no place on the new master.

    ``before`` and ``after`` are the shoot on the old master and on the new one, before anything is heard.
    """
    rows = [_takes(before, after, left), _marks(before, after)]
    if before.song is not None and after.song is not None:
        rows += [_sections(before.song, after.song, left), _lyrics(before.song, left)]
    rows += [_plan(before, left), _first_pass(before, left), _playbacks(before)]
    return tuple(row for row in rows if row.said)


def left_rows(left: Sequence[Left]) -> tuple[Row, ...]:
    """What had no place on the next master, by its kind."""
    kinds = dict.fromkeys(one.kind for one in left)
    return tuple(
        Row(_PLURALS[kind], "Without a place:", tuple(_named(one) for one in left if one.kind == kind))
        for kind in kinds
    )


def heard_words(view: SongView) -> str:
    """How the takes stand that were carried over to the song; empty where none was, or all is long done."""
    codes = Counter(take.reason.code for clip in view.clips for take in clip.takes)
    waiting, here, by_code = codes[NOT_YET], codes[HERE], codes[BY_CODE]
    elsewhere, silent = codes[ELSEWHERE], codes[NOT_HEARD]
    whole = waiting + here + by_code + elsewhere + silent
    if not whole:
        return ""
    parts = [f"{here} heard where they were carried to"]
    parts += [f"{by_code} by the code on the slate"] if by_code else []
    parts += [f"{elsewhere} heard elsewhere"] if elsewhere else []
    parts += [f"{silent} not heard"] if silent else []
    parts += [f"{waiting} still to be heard"] if waiting else []
    alike = codes[WAS_CUT]
    also = f" {_count(alike, 'part')} that lay on what was cut sound like another place." if alike else ""
    look = f"{also} Look at those in doubt in Check." if elsewhere or silent or alike else ""
    return f"{_count(whole, 'take')} carried over: {', '.join(parts)}.{look}"


_PLURALS = {
    "take": "Takes",
    "section": "Sections",
    "need": "Needs",
    "set-up": "Set-ups",
    "lock": "Locks of the first pass",
    "lyric": "Lyrics",
    "beat": "Beats and edges set by hand",
    "metre": "Metres",
}


def _takes(before: SongView, after: SongView, left: Sequence[Left]) -> Row:
    now = {clip.id: clip for clip in after.clips}
    fates: Counter[str] = Counter()
    named: list[str] = []
    for clip in before.clips:
        for take in clip.takes:
            fate = _fate(take, now.get(clip.id))
            fates[fate] += 1
            if fate not in ("kept", "gone"):
                named.append(f"{PurePath(clip.media.path).name}: {fate}")
    whole = sum(fates.values())
    if not whole:
        return Row("Takes", "")
    gone = [_named(one) for one in left if one.kind == "take"]
    parts = [f"{fates['kept']} kept whole"]
    split = sum(number for fate, number in fates.items() if fate.startswith("split"))
    parts += [f"{split} split"] if split else []
    parts += [f"{fates['shortened']} shortened"] if fates["shortened"] else []
    parts += [f"{fates['gone']} without a place"] if fates["gone"] else []
    said = f"{_count(whole, 'take')}: {', '.join(parts)}. All are checked by sound afterwards."
    return Row("Takes", said, (*named, *(f"no place for {one}" for one in gone)))


def _fate(take: Take, clip: Clip | None) -> str:
    shares = [shared_s(one, take) for one in (clip.takes if clip is not None else ())]
    shares = [one for one in shares if one > LEAST_S / 2]
    if not shares:
        return "gone"
    if len(shares) > 1:
        return f"split into {len(shares)}"
    return "kept" if sum(shares) > take.clip_end_s - take.clip_start_s - LEAST_S else "shortened"


def _marks(before: SongView, after: SongView) -> Row:
    marks = [(clip.id, mark) for clip in before.clips for mark in clip.marks if mark.state is MarkState.SET]
    if not marks:
        return Row("Marks", "")
    takes = {clip.id: clip.takes for clip in after.clips}
    had = {clip.id: clip.takes for clip in before.clips}
    out = [
        one
        for clip_id, one in marks
        if any(shared_s(take, one) > 0 for take in had[clip_id])
        and not any(shared_s(take, one) > 0 for take in takes.get(clip_id, ()))
    ]
    said = f"All {_count(len(marks), 'mark')} stay on their clips."
    if out:
        said += f" {len(out)} of them lie outside of all takes now."
    return Row("Marks", said)


def _sections(old: Song, new: Song, left: Sequence[Left]) -> Row:
    before = {one.id for one in old.map.sections}
    if not before:
        return Row("Sections", "")
    now = [one.id for one in new.map.sections]
    parts = [f"{len(before & set(now))} kept"]
    more = sum(one not in before for one in now)
    parts += [f"{more} new or repeated"] if more else []
    gone = _of("section", left)
    parts += [f"{len(gone)} without a place"] if gone else []
    return Row("Sections", f"{', '.join(parts)}. Bars and what was set by hand move along.", gone)


def _lyrics(old: Song, left: Sequence[Left]) -> Row:
    gone = _of("lyric", left)
    return _kept("Lyrics", "line", len(old.lyrics), gone)


def _plan(before: SongView, left: Sequence[Left]) -> Row:
    gone = (*_of("need", left), *_of("set-up", left))
    count = len(before.plan.needs) + len(before.plan.set_ups)
    return _kept("Plan", "need or set-up", count, gone, "needs and set-ups")


def _first_pass(before: SongView, left: Sequence[Left]) -> Row:
    gone = _of("lock", left)
    row = _kept("First pass", "lock", len(before.cut.locks), gone)
    versions = len(before.cut.versions)
    if not versions:
        return row
    again = f"{_count(versions, 'version')} cut again from the carried takes."
    return Row("First pass", f"{row.said} {again}".strip(), gone)


def _playbacks(before: SongView) -> Row:
    own = "" if before.song is None else before.song.id
    count = sum(any(piece.song_id == own for piece in one.pieces) for one in before.playbacks)
    said = f"{_count(count, 'file')} mapped to the new master." if count else ""
    return Row("Playback files", said)


def _kept(what: str, one: str, count: int, gone: Sequence[str], many: str | None = None) -> Row:
    if not count:
        return Row(what, "")
    kept = f"{_count(count - len(gone), one, many)} kept"
    return Row(what, f"{kept}, {len(gone)} without a place." if gone else f"{kept}.", tuple(gone))


def _of(kind: str, left: Sequence[Left]) -> tuple[str, ...]:
    return tuple(_named(one) for one in left if one.kind == kind)


def _named(one: Left) -> str:
    if one.old_start_s is None or one.kind == "lyric":
        return one.what
    end = "" if one.old_end_s is None else f"–{_clock(one.old_end_s)}"
    return f"{one.what} ({_clock(one.old_start_s)}{end} of the old master)"


def _clock(seconds: float) -> str:
    tenths = round(abs(seconds) * 10)
    return f"{tenths // 600}:{tenths % 600 / 10:04.1f}"


def _count(number: int, one: str, many: str | None = None) -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def unheard(shoot: Shoot) -> frozenset[str]:
    """Ids of the clips with takes that were carried over to a song and not heard on it since."""
    songs = {(song.id, song.media.digest) for song in shoot.songs}
    return frozenset(
        finding.clip_id
        for finding in shoot.findings
        if (finding.song_id, finding.song_digest) in songs
        and any(take.reason.code == NOT_YET for take in finding.takes)
    )
