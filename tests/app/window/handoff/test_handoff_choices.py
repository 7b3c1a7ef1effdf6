"""What can be chosen in Hand-off, what each choice says, and that it is handed on and kept."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from PySide6.QtWidgets import QCheckBox, QComboBox, QLabel, QLineEdit
from pytestqt.qtbot import QtBot

from app.handoff.choices import DEFAULT, Conform, Doubtful, Drift, FirstPassWish, Form, Scheme
from app.handoff.registry import FORMATS
from app.model.document.cut import Cut, Setting, Version
from app.model.string_out.string_out import About, Order
from app.window.frame.main_window import MainWindow
from app.window.handoff.handoff_choices import SIZES
from app.window.handoff.handoff_place import HandoffPlace
from app.window.session import EVERYTHING
from tests.app.documents import document
from tests.app.window.handoff.on_screen import is_busy
from tests.app.window.made_hand_over import MadeHandOver


def test_every_choice_is_handed_on(qtbot: QtBot, place: HandoffPlace, made: MadeHandOver) -> None:
    chosen = place.chosen
    chosen.rate.setCurrentIndex(chosen.rate.findText("29.97"))
    chosen.start.setText("00:59:58;00")
    chosen.scheme.setCurrentIndex(1)
    chosen.doubtful.setCurrentIndex(1)
    chosen.drift.setCurrentIndex(1)
    chosen.conform.setCurrentIndex(1)
    chosen.form.setCurrentIndex(1)
    place.write()
    qtbot.waitUntil(lambda: bool(made.written) and not is_busy(place))
    folder, choices = made.written[-1]
    assert folder == Path(place.folder.text())
    assert choices.rate == Fraction(30000, 1001)
    assert (choices.start, choices.form) == ("00:59:58;00", Form.TSV)
    assert (choices.scheme, choices.doubtful, choices.drift) == (Scheme.TAKE, Doubtful.NONE, Drift.RESEAT)
    assert choices.conform is Conform.LAG
    assert chosen.choices == choices


def test_the_usual_rate_is_told(place: HandoffPlace) -> None:
    assert place.chosen.rate.itemText(0).endswith(" (most clips)")
    assert place.chosen.rate.itemText(0)[0].isdigit()
    assert place.chosen.choices.rate is None


def test_a_film_is_chosen_by_size_angle_and_section(place: HandoffPlace) -> None:
    chosen = place.chosen
    assert not chosen.film_size.isVisible()
    chosen.boxes["film"].click()
    assert chosen.film_size.isVisible()
    assert SIZES[chosen.film_size.currentIndex()] == (1280, 720)
    angles = [chosen.film_angle.itemText(n) for n in range(chosen.film_angle.count())]
    assert angles[:2] == ["All angles", "First pass"]
    assert len(angles) > 3
    chosen.film_angle.setCurrentIndex(2)
    chosen.film_bars.setCurrentIndex(2)
    film = chosen.choices.film
    assert place.session.view.angle(film.angle_id).name == angles[2]
    assert not film.first_pass
    assert film.bars == (9, 16)


def test_a_film_of_the_first_pass_is_cut_by_the_chosen_rules(place: HandoffPlace) -> None:
    chosen = place.chosen
    chosen.boxes["film"].click()
    assert not chosen.sequences.pace.isVisible()
    chosen.film_angle.setCurrentIndex(1)
    assert chosen.sequences.pace.isVisible()
    assert (chosen.choices.film.first_pass, chosen.choices.film.angle_id) == (True, "")


def test_string_outs_and_first_passes_have_settings_of_their_own(place: HandoffPlace) -> None:
    chosen = place.chosen
    fields = chosen.sequences
    four = (fields.about, fields.order, fields.version, fields.pace)
    assert [one.isVisible() for one in four] == [False] * 4
    chosen.boxes["stringout"].click()
    assert [one.isVisible() for one in four] == [True, True, False, False]
    chosen.boxes["firstpass"].click()
    assert all(one.isVisible() and one.accessibleName() and one.toolTip() for one in four)
    assert chosen.boxes["stringout"].accessibleName() == "String-out"
    abouts = [fields.about.itemText(n) for n in range(fields.about.count())]
    assert abouts[:3] == ["Everything", "Keepers only", "Where needs are not met"]
    assert len(abouts) > 3
    fields.about.setCurrentIndex(3)
    fields.order.setCurrentIndex(1)
    fields.pace.setCurrentIndex(fields.pace.findText("2 bars"))
    choices = chosen.choices
    assert choices.string_out.about is About.SUBJECT
    assert abouts[3] == f"Only {choices.string_out.subject}"
    assert choices.string_out.order is Order.RANK
    assert choices.first_pass == FirstPassWish(settings=(Setting("pace", "2"),))


def test_versions_of_the_first_pass_are_offered(place: HandoffPlace) -> None:
    version = place.chosen.sequences.version
    assert [version.itemText(n) for n in range(version.count())] == ["Usual rules"]
    named = tuple(Version(f"v{n}", "song-1", name) for n, name in enumerate(("Calm", "Quick")))
    value = replace(document(place.session.view), cut=Cut(versions=named))
    place.session.apply("x", (value, EVERYTHING), "test")
    place.catch_up()
    assert [version.itemText(n) for n in range(version.count())] == ["Calm", "Quick"]
    assert place.chosen.choices.first_pass.version == ""
    version.setCurrentIndex(1)
    assert place.chosen.choices.first_pass.version == "Quick"
    kept = place.choices_text
    place.restore_choices("")
    assert place.chosen.choices == DEFAULT
    place.restore_choices(kept)
    assert place.chosen.choices.first_pass.version == "Quick"


def test_every_choice_says_what_it_suits(place: HandoffPlace) -> None:
    said = [one.text() for one in place.chosen.guide.findChildren(QLabel)]
    for one in FORMATS:
        assert one.gives in said
        assert said.count(one.needs) == 1
        assert place.chosen.boxes[one.word].accessibleDescription() == f"{one.needs}. {one.gives}"


@pytest.mark.parametrize("width", [1280, 900])
def test_no_choice_is_wider_than_its_room(
    qtbot: QtBot, shoot_window: MainWindow, place: HandoffPlace, width: int
) -> None:
    place.chosen.boxes["film"].setChecked(True)
    shoot_window.resize(width, 720)
    held, view = place.chosen.widget(), place.chosen.viewport()
    qtbot.waitUntil(lambda: held.width() == view.width())
    assert held.minimumSizeHint().width() <= view.width()


def test_choices_are_kept_with_the_shoot(place: HandoffPlace) -> None:
    place.chosen.boxes["film"].click()
    place.chosen.drift.setCurrentIndex(1)
    kept, chosen = place.choices_text, place.chosen.choices
    place.restore_choices("")
    assert place.chosen.choices == DEFAULT
    place.restore_choices(kept)
    assert place.chosen.choices == chosen


def test_every_letter_is_given_once(place: HandoffPlace, shoot_window: MainWindow) -> None:
    texts = [box.text() for box in place.chosen.findChildren(QCheckBox) if "&" in box.text()]
    tips = [
        field.toolTip()
        for field in (*place.chosen.findChildren(QComboBox), *place.chosen.findChildren(QLineEdit))
    ]
    letters = [text[text.index("&") + 1].upper() for text in texts] + [tip[-2] for tip in tips]
    menus = [a.text()[a.text().index("&") + 1].upper() for a in shoot_window.menuBar().actions()]
    assert len(letters) > len(tips) == 14
    assert len(set(letters) | set(menus)) == len(letters) + len(menus)
