"""Shows on Check's page what is examined."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtGui import QColor

from app.model.check_queue import Entry, Shown, is_open
from app.model.document.decisions import Action, Decided
from app.model.document.song import SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.reasons import sentence
from app.window.check import check_words
from app.window.check.check_page import HINT, CheckPage
from app.window.check.examined_take import MOMENTS, ExaminedTake
from app.window.check.fit_row import FitRow
from app.window.check.proof_painter import Held
from app.window.check.proving import Proving
from app.window.check.queue_list import FILTER_KEY, NONE_OF
from app.window.parts import words
from app.window.parts.theme import Theme
from app.window.session import Session

if TYPE_CHECKING:
    from app.engine.checking import Proof


SILENT = "No sound to compare. Check that the frames match the hits in the song."


class CheckView:
    """Fills the page; changes nothing."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        page: CheckPage,
        examined: ExaminedTake,
        proving: Proving,
    ) -> None:
        self._session, self._theme, self._page = session, theme, page
        self._examined, self._proving = examined, proving
        self._empty = ""
        """What is said where there is no take."""

    @property
    def rows(self) -> Sequence[FitRow]:
        """The places where the take could be; the first is where it lies."""
        return self._page.places.rows

    @property
    def song_map(self) -> SongMap:
        """The song's map; an empty one without a song."""
        song = self._session.view.song
        return SongMap() if song is None else song.map

    def tell(self, sentence: str) -> None:
        """Say something about what was just tried; nothing to take it back."""
        self._page.message.setText(sentence)
        self._page.message.setVisible(bool(sentence))
        self._page.line.setVisible(not sentence)

    def show_entry(self, shoot: SongView, shown: Shown) -> None:
        """Name the take that is looked at, and list the places where it could be."""
        entry, page = self._examined.entry, self._page
        self.tell(page.message.text())
        if entry is None:
            page.name.setText("Nothing to show")
            page.line.setText("")
            self._empty = f"{NONE_OF[shown]} Press {FILTER_KEY} to list other takes."
            reason = ""
        else:
            page.name.setText(shoot.angle(entry.clip.angle_id).name)
            page.line.setText(self._describe(entry))
            self._empty = "" if entry.refused is None else "The take was not kept when you marked it."
            reason = _reason(entry)
        page.reason.setText(reason)
        page.reason.setVisible(bool(reason))
        take = None if entry is None else entry.take
        page.places.show_take(take, self.song_map, self._examined.preview)

    def show_moment(self) -> None:
        """Draw song and take at the moments that are looked at."""
        examined, page = self._examined, self._page
        entry, take = examined.entry, examined.take
        if entry is None or take is None:
            page.show_nothing(self._empty)
            if entry is None:
                page.trio.show_frame(None, 0)
            return
        colour = self._colour(entry.clip)
        page.hint.setText("" if entry.take is None else HINT)
        found: list[tuple[Proof, float]] = []
        for number, (cell, (name, _)) in enumerate(zip(page.cells, MOMENTS, strict=True)):
            song_s = examined.moments[number]
            proof, behind_s = self._proof(take, song_s)
            if proof is not None:
                found.append((proof, behind_s))
            bar = words.bar_words(self.song_map, song_s)
            held = Held(entry.clip, take, song_s, examined.slide_s)
            cell.show_moment(f"{name}, {bar}" if bar else name, held, proof, behind_s, colour)
            cell.setChecked(examined.bar_s is None and number == examined.moment)
        held = Held(entry.clip, take, examined.song_s, examined.slide_s)
        proof, behind_s = self._proof(take, examined.song_s)
        if examined.bar_s is not None and proof is not None:
            found.append((proof, behind_s))
        page.strip.show_moment(
            held, proof, behind_s, colour, self.song_map.beats_s, self.note(), self._above()
        )
        if not page.pinning:
            page.trio.show_frame(entry.clip, held.frame)
        self._tell_news(entry.clip, take, found)
        page.lag.show_take(entry.clip, take, self.song_map, [proof for proof, _ in found], colour)
        page.lag.show_at(held.clip_s, examined.mark_s)

    def _tell_news(self, clip: Clip, take: Take, found: "Sequence[tuple[Proof, float]]") -> None:
        """Say how the take lies, the worst first."""
        slid_s = self._examined.slide_s
        lates = [
            None if proof.late_s is None else proof.late_s + behind_s + slid_s
            for proof, behind_s in found
            if not proof.silent
        ]
        page, trouble = self._page, self._trouble()
        if trouble:
            worst, rest = f"! {trouble}", ""
        elif found and not lates:
            worst = SILENT
            rest = check_words.odd_speed(clip, take.pins) or check_words.sure(clip, take)
        else:
            entry = self._examined.entry
            if self._examined.preview is not None or (entry is not None and entry.refused is not None):
                # Of a place that is only looked at, or was refused, all is only if.
                take = replace(take, verdict=Verdict.DOUBTFUL, decided=None)
            worst, rest = check_words.news(clip, take, lates)
        bar_s = self._examined.bar_s
        bar = "" if bar_s is None else words.bar_words(self.song_map, bar_s)
        here = f"Looking at {bar}." if bar else ""
        waits = "" if trouble or found else self.note()
        page.lag_words.setText(worst)
        page.lag_words.set_role("warm" if worst.startswith("!") else "ink")
        page.agreement.setText(" ".join(filter(None, (rest, here, waits))))

    def _describe(self, entry: Entry) -> str:
        clip, take = entry.clip, entry.held
        apart = words.told_apart(self._session.view.clips).get(clip.id, "")
        if take is None:
            parts = [
                words.file_name(clip),
                apart,
                f"{words.song_time(clip.duration_s, 1)} long",
                "no take yet",
            ]
            return " · ".join(filter(None, parts))
        length = words.song_time(take.clip_end_s - take.clip_start_s, 1)
        parts = [check_words.name(entry, apart)[0], f"{length} long", words.take_place(self.song_map, take)]
        decided = "" if entry.refused is not None else check_words.decided(take.decided)
        return " · ".join([*parts, *filter(None, [decided])])

    def _proof(self, take: Take, song_s: float) -> "tuple[Proof | None, float]":
        """The proof of a moment, and how much later the take lies now than when it was made."""
        placed = self._examined.placed(self._session.view)
        if placed is not None:
            for proof in self._proving.proofs_of(placed):
                if abs(proof.song_s - song_s) < 0.0005:
                    return proof, take.song_time(proof.clip_s) - proof.song_s
        return None, 0.0

    def _trouble(self) -> str:
        """Why there is no proof of the take that is looked at."""
        placed = self._examined.placed(self._session.view)
        return "" if placed is None else self._proving.trouble_of(placed)

    def _above(self) -> str:
        """What the take is compared with: the song, or the playback file by its name."""
        placed = self._examined.placed(self._session.view)
        return "song" if placed is None or placed.played is None else placed.played.path.name

    def note(self) -> str:
        """What is said where there is no proof yet."""
        far = self._proving.far
        share = f" {far:.0%}" if self._proving.waiting and 0.02 < far < 0.99 else ""
        return self._trouble() or f"Reading song and take…{share}"

    def _colour(self, clip: Clip) -> QColor:
        return self._theme.angle_colour(self._session.view.angle(clip.angle_id))


def _reason(entry: Entry) -> str:
    """Why the take needs to be looked at."""
    clip, take = entry.clip, entry.take
    if entry.refused is not None:
        at = check_words.decided(Decided(Action.REFUSED, entry.refused.at))
        return f"You marked this as {at}. Press N to unmark it."
    if take is None:
        back = " Press N to unmark it." if entry.refused_clip else ""
        return f"{sentence(clip.reason)}{back}"
    return (sentence(take.reason or clip.reason) or "The place is not certain.") if is_open(take) else ""
