"""The table of what can be done in Hand-off."""

from collections.abc import Callable, Sequence

from app.window.parts.actions import Action, Line


def handoff_actions(
    choose_folder: Callable[[], None],
    write: Callable[[], None],
    stop: Callable[[], None],
    show_folder: Callable[[], None],
) -> Sequence[Line]:
    """Where to write, and the writing; the place says what of it can be done now."""
    return (
        Line(
            "choose the folder",
            Action("Choose Folder…", "Ctrl+L", "Choose where to write", choose_folder, name="choose"),
        ),
        Line(
            "write",
            Action(
                "Write Hand-off", "Ctrl+Return", "Write what is chosen into the folder", write, name="write"
            ),
        ),
        Line(
            "stop writing",
            Action(
                "Stop Writing",
                "Ctrl+Shift+T",
                "Stop; files that are whole stay, nothing half-written does",
                stop,
                name="stop",
            ),
        ),
        Line(
            "show what was written in its folder",
            Action(
                "Show Folder",
                "Ctrl+Shift+L",
                "Open the folder in the system's own window",
                show_folder,
                name="show",
            ),
        ),
        Line("a choice, by its underlined letter", keys=("Alt+letter",)),
    )
