"""Versions of the first pass and their rules: kept, named, read from files and written to them."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.model.document.change import Change
from app.model.document.cut import Setting, Version
from app.model.document.shoot import Shoot
from app.model.edits import cut_edits
from app.model.first_pass.rules import (
    BY_NAME,
    DEFAULT,
    Rules,
    RulesError,
    json_of_rules,
    rules_of,
    rules_of_json,
    settings_of,
)
from app.model.guarding import guard_of
from app.model.storage.files import write_whole
from app.window.parts.dialogs import RULES, Dialogs
from app.window.score.pass_solving import PassSolving
from app.window.session import Session

ORIGIN = "first pass rules"
FIRST_NAME = "Version 1"
MOST_BYTES = 1_000_000
"""No rules are longer."""


class VersionSteps(QObject):
    """Changes the version that is shown; without one, the first change makes it."""

    said = Signal(str)
    """What came of it, in a sentence."""
    chosen = Signal()
    """Another version is shown."""

    def __init__(
        self, session: Session, solving: PassSolving, dialogs: Dialogs, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.session, self._solving, self._dialogs = session, solving, dialogs

    @property
    def versions(self) -> tuple[Version, ...]:
        """Those of the song."""
        return self.session.view.cut.versions

    @property
    def version(self) -> Version | None:
        """The one that is shown; None where there is none."""
        chosen = (one for one in self.versions if one.id == self._solving.version_id)
        return next(chosen, next(iter(self.versions), None))

    @property
    def rules(self) -> Rules:
        """Its rules; those by default where they cannot be read, which the score says."""
        try:
            return DEFAULT if self.version is None else rules_of(self.version.settings)
        except RulesError:
            return DEFAULT

    def choose(self, version_id: str) -> None:
        """Show another version."""
        self._solving.choose(version_id)
        self.chosen.emit()

    def set_rule(self, name: str, value: str) -> None:
        """Let a rule say something else; the pace of a section that says nothing is that of the rest."""
        told = {one.name: one for one in settings_of(self.rules)}
        told.pop(name, None)
        if value and (name not in BY_NAME or value != BY_NAME[name].default):
            told[name] = Setting(name, value)
        self._keep("Change Rule", rules_of(told.values()), merge=f"rule {name}")

    def set_seed(self, seed: int) -> None:
        """Cut another variation by the same rules."""
        self._keep("Another Variation", self.rules, seed, merge="variation")

    def another(self) -> None:
        """Keep the version at hand, and cut the next variation under a name of its own."""
        before = self.version
        if before is None:
            self._add(FIRST_NAME, self.rules, 0)
        names = [one.name.casefold() for one in self.versions]
        name = FIRST_NAME if before is None else before.name
        base = name.rstrip("0123456789").rstrip() or name
        number = next(n for n in range(2, len(names) + 3) if f"{base} {n}".casefold() not in names)
        seed = 1 + max((one.seed for one in self.versions), default=0)
        self._add(f"{base} {number}", self.rules, seed)

    def new(self) -> None:
        """Keep the rules at hand under another name."""
        name = self._dialogs.ask_text("New version", "Name of the version:", "")
        if name is not None:
            self._add(name, self.rules, 0 if self.version is None else self.version.seed)

    def rename(self) -> None:
        """Give the version another name."""
        version = self.version
        if version is None:
            return
        name = self._dialogs.ask_text("Rename version", "Name of the version:", version.name)
        if name is not None:
            self._do("Rename Version", lambda shoot: cut_edits.rename_version(shoot, version.id, name))

    def remove(self) -> None:
        """Remove the version."""
        version = self.version
        if version is not None:
            self._do("Remove Version", lambda shoot: cut_edits.remove_versions(shoot, [version.id]))
            self.said.emit(f"“{version.name}” was removed. Undo brings it back.")

    def reset(self) -> None:
        """Have every rule count as it does at first."""
        if self.version is None or not self._keep("Reset Rules", DEFAULT):
            self.said.emit("Every rule counts as it does at first already.")

    def read(self) -> None:
        """Take rules from a file."""
        path = self._dialogs.choose_rules()
        if path is None:
            return
        try:
            rules = rules_of_json(_text(path))
        except (OSError, RulesError) as error:
            self.said.emit(f"{path.name}: {getattr(error, 'strerror', None) or error}")
            return
        if self._keep("Import Rules", rules):
            self.said.emit(f"These are the rules of {path.name}.")

    def write(self) -> None:
        """Write the rules to a file."""
        name = "first pass rules" if self.version is None else f"{self.version.name} rules"
        path = self._dialogs.choose_rules_path(name)
        if path is None:
            return
        if path.suffix.casefold() != RULES:
            # Anything else may be a clip or the song, which are never written over.
            self.said.emit(f"Nothing was exported: the name of a rules file ends with {RULES}.")
            return
        try:
            write_whole(path, json_of_rules(self.rules).encode(), guard_of(self.session.shoot))
        except OSError as error:
            self.said.emit(f"{path.name} could not be written: {error.strerror or error}.")
            return
        self.said.emit(f"Exported the rules to {path.name}.")

    def _keep(self, label: str, rules: Rules, seed: int | None = None, merge: str | None = None) -> bool:
        """Give the version these rules; the first change makes one."""
        version = self.version
        if version is None:
            return self._add(FIRST_NAME, rules, seed or 0)
        key = None if merge is None else f"{version.id} {merge}"
        return self._do(label, lambda shoot: cut_edits.set_rules(shoot, version.id, rules, seed), key)

    def _add(self, name: str, rules: Rules, seed: int) -> bool:
        song = self.session.view.song
        if song is None:
            self.said.emit("There is no song yet, so there is nothing to cut.")
            return False
        before = {one.id for one in self.versions}
        done = self._do("New Version", lambda shoot: cut_edits.add_version(shoot, song.id, name, rules, seed))
        for one in self.versions:
            if one.id not in before:
                self.choose(one.id)
        return done

    def _do(
        self, label: str, edit: Callable[[Shoot], tuple[Shoot, Change]], merge: str | None = None
    ) -> bool:
        try:
            result = edit(self.session.shoot)
        except ValueError as error:
            self.said.emit(str(error))
            return False
        return self.session.apply(label, result, ORIGIN, merge)


def _text(path: Path) -> str:
    """Raises OSError and RulesError."""
    with path.open("rb") as file:
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise RulesError("This file is too long to be rules. Choose a JSON file of rules.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RulesError("This file is no text in UTF-8. Choose a JSON file of rules.") from None
