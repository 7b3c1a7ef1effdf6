"""The command ``handoff``: what it writes, what it tells where, and how it ends."""

import os
import signal
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest

from app.cli import commands
from app.handoff import all as hand_off
from app.handoff.choices import Choices, FilmWish
from app.model.document import store
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.on_song import Take
from app.model.reasons import in_words
from tests.app.documents import document
from tests.app.random_shoots import clip, shoot, take, waltz


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    """A saved shoot with a take, a drifting one and a doubtful one."""
    value = shoot(
        clip(1, take("a", 0.0, 20.0)),
        clip(2, Take("off", 0.0, 90.0, 4.0, 1 + 400e-6)),
        clip(3, take("d", 0.0, 20.0, verdict=Verdict.DOUBTFUL, reason=in_words("Two choruses."))),
        song=waltz(180.0),
    )
    path = tmp_path / "Fähre um sechs.anglebook"
    store.save(document(replace(value, name="waltz")), path)
    return path


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_unless_told_otherwise_a_timeline_and_a_table(saved: Path, tmp_path: Path) -> None:
    before = saved.read_bytes()
    assert commands.main(["handoff", str(saved), "--to", str(tmp_path / "out")]) == 0
    assert names(tmp_path / "out") == ["Fähre um sechs.csv", "Fähre um sechs.otio"]
    assert saved.read_bytes() == before


def test_what_is_chosen_is_written_and_told(
    saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    arguments = ["handoff", str(saved), "--to", str(out), "--what", "otio,edl,tsv,sections,coverage,report"]
    arguments += ["--rate", "29.97", "--start", "00:59:58;00", "--tracks", "take", "--doubtful", "none"]
    assert commands.main([*arguments, "--drift", "reseat"]) == 0
    assert names(out) == [
        "Fähre um sechs - Fiddle 2.edl", "Fähre um sechs - Fiddle.edl", "Fähre um sechs - sources.tsv",
        "Fähre um sechs coverage.tsv", "Fähre um sechs sections.tsv", "Fähre um sechs.json",
        "Fähre um sechs.otio", "Fähre um sechs.tsv",
    ]  # fmt: skip
    timeline = otio.adapters.read_from_file(str(out / "Fähre um sechs.otio"))
    assert timeline.global_start_time.rate == float(Fraction(30000, 1001))
    assert timeline.global_start_time.to_timecode(float(Fraction(30000, 1001)), True) == "00:59:58;00"
    assert [track.name for track in timeline.tracks] == ["Fiddle: clip_01.mov", "Fiddle: clip_02.mov", "Song"]
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("and checked it against the shoot.") == len(names(out))
    assert "clip_02.mov: cut into" in printed.err
    assert "clip_03.mov: not on the timeline, because it is in doubt" in printed.err


def test_a_preview_writes_nothing(saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert commands.main(["handoff", str(saved), "--to", str(tmp_path / "out"), "--preview"]) == 0
    printed = capsys.readouterr()
    assert [line.split("  ")[0] for line in printed.out.splitlines()] == [
        "Fähre um sechs.otio",
        "Fähre um sechs.csv",
    ]
    assert "kB" in printed.out
    assert not (tmp_path / "out").exists()


def test_with_several_songs_each_has_its_folder(
    saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    value = store.load(saved)
    (song,) = value.songs
    paths = ("/shoot/mixes/waltz.wav", "/shoot/air.wav")
    more = [replace(song, id=f"song-{n}", media=MediaRef(path, n, "")) for n, path in enumerate(paths, 2)]
    store.save(replace(value, songs=(song, *more)), saved)
    arguments = ["handoff", str(saved), "--to", str(tmp_path / "out"), "--what", "csv"]
    assert commands.main([*arguments, "--preview"]) == 0
    listed = [line.split("  ")[0] for line in capsys.readouterr().out.splitlines()]
    assert listed == [
        "shoot-waltz/Fähre um sechs - shoot-waltz.csv",
        "mixes-waltz/Fähre um sechs - mixes-waltz.csv",
        "air/Fähre um sechs - air.csv",
    ]
    assert commands.main([*arguments[:-1], "otio", "--preview", "--song", "air"]) == 0
    assert "3 clips of other songs: not on this timeline." in capsys.readouterr().err
    assert commands.main(arguments) == 0
    assert "Writing takes of shoot/waltz…" in capsys.readouterr().err
    found = {str(path.relative_to(tmp_path / "out")) for path in (tmp_path / "out").glob("*/*")}
    assert found == set(listed)
    assert commands.main([*arguments, "--replace", "--song", "air"]) == 0
    assert "3 files" not in capsys.readouterr().err
    assert (tmp_path / "out" / "Fähre um sechs - air.csv").exists()
    assert commands.main([*arguments, "--song", "waltz.wav"]) == 1
    assert "Several songs are called waltz.wav. Say shoot/waltz or mixes/waltz." in capsys.readouterr().err
    assert commands.main([*arguments, "--song", "reel"]) == 1
    assert "has no song reel. It has shoot/waltz, mixes/waltz, air." in capsys.readouterr().err


def test_again_gives_the_same_bytes_when_it_may_replace(
    saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["handoff", str(saved), "--to", str(tmp_path / "out"), "--what", "otio,otioz,edl,csv,report"]
    assert commands.main(arguments) == 0
    first = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    assert "100 %" in capsys.readouterr().err
    assert commands.main(arguments) == 1
    assert "already there, from an earlier hand-off" in capsys.readouterr().err
    assert commands.main([*arguments, "--replace"]) == 0
    assert {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()} == first


def test_a_preview_looks_into_the_folder_too(
    saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["handoff", str(saved), "--to", str(tmp_path / "out")]
    assert commands.main(arguments) == 0
    assert commands.main([*arguments, "--preview"]) == 0
    assert "replaced only with --replace: Fähre um sechs.otio" in capsys.readouterr().err
    (tmp_path / "out" / "Fähre um sechs.otio").write_text("mine")
    assert commands.main([*arguments, "--preview"]) == 1
    assert "is not a hand-off file" in capsys.readouterr().err
    assert commands.main(["handoff", str(saved), "--to", "/shoot", "--preview"]) == 1
    assert "nothing is written beside clips" in capsys.readouterr().err


def test_one_trouble_is_told_and_the_rest_written(
    saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["handoff", str(saved), "--to", str(tmp_path / "out"), "--what", "otio,edl", "--rate", "100"]
    assert commands.main(arguments) == 1
    assert "anglebook: There is no timecode at 100" in capsys.readouterr().err
    assert names(tmp_path / "out") == ["Fähre um sechs.otio"]


def test_an_unusable_shoot_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "x.anglebook").write_text("{ half")
    for name in ("x.anglebook", "gone.anglebook"):
        assert commands.main(["handoff", str(tmp_path / name), "--to", str(tmp_path / "out")]) == 1
        assert name in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["--to", "out", "--what", "otio,holograms"],
        ["--to", "out", "--what", "csv,tsv"],
        ["--to", "out", "--what", ""],
        ["--to", "out", "--rate", "fast"],
        ["--to", "out", "--rate", "0"],
        ["--to", "out", "--tracks", "both"],
        ["--to", "out", "--drift", "up"],
        ["--to", "out", "--film-size", "wide"],
        ["--to", "out", "--film-bars", "7"],
        ["--to", "out", "--film-bars", "0-2"],
        ["--to", "out", "--film-bars", "9-2"],
        ["--to", "Fähre um sechs.anglebook"],
    ],
)
def test_wrong_use_is_told(
    saved: Path,
    arguments: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert commands.main(["handoff", str(saved), *arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert len(printed.err) > 20
    assert names(tmp_path) == ["Fähre um sechs.anglebook"]


def test_a_start_that_does_not_fit_is_told(
    saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["handoff", str(saved), "--to", str(tmp_path / "out"), "--start", "01:00:00;00"]
    assert commands.main(arguments) == 1
    assert "The start timecode does not fit" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_film_is_asked_for_by_size_angle_and_bars(
    saved: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked: list[Choices] = []
    monkeypatch.setattr(
        hand_off, "preview", lambda _, choices: asked.append(choices) or hand_off.Preview((), ())
    )
    arguments = [
        "handoff",
        str(saved),
        "--to",
        str(tmp_path),
        "--preview",
        "--what",
        "film,stamped,conformed",
    ]
    film = ["--film-size", "640x360", "--film-angle", "Fiddle", "--film-bars", "3-8"]
    assert commands.main([*arguments, *film]) == 0
    assert asked[0].what == {"film", "stamped", "conformed"}
    assert asked[0].film == FilmWish(width=640, height=360, angle_id="angle-1", bars=(3, 8))
    assert commands.main([*arguments, "--film-angle", "Cello"]) == 1
    assert "There is no angle 'Cello'. The shoot has Fiddle." in capsys.readouterr().err


def test_an_interrupt_is_told_as_it_is(
    saved: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(hand_off, "write_all", interrupted)
    assert commands.main(["handoff", str(saved), "--to", str(tmp_path / "out")]) == 130
    assert "the rest was not written" in capsys.readouterr().err


@pytest.mark.skipif(os.name != "posix", reason="Signals of a terminal are known on some systems only.")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_closed_terminal_and_a_polite_kill_leave_nothing_half_written(
    name: str,
    request: pytest.FixtureRequest,
    saved: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    one = getattr(signal, name)
    # Under nohup the tests inherit a signal that is passed over, and the command passes it over too.
    inherited = signal.signal(one, signal.SIG_DFL)
    request.addfinalizer(lambda: signal.signal(one, inherited))
    parts: list[str] = []

    def killed(_: int) -> None:
        """In place of forcing a neighbour to disk: it is written, and not yet swapped in."""
        parts.extend(names(tmp_path / "out"))
        os.kill(os.getpid(), one)
        raise AssertionError("nothing goes on after it")

    monkeypatch.setattr(os, "fsync", killed)
    assert commands.main(["handoff", str(saved), "--to", str(tmp_path / "out")]) == 130
    assert "the rest was not written" in capsys.readouterr().err
    assert len(parts) == 1, "a file was being written"
    assert names(tmp_path / "out") == []
    assert signal.getsignal(one) is signal.SIG_DFL


SECRET = b"-----BEGIN KEY----- not for anybody -----END KEY-----\n"


def from_elsewhere(folder: Path, media: Path, *, exact: bool = False) -> Path:
    """A shoot file as somebody else wrote it, whose clip is a file of this machine's."""
    found = media_ref(media) if exact else MediaRef(str(media), 1000, "00")
    value = shoot(clip(1, take("a", 0.0, 20.0), media=found), song=waltz(180.0))
    path = folder / "theirs.anglebook"
    path.write_text(store.to_text(document(value), folder), "utf-8")
    return path


@pytest.mark.parametrize("exact", [False, True], ids=["made up", "size and digest right"])
@pytest.mark.parametrize("what", ["otioz", "otiod", "stamped", "conformed", "film"])
def test_a_strangers_shoot_takes_nothing_along(what: str, exact: bool, tmp_path: Path) -> None:
    """No file leaves with a hand-off that is not the recording that was heard, agreed to or not."""
    (tmp_path / "home").mkdir()
    secret = tmp_path / "home" / "key"
    secret.write_bytes(SECRET)
    (tmp_path / "mail").mkdir()
    path = from_elsewhere(tmp_path / "mail", secret, exact=exact)
    out = tmp_path / "out"
    commands.main(["handoff", str(path), "--to", str(out), "--what", what, "--trust-paths"])
    for file in out.rglob("*") if out.exists() else ():
        assert not file.is_file() or b"not for anybody" not in file.read_bytes(), file


def test_a_strangers_shoot_is_read_only_when_its_folders_are_agreed_to(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "a.mov").write_bytes(b"x")
    path = from_elsewhere(tmp_path, tmp_path / "home" / "a.mov", exact=True)
    arguments = ["handoff", str(path), "--to", str(tmp_path / "out"), "--what", "csv"]
    assert commands.main(arguments) == 1
    told = capsys.readouterr().err
    assert "/shoot. Nothing was read" in told
    assert str(tmp_path / "home") not in told, "what lies below the shoot's own folder needs no word"
    assert "--trust-paths" in told
    assert not (tmp_path / "out").exists()
    assert commands.main([*arguments, "--trust-paths"]) == 0
    assert commands.main([*arguments, "--replace"]) == 0, "agreed to once"
    moved = tmp_path / "home" / "renamed.anglebook"
    path.rename(moved)
    assert commands.main(["handoff", str(moved), *arguments[2:], "--replace"]) == 0
    moved.write_text(moved.read_text("utf-8").replace("/shoot/", "/elsewhere/"), "utf-8")
    assert commands.main(["handoff", str(moved), *arguments[2:], "--replace"]) == 1, "another content"


def test_a_shoot_saved_here_asks_nothing(saved: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.anglebook"
    copy.write_bytes(saved.read_bytes())
    assert commands.main(["handoff", str(copy), "--to", str(tmp_path / "out"), "--what", "csv"]) == 0


def test_place_asks_before_it_reads_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "mail").mkdir()
    path = from_elsewhere(tmp_path / "mail", tmp_path / "a.mov")
    (tmp_path / "card").mkdir()
    (tmp_path / "card" / "b.mov").write_bytes(b"x")
    arguments = ["place", str(tmp_path / "none.wav"), str(tmp_path / "card"), "--shoot", str(path)]
    assert commands.main(arguments) == 1
    assert f"in: /shoot, {tmp_path}. Nothing was read" in capsys.readouterr().err
    assert commands.main([*arguments, "--trust-paths"]) == 1
    assert "none.wav" in capsys.readouterr().err


def test_string_outs_and_first_passes_are_written_as_told(
    saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, rules = tmp_path / "out", tmp_path / "rules.json"
    rules.write_text('{"again": "never", "pace": "slow"}', "utf-8")
    what = ["--what", "stringout,firstpass", "--string-out", "subject:fiddle", "--order", "rank"]
    what += ["--rules", str(rules), "--pace", "2"]
    assert commands.main(["handoff", str(saved), "--to", str(out), *what]) == 0
    assert names(out) == [
        "Fähre um sechs first pass.csv", "Fähre um sechs first pass.edl", "Fähre um sechs first pass.otio",
        "Fähre um sechs string-out fiddle.edl", "Fähre um sechs string-out fiddle.otio",
    ]  # fmt: skip
    timeline = otio.adapters.read_from_file(str(out / "Fähre um sechs string-out fiddle.otio"))
    told = timeline.metadata["anglebook"]
    assert (told["about"], told["subject"], told["order"]) == ("subject", "fiddle", "rank")
    first_pass = otio.adapters.read_from_file(str(out / "Fähre um sechs first pass.otio"))
    assert [track.name for track in first_pass.tracks][-2:] == ["First pass", "Song"]
    assert capsys.readouterr().err.count("and checked it against the shoot.") == len(names(out))


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["--string-out", "everything"], "'everything' is not one of section, keepers, needs, subject:NAME."),
        (["--string-out", "subject:"], "is not one of"),
        (["--pace", "brisk"], "Write energy, slow, medium, fast, or bars such as 2-4."),
        (["--rules", "/nowhere/rules.json"], "/nowhere/rules.json cannot be read"),
        (["--version", "Calm", "--preview"], "There is no first pass 'Calm'. The shoot has no version of it"),
    ],
)
def test_wishes_that_cannot_be_met_are_told(
    saved: Path, tmp_path: Path, arguments: list[str], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert commands.main(["handoff", str(saved), "--to", str(out), "--what", "firstpass", *arguments]) != 0
    assert why in " ".join(capsys.readouterr().err.split())
    assert not out.exists()


@pytest.mark.parametrize("text", ["[]", "{", '{"colour": 1}', '{"needs": 1.5}', "\xff"])
def test_rules_that_cannot_be_read_are_told(
    text: str, saved: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rules = tmp_path / "rules.json"
    rules.write_bytes(text.encode("latin-1"))
    arguments = ["handoff", str(saved), "--to", str(tmp_path / "out"), "--what", "firstpass"]
    assert commands.main([*arguments, "--rules", str(rules)]) == 1
    assert "anglebook: rules.json" in capsys.readouterr().err
