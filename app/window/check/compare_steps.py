"""Comparing the examined take with the reference: which take that is, and what the page of it shows."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QObject, Signal

from app.model.document.decisions import Reference
from app.model.document.looks import Match
from app.model.edits.look_edits import set_reference
from app.model.match_words import doubt_words, match_words
from app.model.on_song import Clip, SongView, Take, reference_take
from app.window.check.compare_page import ComparePage
from app.window.check.compare_pictures import NAMES
from app.window.check.compare_reading import Comparing, Wanted
from app.window.check.examined_take import ExaminedTake
from app.window.check.match_settings import MatchSettings
from app.window.parts import words
from app.window.session import Session
from app.window.work.background_match import BackgroundMatch

ORIGIN = "reference"
NONE_YET = (
    "No reference yet. Go to a take that looks right and press Shift+C: all others are compared with it."
)
GONE = "The reference take is gone. Go to another that looks right and press Shift+C."
RUNNING = "Comparing takes with the reference…"
NO_PICTURES = "This clip has no pictures to compare."
IS_REFERENCE = "This take is the reference: all others are compared with it."
NOT_COMPARED = "This take was not compared. Choose the reference anew (Shift+C twice) to compare it."


class CompareSteps(QObject):
    """Fills the page, and says in a line how far the examined take sits from the reference."""

    told = Signal(str)
    """How the take compares, in a line beside the proof; empty where there is nothing to say."""

    def __init__(
        self,
        session: Session,
        page: ComparePage,
        examined: ExaminedTake,
        comparing: Comparing,
        matching: BackgroundMatch,
        settings: MatchSettings,
        seen: Callable[[], bool],
        parent: QObject | None = None,
    ) -> None:
        """``seen`` tells whether the page is on screen: else no pictures are asked for."""
        super().__init__(parent)
        self._session, self._page, self._examined = session, page, examined
        self._comparing, self._matching, self._seen = comparing, matching, seen
        self._settings = settings
        comparing.arrived.connect(self.show_take)
        matching.changed.connect(self.show_take)
        settings.arrived.connect(self.show_take)
        page.pictures.resized.connect(self.show_take)

    @property
    def _found(self) -> tuple[Clip, Take] | None:
        entry = self._examined.entry
        return None if entry is None or entry.take is None else (entry.clip, entry.take)

    @property
    def can_be_reference(self) -> bool:
        """Whether there is a take that others can be compared with."""
        return self._found is not None and self._found[0].frame_rate is not None

    @property
    def is_reference(self) -> bool:
        """Whether the examined take is the reference."""
        reference = reference_take(self._session.view)
        return reference is not None and self._found is not None and self._found[1].id == reference.id

    def toggle_reference(self) -> None:
        """Compare all others with the examined take; where it is the reference, with none."""
        found = self._found
        if found is None or not self.can_be_reference:
            return
        clip, take = found
        shoot = self._session.shoot
        if self.is_reference:
            self._session.apply("No Reference", set_reference(shoot, None), ORIGIN)
        else:
            reference = Reference(clip.id, take.clip_start_s, take.clip_end_s)
            self._session.apply("Use as Reference", set_reference(shoot, reference), ORIGIN)

    def show_take(self) -> None:
        """Show how the examined take compares."""
        view, found = self._session.view, self._found
        said, after, doubts = self._words(view, found)
        match = None if found is None else found[1].match
        compared = match is not None and not self.is_reference
        if view.reference is None and found is not None:
            self.told.emit("")  # nobody asked for it: the proof needs the room
        else:
            line = f"Against the reference: {said[:1].lower()}{said[1:]}" if compared else said
            self.told.emit(f"{line} {after}".strip() if found is not None else "")
        self._page.tell(said, after, doubts, previewed=compared)
        self._page.distances.setVisible(view.reference is not None)
        if self._seen():
            self._page.distances.show_shoot(view, "" if found is None else found[1].id)
            self._show_pictures(view, found)
            self._show_choices(found)

    def _show_choices(self, found: tuple[Clip, Take] | None) -> None:
        choices = self._page.choices
        choices.setVisible(self._settings.can_be_set)
        if found is not None and self._settings.can_be_set:
            tagged = self._settings.tagged(found[0].media)
            functions = self._settings.functions
            choices.show_take(found[1].settings, functions, tagged, is_reference=self.is_reference)

    def _words(self, view: SongView, found: tuple[Clip, Take] | None) -> tuple[str, str, tuple[str, ...]]:
        if found is None:
            return "No take is chosen.", "", ()
        clip, take = found
        if view.reference is None:
            return NONE_YET, "", ()
        if reference_take(view) is None:
            return GONE, "", ()
        if self.is_reference:
            return IS_REFERENCE, "", ()
        if clip.frame_rate is None:
            return NO_PICTURES, "", ()
        if take.match is None:
            trouble = self._matching.trouble_of(clip.media.path)
            return (RUNNING if self._matching.busy else trouble or NOT_COMPARED), "", ()
        before, after = match_words(take.match)
        return before, after, doubt_words(take.match)

    def _show_pictures(self, view: SongView, found: tuple[Clip, Take] | None) -> None:
        pictures, reference = self._page.pictures, reference_take(view)
        owner = None if reference is None else view.clip(view.reference.clip_id) if view.reference else None
        pictures.setVisible(owner is not None or self.can_be_reference)
        if reference is None or owner is None:
            self._show_alone(view, found)
            return
        at_s = self._examined.song_s
        inside = reference.song_start_s <= at_s <= reference.song_end_s
        there_s = at_s if inside else (reference.song_start_s + reference.song_end_s) / 2
        elsewhere = "" if inside else "does not run here: "
        captions = [elsewhere + _caption(view, owner, reference, there_s)]
        lines = pictures.wanted_lines()
        wanted = Wanted(owner.media.path, round(reference.clip_time(there_s), 3), height=lines)
        if found is not None and not self.is_reference and found[0].frame_rate is not None:
            clip, take = found
            own_s = _within(take, at_s)
            captions.append(_caption(view, clip, take, at_s))
            if take.match is not None:
                captions.append(_cdl_words(take.match))
            wanted = replace(wanted, take=clip.media.path, take_s=round(own_s, 3), match=take.match)
        shown = self._comparing.get(wanted)
        pictures.show_pictures(shown, captions, "…" if shown is None else shown.trouble)

    def _show_alone(self, view: SongView, found: tuple[Clip, Take] | None) -> None:
        """Without a reference the take alone, for whoever looks for one."""
        pictures = self._page.pictures
        if found is None or not self.can_be_reference:
            pictures.show_pictures(None, ())
            return
        clip, take = found
        at_s = self._examined.song_s
        wanted = Wanted(clip.media.path, round(_within(take, at_s), 3), height=pictures.wanted_lines())
        shown = self._comparing.get(wanted)
        note = "…" if shown is None else shown.trouble
        pictures.show_pictures(shown, (_caption(view, clip, take, at_s),), note, NAMES[1:2])


def _within(take: Take, song_s: float) -> float:
    """The moment of a take's clip at which it has a moment of the song, or comes nearest to it."""
    return min(max(take.clip_time(song_s), take.clip_start_s), take.clip_end_s)


def _cdl_words(match: Match) -> str:
    """Which figures of the CDL change anything."""
    parts = ["slope", "offset"]
    parts += ["power"] if any(one != 1.0 for one in match.power) else []
    parts += ["saturation"] if match.saturation != 1.0 else []
    return f"ASC CDL: {', '.join(parts)}"


def _caption(view: SongView, clip: Clip, take: Take, song_s: float) -> str:
    return f"{view.angle(clip.angle_id).name} · {words.take_name(clip, take)} · {words.song_time(song_s, 1)}"
