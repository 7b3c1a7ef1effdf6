"""Event lists, read with `edl` (package edl-reader) and checked by label with opentime and `timecode`."""

import csv
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import edl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from opentimelineio import opentime
from timecode import Timecode

from app.handoff.choices import DEFAULT, Choices, Doubtful, Drift
from app.handoff.event_list import edl_file
from app.handoff.event_list.edl_check import check, read_events
from app.handoff.event_list.edl_text import ascii_words, to_text
from app.handoff.event_list.source_labels import source_label
from app.handoff.layout import lay_out, start_frame
from app.handoff.outcome import HandoffError
from app.handoff.source_ids import source_ids
from app.model.document.angle import Angle
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.reasons import in_words
from tests.app.random_shoots import clip, media, sensible_shoots, shoot, take, waltz

LONG = waltz(180.0)
NTSC_30, NTSC_60 = Fraction(30000, 1001), Fraction(60000, 1001)
NAMES = {
    Fraction(24000, 1001): "23.98",
    Fraction(24): "24",
    Fraction(25): "25",
    NTSC_30: "29.97",
    Fraction(30): "30",
    Fraction(50): "50",
    NTSC_60: "59.94",
    Fraction(60): "60",
}


def lists(value: SongView, folder: Path, choices: Choices = DEFAULT) -> dict[str, str]:
    """The lists by file name."""
    list(edl_file.write(value, folder, "Evening", choices))
    return {path.name: path.read_bytes().decode("ascii") for path in sorted(folder.glob("*.edl"))}


def outside(text: str, rate: Fraction) -> "edl.List":
    """The list as another library reads it."""
    return edl.Parser(NAMES[rate]).parse(text.split("\r\n"))


def test_an_event_is_a_line_of_eight_words(tmp_path: Path) -> None:
    # 23:59:52:00 and 20 s are over midnight; 10.012 s is frame 250.3, laid on 250.
    value = shoot(clip(1, Take("t", 2.0, 22.0, 10.012), start_timecode="23:59:50:00"), song=LONG)
    (text,) = lists(value, tmp_path).values()
    lines = text.split("\r\n")
    assert lines[:2] == ["TITLE: Evening - Fiddle", "TIME_CODE_MODULUS: 25"]  # SMPTE ST 258 (stored texts)
    assert "001  CLIP01   V     C        23:59:52:00 00:00:12:00 01:00:10:00 01:00:30:00" in lines
    assert "* SUB-FRAME OFFSET +0.012000000 S: SONG TIME OF ITS FIRST FRAME, MINUS RECORD IN" in lines
    assert "\n" not in text.replace("\r\n", "")
    assert all(line.startswith(("TITLE", "TIME", "*", "001")) for line in lines[:-1])


def test_another_reader_finds_the_same_events(tmp_path: Path) -> None:
    value = shoot(
        clip(1, take("a", 0.0, 10.0), take("b", 30.0, 40.0), start_timecode="10:00:00:00"),
        clip(2, take("c", 12.0, 20.0)),
        song=LONG,
    )
    (text,) = lists(value, tmp_path).values()
    found = outside(text, Fraction(25))
    assert found.title == "Evening - Fiddle"
    assert [(e.num, e.reel, e.track, e.tr_code) for e in found.events] == [
        ("001", "CLIP01", "V", "C"), ("002", "CLIP02", "V", "C"), ("003", "CLIP01", "V", "C"),
    ]  # fmt: skip
    assert [str(e.rec_start_tc) for e in found.events] == ["01:00:00:00", "01:00:12:00", "01:00:30:00"]
    assert [str(e.src_start_tc) for e in found.events] == ["10:00:00:00", "00:00:00:00", "10:00:00:00"]
    for event in found.events:
        assert event.src_length() == event.rec_length()


def test_drop_frame_labels_have_a_semicolon_and_skip(tmp_path: Path) -> None:
    # 60 s of song at 29.97 are 1798 frames (1798.2): 01:00:59;28; the clip starts at a label that drops too.
    value = shoot(clip(1, Take("t", 0.0, 65.0, 0.0), rate=NTSC_30, start_timecode="00:09:59;28"), song=LONG)
    (text,) = lists(value, tmp_path, replace(DEFAULT, start="01:00:00;00")).values()
    (event,) = outside(text, NTSC_30).events
    assert (str(event.rec_start_tc), str(event.src_start_tc)) == ("01:00:00;00", "00:09:59;28")
    assert event.rec_end_tc.frame_number - event.rec_start_tc.frame_number == 1948
    assert event.src_end_tc.frame_number - event.src_start_tc.frame_number == 1948
    assert "01:01:05;00" in text  # 107892 + 1948 = 109840 = 01:01:05;00, worked by hand: 1948 + 2 = 65 * 30


@pytest.mark.parametrize("rate", NAMES)
def test_labels_are_those_of_two_other_libraries(rate: Fraction) -> None:
    one = Clip("c", media("/c.mov"), "", 90000.0, rate)
    drops = (False, True) if rate in (NTSC_30, NTSC_60) else (False,)
    for drop in drops:
        day = {False: 86400 * round(rate), True: 2589408 * round(rate) // 30}[drop]
        for frame in range(0, day, 99_991):  # a prime, so that seconds and minutes are met everywhere
            label, rest = source_label(one, rate, Fraction(frame), rate, drop)
            assert rest == 0
            assert label == opentime.RationalTime(frame, float(rate)).to_timecode(float(rate), drop)
            counted = Timecode(NAMES[rate], frames=frame + 1, force_non_drop_frame=not drop)
            assert label.replace(";", ":") == str(counted).replace(";", ":")


@pytest.mark.parametrize(
    ("rate", "start", "frame", "list_rate", "dropped", "label", "rest"),
    [
        ("50", "10:00:00:00", 127, "25", False, "10:00:02:13", "1/2"),
        ("24", "10:00:00:00", 25, "25", False, "10:00:01:01", "1/24"),
        ("25", None, 24, "24", False, "00:00:00:23", "1/25"),
        ("24000/1001", "01:00:00:23", 1, "24", False, "01:00:01:00", "0"),
        ("60000/1001", "00:00:59;58", 2, "30000/1001", True, "00:01:00;02", "0"),
        ("30000/1001", "00:00:59;29", 1, "25", False, "00:01:00:01", "2/3"),
        ("100", "10:00:00:00", 150, "25", False, "00:00:01:12", "1/2"),
    ],
)
def test_sources_of_other_rates_are_told_in_the_lists_count(
    rate: str, start: str | None, frame: int, list_rate: str, dropped: bool, label: str, rest: str
) -> None:
    one = Clip("c", media("/c.mov"), "", 900.0, Fraction(rate), start_timecode=start)
    told = source_label(one, Fraction(rate), Fraction(frame), Fraction(list_rate), dropped)
    assert told == (label, Fraction(rest))


def test_sound_in_a_drop_frame_list_counts_as_the_list_does(tmp_path: Path) -> None:
    # 60.1 s at 29.97 are 1801.2 frames: from frame 1802 on, its label after a minute that skips two.
    value = shoot(clip(1, Take("t", 60.1, 70.0, 20.0), rate=None), song=LONG)
    choices = Choices(rate=NTSC_30, start="01:00:00;00")
    (text,) = lists(value, tmp_path, choices).values()
    source_in = next(line for line in text.splitlines() if line.startswith("001  ")).split()[4]
    assert source_in == str(Timecode("29.97", frames=1803)) == "00:01:00;04"


def test_what_a_list_cannot_say_stands_in_notes_and_in_the_report(tmp_path: Path) -> None:
    value = shoot(
        clip(1, Take("slow", 0.0, 20.0, 10.0, 2.0)),
        clip(2, Take("fifty", 1.0, 21.0, 60.0), rate=Fraction(50)),
        clip(3, Take("off", 0.0, 60.0, 90.0, 1 + 400e-6)),
        song=LONG,
    )
    reports = list(edl_file.write(value, tmp_path, "Evening"))
    text = (tmp_path / "Evening - Fiddle.edl").read_bytes().decode()
    slow, fifty, off = read_events(text, Fraction(25))
    assert (slow.source_length, slow.record_length) == (500, 1000)
    assert slow.note("SPEED") == "2: SECONDS OF SONG PER SECOND OF SOURCE"
    assert (fifty.source_length, fifty.record_length) == (500, 500)
    assert str(fifty.note("RATE")).startswith(
        "50: SOURCE FRAMES PER SECOND; BEGINS WITH FRAME 50 FROM 0, 0.000"
    )
    assert off.note("DRIFT") == "+400.0 PPM: 0.60 SOURCE FRAME EARLY BY ITS END"
    lines = "\n".join(reports[0].lines)
    assert "clip_01.mov: plays at speed 2, which the list can only say in a note." in lines
    assert "Clips at 50 fps are counted at 25 in the list" in lines
    assert "clip_03.mov: drifts 24.0 ms (0.60 frame) early by the end; not corrected." in lines


def test_overlaps_sound_and_doubts_have_lists_of_their_own(tmp_path: Path) -> None:
    value = shoot(
        clip(1, take("a", 0.0, 30.0)),
        clip(2, take("b", 20.0, 50.0)),
        clip(3, take("s", 0.0, 60.0), rate=None),
        clip(4, take("d", 0.0, 9.0, verdict=Verdict.DOUBTFUL, reason=in_words("Two choruses."))),
        song=LONG,
    )
    found = lists(value, tmp_path)
    assert list(found) == [
        "Evening - Fiddle 2.edl", "Evening - Fiddle sound.edl", "Evening - Fiddle.edl",
        "Evening - in doubt- Fiddle.edl",
    ]  # fmt: skip
    assert " A     C " in found["Evening - Fiddle sound.edl"]
    assert "* IN DOUBT: Two choruses." in found["Evening - in doubt- Fiddle.edl"]
    for path in tmp_path.iterdir():
        path.unlink()
    assert len(lists(value, tmp_path, replace(DEFAULT, doubtful=Doubtful.NONE))) == 3


def test_sources_are_told_apart_and_named_in_full(tmp_path: Path) -> None:
    names = (
        "/a/Kamera eins 1.mov",
        "/a/Kamera eins 2.mov",
        "/b/Kamera eins 1.mov",
        "/c/バンド.mov",
        "/c/BL.mov",
    )
    clips = [
        clip(n, take(f"t{n}", n * 10.0, n * 10 + 9.0), media=media(name)) for n, name in enumerate(names)
    ]
    value = shoot(*clips, song=LONG)
    ids = source_ids(value)
    assert list(ids.values()) == ["KAMERAEI", "KAMERA02", "KAMERA03", "CLIP", "BL02"]
    (text,) = lists(value, tmp_path).values()
    assert [event.reel for event in outside(text, Fraction(25)).events] == list(ids.values())
    with (tmp_path / "Evening - sources.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, strict=True))
    assert [(row["source"], row["path"]) for row in rows] == list(zip(ids.values(), names, strict=True))
    assert rows[3]["file"] == "バンド.mov"


@given(
    st.lists(
        st.text(st.characters(exclude_characters="/\x00")).filter(lambda t: t not in ("", ".", "..")),
        max_size=30,
    )
)
def test_any_names_give_ids_of_eight_that_differ(names: list[str]) -> None:
    clips = [Clip(str(n), media(f"/{name}"), "") for n, name in enumerate(names)]
    ids = list(source_ids(SongView(clips=tuple(clips))).values())
    assert len(set(ids)) == len(names)
    assert all(re.fullmatch("[A-Z0-9]{1,8}", one) for one in ids)


@given(st.text())
def test_any_text_is_told_in_seven_bits_on_one_line(text: str) -> None:
    told = ascii_words(text)
    assert told.isascii()
    assert told.isprintable()


def test_a_rate_without_timecode_is_told(tmp_path: Path) -> None:
    value = shoot(clip(1, Take("t", 0.0, 60.0, 10.0), rate=Fraction(100)), song=LONG)
    with pytest.raises(HandoffError, match="no timecode at 100 fps"):
        list(edl_file.write(value, tmp_path, "Evening"))
    assert list(tmp_path.iterdir()) == []


DAMAGE = {
    "overlaps": ("01:00:20:00", "01:00:09:00"),
    "holds": ("002  ", "003  "),
    "another source": ("CLIP02", "CLIP01"),
    "frames of source": ("00:00:10:00 01", "00:00:10:01 01"),
    "s off": ("+0.000000000", "+0.000000010"),
    "neither an event nor a note": ("* TAKE", "TAKE"),
    "time base": ("MODULUS: 25", "MODULUS: 30"),
    "begin or end": ("TITLE", "NAME"),
    "is no cut": (" C  ", " D  "),
    "wrong channel": (" V ", " A "),
    "sub-frame offset": ("* SUB-FRAME", "* SUBFRAME"),
    "not a timecode": ("01:00:30:00", "01:00:30:25"),
}


@pytest.mark.parametrize("why", DAMAGE)
def test_the_comparison_finds_what_is_wrong(why: str) -> None:
    value = shoot(clip(1, take("a", 0.0, 10.0)), clip(2, take("b", 20.0, 30.0)), song=LONG)
    layout = lay_out(value)
    (track,) = layout.tracks
    ids = source_ids(value)
    text = to_text(value, layout, track, ids)
    check(text.encode(), value, layout, track, ids, "x.edl")
    before, after = DAMAGE[why]
    assert before in text
    with pytest.raises(HandoffError, match=why):
        check(text.replace(before, after).encode(), value, layout, track, ids, "x.edl")


def test_letters_beyond_seven_bits_are_no_list() -> None:
    value = shoot(clip(1, take("a", 0.0, 10.0)))
    layout = lay_out(value)
    text = to_text(value, layout, layout.tracks[0], source_ids(value)).replace("Evening", "Grüße")
    with pytest.raises(HandoffError, match="ascii"):
        check(text.encode(), value, layout, layout.tracks[0], source_ids(value), "x.edl")


@given(
    value=sensible_shoots(),
    rate=st.sampled_from((None, *NAMES)),
    start=st.sampled_from(("01:00:00:00", "00:00:00:00", "23:59:00:00", "01:00:00;00", "23:58:00;02")),
    drift=st.sampled_from(Drift),
)
def test_any_shoot_reads_back_by_another_reader_with_the_same_places(
    value: SongView, rate: Fraction | None, start: str, drift: Drift, tmp_path_factory: pytest.TempPathFactory
) -> None:
    choices = replace(DEFAULT, rate=rate, start=start, drift=drift)
    try:
        layout = lay_out(value, choices)
    except HandoffError:
        assert ";" in start
        return
    folder = tmp_path_factory.mktemp("lists")
    found = lists(value, folder, choices)
    assert len(found) == len(layout.tracks)
    takes = {t.id: (c, t) for c in value.clips for t in c.takes}
    names = {source: value.clip(clip_id) for clip_id, source in source_ids(value).items()}
    seen = 0
    for text, track in zip(
        (found[f"Evening - {name}"] for name in _file_names(layout)), layout.tracks, strict=True
    ):
        # The reader counts 29.97 and 59.94 as drop-frame always: others are read at the whole rate, by label.
        by = layout.rate if ";" in start else Fraction(round(layout.rate))
        events = outside(text, by).events
        assert len(events) == len(track.segments)
        for event, one in zip(events, track.segments, strict=True):
            seen += 1
            clip_, take_ = takes[one.take.id]
            assert names[event.reel].id == clip_.id
            begin = Timecode(NAMES[by], start)
            day = Timecode(NAMES[by], "23:59:59:" + f"{round(by) - 1:02}").frame_number + 1
            frame = (event.rec_start_tc.frame_number - begin.frame_number) % day
            rest = next(float(c.split()[3]) for c in event.comments if c.startswith("* SUB-FRAME OFFSET"))
            own = clip_.frame_rate or layout.rate
            exact = Fraction(take_.song_start_s) + (
                Fraction(one.first_frame) / own - Fraction(take_.clip_start_s)
            ) * Fraction(take_.speed)
            # To the frame, and the rest to a tenth of a sample at 48 kHz.
            assert float(frame / layout.rate - exact) + rest == pytest.approx(0, abs=1e-6)
            if own == layout.rate:
                label = next(line for line in text.splitlines() if line.startswith(f"{event.num}  ")).split()[
                    4
                ]
                mark = f"23:59:59{label[8]}{round(own) - 1:02}"
                told = opentime.from_timecode(label, float(own)).value
                whole = opentime.from_timecode(mark, float(own)).value + 1
                assert told == ((start_frame(clip_) or 0) + one.first_frame) % whole
            length = (event.rec_end_tc.frame_number - event.rec_start_tc.frame_number) % day
            assert length == one.length
    assert seen == len(layout.segments)


def _file_names(layout: "object") -> list[str]:
    """Colons of track names are not for file names."""
    return [f"{track.name.replace(':', '-')}.edl" for track in layout.tracks]  # type: ignore[attr-defined]


def test_writing_again_gives_the_same_bytes(tmp_path: Path) -> None:
    value = shoot(clip(1, take("t", 0.0, 20.0)), angles=(Angle("angle-1", "Geige „nah“"),))
    assert lists(value, tmp_path) == lists(value, tmp_path)
