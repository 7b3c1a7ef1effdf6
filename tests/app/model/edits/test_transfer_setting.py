"""Which transfer function takes were shot with, as a person says: matches that hang on it go."""

from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.decisions import Reference
from app.model.document.findings import Finding, TakePlacement
from app.model.document.looks import Match
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.edits.look_edits import match_takes, set_reference
from app.model.edits.shoot_edits import add_clip, set_song
from app.model.edits.take_settings import set_match_figures, set_transfer
from app.model.on_song import on_song
from tests.app.random_shoots import media, waltz


def three_takes() -> Shoot:
    """Three clips of one take each; the first is the reference, the others are matched with it."""
    shoot, _ = set_song(Shoot(), waltz())
    for number in range(3):
        shoot, _ = add_clip(shoot, media(f"/shoot/wide_{number}.mov"))
    song = shoot.songs[0]
    findings = tuple(
        Finding(one.id, song.id, song.media.digest, Verdict.PLACED, takes=(TakePlacement(0.0, 9.0, 0.0),))
        for one in shoot.clips
    )
    shoot = replace(shoot, findings=findings)
    first, *others = shoot.clips
    shoot, _ = set_reference(shoot, Reference(first.id, 0.0, 9.0))
    one = (1.0, 1.0, 1.0)
    matches = [
        Match(other.id, 0.0, 9.0, first.id, 0.0, 9.0, one, (0.0, 0.0, 0.0), one, 1.0, *[0.0] * 6)
        for other in others
    ]
    shoot, _ = match_takes(shoot, matches)
    assert len(shoot.matches) == 2
    return shoot


def test_the_match_of_a_take_goes_with_its_transfer_function() -> None:
    shoot = three_takes()
    second = on_song(shoot).clips[1].takes[0]
    new, change = set_transfer(shoot, [second.id], "slog3")
    assert change == Change.TAKES | Change.LOOKS
    takes = [clip.takes[0] for clip in on_song(new).clips]
    assert [take.settings.transfer for take in takes] == ["", "slog3", ""]
    assert [take.match is None for take in takes] == [True, True, False]
    assert set_transfer(new, [second.id], "slog3") == (new, NOTHING)


def test_with_the_reference_all_matches_go() -> None:
    shoot = three_takes()
    first = on_song(shoot).clips[0].takes[0]
    new, _ = set_transfer(shoot, [first.id], "vlog")
    assert new.matches == ()
    assert new.decisions.reference == shoot.decisions.reference


def test_a_match_goes_when_other_figures_are_wanted() -> None:
    shoot = three_takes()
    second = on_song(shoot).clips[1].takes[0]
    new, change = set_match_figures(shoot, [second.id], power=True, saturation=False)
    assert change == Change.TAKES | Change.LOOKS
    takes = [clip.takes[0] for clip in on_song(new).clips]
    assert [take.settings.power for take in takes] == [False, True, False]
    assert [take.match is None for take in takes] == [True, True, False]
    assert set_match_figures(new, [second.id], power=True, saturation=False) == (new, NOTHING)
    # Of the reference they change nothing: others are compared with its pictures, not with its match.
    first = on_song(shoot).clips[0].takes[0]
    assert set_match_figures(shoot, [first.id], power=True, saturation=True)[0].matches == shoot.matches
