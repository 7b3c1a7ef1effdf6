"""Hand-off with several songs: the one in hand or all of them, what goes where, progress, and how far."""

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QProgressBar
from pytestqt.qtbot import QtBot

from app.model.document.media_ref import MediaRef
from app.window.handoff.handoff_files import MISSED, WRITTEN
from app.window.handoff.handoff_place import HandoffPlace
from app.window.session import EVERYTHING
from tests.app.window.handoff.on_screen import is_busy, listed, may_write, press
from tests.app.window.made_hand_over import MadeHandOver


def names(place: HandoffPlace) -> list[str]:
    return [name for _, name, _ in listed(place)]


def said(place: HandoffPlace) -> list[str]:
    return [one.text() for one in place.findChildren(QLabel) if one.isVisible()]


def test_the_song_in_hand_or_all_songs(
    qtbot: QtBot, place: HandoffPlace, made: MadeHandOver, tmp_path: Path
) -> None:
    session, folder = place.session, tmp_path / "edit"
    assert place.songs.isHidden()
    (waltz,) = session.songs
    jig = replace(waltz, id="song-2", media=MediaRef("/shoot/jig.wav", 9, "jig"))
    finding = next(one for one in session.whole.findings if one.takes)
    more = replace(finding, song_id="song-2", song_digest="jig")
    air = replace(waltz, id="song-3", media=MediaRef("/shoot/air.wav", 9, "air"))
    value = replace(session.whole, songs=(waltz, jig, air), findings=(*session.whole.findings, more))
    session.apply("x", (value, EVERYTHING), "test")
    place.catch_up()
    assert place.songs.isVisible()
    choice = place.songs.list
    assert [choice.itemText(n) for n in range(2)] == [
        "Only harbour-waltz",
        "All 3 songs, a folder each",
    ]
    assert names(place) == ["x.otio", "x.takes"]
    # The keyboard chooses as the mouse does.
    qtbot.keyClick(place, Qt.Key.Key_8, Qt.KeyboardModifier.AltModifier)
    assert place.focusWidget() is choice
    qtbot.keyClick(choice, Qt.Key.Key_Down)
    qtbot.waitUntil(lambda: len(names(place)) == 6)
    assert names(place)[2:4] == ["jig/x.otio", "jig/x.takes"]
    summary = next(text for text in said(place) if "each at its place in its song" in text)
    assert "of 2 songs from" in summary
    assert summary.endswith("No take yet: air.")
    place.chosen.boxes["film"].click()
    assert place.chosen.film_size.isVisible()
    assert not place.chosen.film_bars.isVisible()
    place.chosen.boxes["film"].click()
    # It is written as it was listed, song by song, and told so; it can be stopped.
    made.waits = True
    place.write()
    qtbot.waitUntil(lambda: bool(made.written) and place.findChild(QProgressBar).value() == 500)
    assert "harbour-waltz: Timeline…" in said(place)
    assert not place.songs.isEnabled()
    assert made.written[-1][0] == folder
    assert [entry.state for entry in place.files.entries].count(WRITTEN) == 1
    press(place, "Stop Writing")
    qtbot.waitUntil(lambda: place.outcome.told.text().startswith("Stopped."))
    assert [entry.state for entry in place.files.entries].count(MISSED) == 5
    made.waits = False
    place.write()
    qtbot.waitUntil(
        lambda: {entry.state for entry in place.files.entries} == {WRITTEN} and not is_busy(place)
    )
    # What is chosen is kept, and another song in hand changes nothing of it.
    kept = place.choices_text
    session.take_song("song-2")
    place.catch_up()
    assert {entry.state for entry in place.files.entries} == {WRITTEN}
    place.restore_choices("")
    assert not place.songs.all_songs
    place.restore_choices(kept)
    assert place.songs.all_songs
    place.songs.choose(all_songs=False)
    session.take_song("song-3")
    place.catch_up()
    assert choice.itemText(0) == "Only air"
    assert "air has no take yet." in said(place)
    assert not may_write(place)
