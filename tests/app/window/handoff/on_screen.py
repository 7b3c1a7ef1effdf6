"""What the tests of Hand-off press, and what they look for."""

from PySide6.QtWidgets import QAbstractButton, QProgressBar

from app.window.handoff.handoff_place import HandoffPlace


def shown_button(place: HandoffPlace, text: str) -> QAbstractButton | None:
    """The button with this text; None while it is not to be seen."""
    buttons = place.findChildren(QAbstractButton)
    return next((one for one in buttons if one.text() == text and one.isVisible()), None)


def press(place: HandoffPlace, text: str) -> None:
    button = shown_button(place, text)
    assert button is not None
    button.click()


def may_write(place: HandoffPlace) -> bool:
    return next(one for one in place.actions() if one.text() == "Write Hand-off").isEnabled()


def is_busy(place: HandoffPlace) -> bool:
    return place.findChild(QProgressBar).isVisible()


def listed(place: HandoffPlace) -> list[tuple[str, str, str]]:
    return [(entry.state, entry.name, entry.size) for entry in place.files.entries]
