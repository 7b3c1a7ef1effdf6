"""Answers to the window's questions, given by a test beforehand."""

from collections.abc import Sequence
from pathlib import Path

from app.window.parts.choice import CANCEL
from app.window.parts.dialogs import CHOOSE_SONG


class Answers:
    """Takes the place of the dialogs; notes what was asked."""

    def __init__(self) -> None:
        self.song: Path | None = None
        self.playback: Path | None = None
        self.clips: list[Path] = []
        self.folder: Path | None = None
        self.shoot: Path | None = None
        self.save_path: Path | None = None
        self.labels: Path | None = None
        self.sheet: Path | None = None
        self.rules: Path | None = None
        self.keep = "discard"
        self.one: int | None = None
        self.ones: list[int | None] = []
        """Answers to the next questions, before ``one`` is given to all that follow."""
        self.text: str | None = None
        self.texts: list[str] | None = None
        """Answers to a question with several fields; ``text`` and what is offered where there are none."""
        self.fields: list[tuple[str, str]] = []
        """The fields that were asked for last, and what was in them."""
        self.asked: list[str] = []
        self.offered: list[str] = []
        """The answers that could be chosen from last."""

    def choose_song(self, title: str = CHOOSE_SONG) -> Path | None:
        self.asked.append("song" if title == CHOOSE_SONG else title)
        return self.song

    def choose_playback(self) -> Path | None:
        self.asked.append("playback")
        return self.playback

    def choose_clips(self) -> list[Path]:
        self.asked.append("clips")
        return self.clips

    def choose_folder(self, title: str) -> Path | None:
        self.asked.append(title)
        return self.folder

    def choose_shoot(self) -> Path | None:
        self.asked.append("shoot")
        return self.shoot

    def choose_save_path(self, name: str) -> Path | None:
        self.asked.append(f"save {name}")
        return self.save_path

    def choose_labels(self) -> Path | None:
        self.asked.append("labels")
        return self.labels

    def choose_labels_path(self, name: str) -> Path | None:
        self.asked.append(f"labels {name}")
        return self.labels

    def choose_rules(self) -> Path | None:
        self.asked.append("rules")
        return self.rules

    def choose_rules_path(self, name: str) -> Path | None:
        self.asked.append(f"rules {name}")
        return self.rules

    def choose_sheet_path(self, name: str) -> Path | None:
        self.asked.append(f"sheet {name}")
        return self.sheet

    def keep_changes(self, name: str) -> str:
        self.asked.append(f"keep {name}")
        return self.keep

    def choose_one(
        self, title: str, question: str, answers: Sequence[str], leave: str = CANCEL
    ) -> int | None:
        self.asked.append(question)
        self.offered = list(answers)
        return self.ones.pop(0) if self.ones else self.one

    def ask_text(self, title: str, question: str, text: str) -> str | None:
        self.asked.append(question)
        return self.text

    def ask_texts(self, title: str, question: str, fields: Sequence[tuple[str, str]]) -> Sequence[str] | None:
        self.asked.append(question)
        self.fields = list(fields)
        if self.texts is not None:
            return self.texts
        return None if self.text is None else [self.text, *(text for _, text in fields[1:])]

    def tell(self, title: str, sentence: str) -> None:
        self.asked.append(sentence)
