"""Lyrics: text along the sections, and files with times against the ``pylrc`` and ``srt`` packages."""

import random
from dataclasses import replace
from datetime import timedelta

import pylrc
import pytest
import srt

from app.model.document.shoot import Shoot
from app.model.document.song import LyricLine, Section
from app.model.edits.lyric_edits import set_lyrics
from app.model.song_map.lyrics import LyricsError, lines_at_bars, lines_of_section, read_lyrics
from tests.app.model.coverage.test_needs import song

WORDS = ("the ferry leaves", "at six, they say", "über den See", "hey", "now 3 times")


@pytest.mark.parametrize("seed", range(20))
def test_lrc_is_read_as_another_reader_reads_it(seed: int) -> None:
    draw = random.Random(seed)
    rows = [f"[{m:02}:{s:02}.{c:02}]{draw.choice(WORDS)}" for m, s, c in times(draw)]
    text = "\n".join(["[ti:Ferry]", "[ar:Nobody]", *rows])
    expected = [(line.text, line.time) for line in pylrc.parse(text)]
    found = read_lyrics(text, replace(song(), duration_s=9e9))
    assert sorted((one.text, round(one.start_s or 0.0, 3)) for one in found) == sorted(
        (text, round(time, 3)) for text, time in expected
    )


def times(draw: random.Random) -> list[tuple[int, int, int]]:
    return [(draw.randint(0, 9), draw.randint(0, 59), draw.randint(0, 99)) for _ in range(draw.randint(1, 9))]


@pytest.mark.parametrize("seed", range(20))
def test_srt_is_read_as_another_reader_reads_it(seed: int) -> None:
    draw = random.Random(seed)
    blocks, at = [], 0.0
    for number in range(draw.randint(1, 9)):
        start = at + draw.randint(0, 4000) / 1000
        at = start + draw.randint(1, 4000) / 1000
        words = "\n".join(draw.sample(WORDS, draw.randint(1, 2)))
        blocks.append(srt.Subtitle(number + 1, timedelta(seconds=start), timedelta(seconds=at), words))
    text = srt.compose(blocks)
    found = read_lyrics(text, replace(song(), duration_s=9e9))
    expected = list(srt.parse(text))
    assert [one.text for one in found] == [" ".join(one.content.split()) for one in expected]
    ends = [(one.start.total_seconds(), one.end.total_seconds()) for one in expected]
    assert [(one.start_s, one.end_s) for one in found] == [pytest.approx(pair) for pair in ends]


def test_lrc_offsets_repeats_and_word_times() -> None:
    # A positive offset shows words earlier, as most players take it (common practice, from memory).
    text = (
        "\ufeff[offset:+500]\r\n[00:02.00][00:12.50]<00:02.00>Ha <00:02.40>li\r\n[00:04]lo\r\n[00:06.00]\r\n"
    )
    found = read_lyrics(text, song())
    assert [(one.start_s, one.text) for one in found] == [(1.5, "Ha li"), (3.5, "lo"), (12.0, "Ha li")]


def test_what_begins_behind_the_song_is_left_out() -> None:
    assert [one.text for one in read_lyrics("[00:01.00]in\n[09:00.00]out", song())] == ["in"]
    with pytest.raises(LyricsError, match="no words"):
        read_lyrics("[09:00.00]out", song())


def test_stanzas_go_to_the_sections_in_their_order() -> None:
    found = read_lyrics("one\ntwo\n\nthree\n\n\nfour\n\nfive", song())
    assert [(one.section_id[-1], one.text) for one in found] == [
        ("1", "one"), ("1", "two"), ("2", "three"), ("3", "four"), ("3", "five"),
    ]  # fmt: skip


def test_headings_say_where_stanzas_belong() -> None:
    found = read_lyrics("[Chorus]\nla\n\n[chorus]\nla la\n\nVerse:\none\n\nC:\nlast\n[not a section]", song())
    assert [(one.section_id[-1], one.text) for one in found] == [
        ("2", "la"), ("3", "la la"), ("1", "one"), ("3", "last"), ("3", "[not a section]"),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["", " \n\n", "[00:01.00]\n[ti:x]"])
def test_a_text_without_words_is_refused(text: str) -> None:
    with pytest.raises(LyricsError, match="no words"):
        read_lyrics(text, song())
    with pytest.raises(LyricsError, match="6000 lines"):
        read_lyrics("la\n" * 6000, song())


def test_lines_stand_in_their_sections_and_bars() -> None:
    timed = (LyricLine("up", 7.6), LyricLine("there", 12.0), LyricLine("late", 23.9))
    typed = (LyricLine("a", section_id="section-1"), LyricLine("b", section_id="section-1"))
    gone = LyricLine("stray", section_id="section-8")
    sung = replace(song(), lyrics=(*timed, *typed, gone))
    told = [[line.text for line in lines_of_section(sung, one)] for one in sung.map.sections]
    # A line in the last quarter of the bar before its section is sung into it, but lies before the edge.
    assert told == [["up", "a", "b", "stray"], [], ["there", "late"]]
    assert lines_at_bars(sung) == {1: "a", 2: "b", 3: "stray", 5: "up", 7: "there", 12: "late"}


def test_lyrics_stay_with_a_section_that_is_renamed_or_moved() -> None:
    sung = replace(song(), lyrics=(LyricLine("a", section_id="section-2"),))
    moved = Section("X", "Bridge", 9.0, 13.0, id="section-2")
    assert [
        one.text for one in lines_of_section(replace(sung, map=replace(sung.map, sections=(moved,))), moved)
    ]
    shoot = Shoot(songs=(song(),))
    after, _ = set_lyrics(shoot, sung.lyrics)
    assert after.songs[0].lyrics == sung.lyrics
    assert set_lyrics(after, sung.lyrics)[0] is after
    with pytest.raises(ValueError, match="no song"):
        set_lyrics(Shoot(), ())
