"""A table of actions: what it makes of its rows, and what the page of keys reads in it."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app.window.parts.actions import Action, ActionTable, Line


def test_an_action_says_what_its_row_says_now(qtbot: QtBot) -> None:
    owner, state = QWidget(), {"on": False, "fast": "slow"}
    qtbot.addWidget(owner)
    ran: list[str] = []
    table = ActionTable(
        owner,
        [
            Line(
                "go",
                Action(
                    lambda: f"Go {state['fast']}",
                    ("Ctrl+G", "G"),
                    "Goes",
                    lambda: ran.append("go"),
                    name="go",
                    enabled=lambda: bool(state["on"]),
                    repeats=False,
                ),
            )
        ],
    )
    go = table["go"]
    assert (go.text(), go.toolTip(), go.isEnabled(), go.autoRepeat()) == (
        "Go slow",
        "Goes (Ctrl+G)",
        False,
        False,
    )
    assert go.shortcuts() == [QKeySequence("Ctrl+G"), QKeySequence("G")]
    assert owner.actions() == [go]
    state.update(on=True, fast="fast")
    assert go.text() == "Go slow", "it is told when to look"
    table.refresh()
    go.trigger()
    assert (go.text(), ran) == ("Go fast", ["go"])


def test_a_tick_is_what_its_row_says_whoever_clicked(qtbot: QtBot) -> None:
    owner, chosen = QWidget(), ["a"]
    qtbot.addWidget(owner)

    def row(name: str, *, can: bool = True) -> Action:
        def choose() -> None:
            chosen[:] = [name] if can else chosen

        return Action(name, name, name, choose, name=name, checked=lambda: chosen == [name], one_of="which")

    table = ActionTable(owner, [Line("", row("a"), row("b"), row("c", can=False))])
    for clicked, wanted in (("b", "b"), ("b", "b"), ("c", "b"), ("a", "a")):
        table[clicked].trigger()
        assert [name for name in "abc" if table[name].isChecked()] == [wanted], clicked


def test_lines_of_the_page_tell_keys_and_are_found_by_names_and_tips(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)

    def nothing() -> None:
        """For a row that is only read."""

    table = ActionTable(
        owner,
        [
            Line(
                "bar by bar",
                Action("Back", "Left", "One back", nothing),
                Action("On", "Right", "One on", nothing),
            ),
            Line("by its underlined letter", keys=("Alt+letter",)),
            Line(
                "",
                Action("&Save", "Ctrl+S", "Saves it", nothing, menu="&File"),
                Action("No key", "", "-", nothing),
            ),
        ],
        Qt.ShortcutContext.WindowShortcut,
    )
    assert table.page == [
        ("← →", "bar by bar", "Back One back (Left) On One on (Right)"),
        ("Alt+letter", "by its underlined letter", ""),
        ("Ctrl+S", "Save", "Saves it (Ctrl+S)"),
    ]
    assert [[action.text() for action in section] for section in table.sections("&File")] == [["&Save"]]
    assert [menu for menu, _ in table.entries] == ["", "", "&File", ""]
