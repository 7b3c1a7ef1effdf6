"""Keeps the score and the player together: what is chosen is what is heard, and what is heard is shown."""

from bisect import bisect_right
from collections.abc import Callable, Sequence

from PySide6.QtCore import QObject

from app.model.coverage.to_hear import take_to_hear, takes_in
from app.model.song_map.bar_spans import BarSpan
from app.window.playing.player import Player
from app.window.score.chosen import Chosen
from app.window.score.score_canvas import ScoreCanvas
from app.window.session import Session


class ScorePlaying(QObject):
    """At rest the player stands at the chosen bar with the chosen take, so that Space plays just that.

    A click takes the music along. While it plays, another angle chosen by key is heard at once; another bar
    waits until the music rests. Where none waits, a pause chooses the bar it stopped in. A take chosen
    elsewhere (among the pictures) is chosen in the score too.
    """

    def __init__(
        self,
        session: Session,
        canvas: ScoreCanvas,
        player: Player,
        seen: Callable[[], bool],
        parent: QObject | None = None,
    ) -> None:
        """``seen`` tells whether the score is on screen: elsewhere the player is left alone."""
        super().__init__(parent)
        self._session, self._canvas, self._player, self._seen = session, canvas, player, seen
        self._spans: Sequence[BarSpan] = ()
        self._followed = Chosen()
        self._own = self._waits = False
        self._played = player.playing
        canvas.chosen_changed.connect(self.follow)
        player.changed.connect(self._on_player_changed)
        player.moved.connect(self._on_player_moved)

    def show_bars(self, spans: Sequence[BarSpan]) -> None:
        """Go by these bars from now on; the take is looked up again, where one is stays."""
        self._spans = spans
        if self._player.take_id is None:
            self._followed = Chosen()
        self.follow()

    def arrive(self) -> None:
        """The score comes on screen: it shows what plays; at rest, the player comes to what it shows."""
        if self._player.playing:
            self._take_over()
        else:
            self._followed = Chosen()
        self.follow()

    def follow(self) -> None:
        """Hear what is chosen now."""
        before, now = self._followed, self._canvas.chosen
        if not self._seen() or self._at(now) is None:
            return
        self._followed = now
        if self._own:
            return
        moved = (before.bar, before.span) != (now.bar, now.span)
        if moved and not self._player.playing:
            self.stand()
        else:
            self._waits |= moved
            self._hear(self.bar_at(self._player.position()))

    def stand(self) -> None:
        """At rest, stand at the chosen bar."""
        bar = self._at(self._canvas.chosen)
        if bar is not None and self._seen() and not self._player.playing:
            self._waits = False
            self._hear(bar)
            self._player.seek(bar.start_s)

    def go(self) -> None:
        """Go on from the chosen bar where it plays; stand there at rest."""
        bar = self._at(self._canvas.chosen)
        if bar is not None and self._player.playing:
            self._waits = False
            self._hear(bar)
            self._player.seek(bar.start_s)
        else:
            self.stand()

    def play(self) -> None:
        """Play from the chosen bar, or the first of a range, with the chosen take."""
        bar = self._at(self._canvas.chosen)
        if bar is not None:
            self._waits = False
            self._followed = self._canvas.chosen
            self._own = True
            self._player.play(bar.start_s, self._take(bar))
            self._own = False
            self._show()

    def end_loop(self) -> None:
        """Loop nothing any more."""
        self._player.set_loop(None)

    def loop(self) -> None:
        """Play the chosen bars again and again; where they are looped already, play on."""
        span = self.chosen_s()
        if span is None:
            return
        on = self._player.loop != span
        self._player.set_loop(span if on else None)
        if on and not self._player.playing:
            self.play()

    def range_s(self) -> tuple[float, float] | None:
        """Where the chosen range of bars lies in the song; None where there is none on screen."""
        return self.chosen_s() if self._seen() and self._canvas.chosen.span is not None else None

    def next_take(self) -> None:
        """Choose the next take of the angle in the chosen bar, around the end."""
        bar = self._at(self._canvas.chosen)
        if bar is None:
            return
        angle_id = self._canvas.chosen.angle_id
        here = [take.id for take in takes_in(self._session.view, bar, angle_id)]
        if here:
            now = self._take(bar)
            self._point(here[(here.index(now) + 1) % len(here)] if now in here else here[0])

    @property
    def take_id(self) -> str | None:
        """The take that stands for the chosen bar and angle."""
        bar = self._at(self._canvas.chosen)
        return None if bar is None else self._take(bar)

    def _take(self, bar: BarSpan) -> str | None:
        chosen = self._canvas.chosen
        return take_to_hear(self._session.view, bar, chosen.angle_id, chosen.take_id)

    def _hear(self, bar: BarSpan | None) -> None:
        if bar is not None:
            self._own = True
            self._player.choose(self._take(bar))
            self._own = False
        self._show()

    def _on_player_changed(self) -> None:
        paused, self._played = self._played and not self._player.playing, self._player.playing
        if not self._seen():
            return
        if self._waits and not self._player.playing:
            self.stand()
        elif paused:
            self._come_to(self.bar_at(self._player.position()))
        elif not self._own and self._player.take_id != self._canvas.heard_id:
            self._take_over()
        self._show()

    def _take_over(self) -> None:
        """Choose in the score what is heard; where it plays, the bar too."""
        if self._player.playing:
            self._come_to(self.bar_at(self._player.position()))
        self._own = True
        if self._player.take_id is not None:
            self._point(self._player.take_id)
        self._own = False

    def _come_to(self, bar: BarSpan | None) -> None:
        """Choose a bar where the player is: what is told is of what is seen. The player stays."""
        if bar is not None and not self._chosen_holds(bar):
            self._own = True
            self._canvas.choose_at_rest(bar.number)
            self._own = False

    def _point(self, take_id: str) -> None:
        found = self._player.found(take_id)
        if found is not None:
            self._canvas.choose_at_rest(self._canvas.chosen.bar, found[0].angle_id, take_id=take_id)

    def _on_player_moved(self, song_s: float) -> None:
        """Where the take heard has ended, the angle's take that runs there is heard."""
        found = self._player.found()
        if not self._seen() or not self._player.playing or found is None:
            return
        clip, take = found
        mine = self._canvas.chosen.angle_id in (None, clip.angle_id)
        if mine and not take.song_start_s <= song_s < take.song_end_s:
            self._hear(self.bar_at(song_s))

    def _show(self) -> None:
        self._canvas.show_heard(self._player.take_id, self._player.loop)

    def _chosen_holds(self, bar: BarSpan) -> bool:
        chosen = self._canvas.chosen
        first, last = chosen.span or (chosen.bar or 0, chosen.bar or 0)
        return first <= bar.number <= last

    def chosen_s(self) -> tuple[float, float] | None:
        """Where the chosen bar or range lies in the song; None where none is chosen."""
        chosen = self._canvas.chosen
        first, last = self._at(chosen), self._span((chosen.span or (0, chosen.bar or 0))[1])
        return None if first is None or last is None else (first.start_s, last.end_s)

    def _at(self, chosen: Chosen) -> BarSpan | None:
        return self._span((chosen.span or (chosen.bar or 0,))[0])

    def _span(self, number: int) -> BarSpan | None:
        return next((bar for bar in self._spans if bar.number == number), None)

    def bar_at(self, song_s: float) -> BarSpan | None:
        """The bar in which a moment of the song lies, or the nearest."""
        index = bisect_right(self._spans, song_s, key=lambda bar: bar.start_s) - 1
        return self._spans[max(0, index)] if self._spans else None
