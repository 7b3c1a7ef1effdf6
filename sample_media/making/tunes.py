"""The two tunes: "Six O'Clock Ferry", which the shoot is about, and "Salt on the Stairs", which is not."""

from dataclasses import dataclass, field, replace

from making.notes import BEATS_PER_BAR, Chord, Note, below, chords, close_to, melody


@dataclass(frozen=True, slots=True)
class Copied:
    """Bars of the finished recording that were used once more in place of others; bars count from 0."""

    first: int
    again: int
    bars: int

    @property
    def beats(self) -> int:
        """Number of beats."""
        return self.bars * BEATS_PER_BAR

    @property
    def from_beat(self) -> int:
        """First beat of the bars that were copied."""
        return self.first * BEATS_PER_BAR

    @property
    def to_beat(self) -> int:
        """First beat of the bars that they replaced."""
        return self.again * BEATS_PER_BAR

    def written(self, part: list[Note]) -> list[Note]:
        """A part with the copied bars in both places."""
        later = self.to_beat - self.from_beat
        kept = [n for n in part if not self.to_beat <= n.beat < self.to_beat + self.beats]
        source = [n for n in part if self.from_beat <= n.beat < self.from_beat + self.beats]
        return kept + [replace(n, beat=n.beat + later) for n in source]


@dataclass(slots=True)
class Tune:
    """A tune with a part for every player; parts hold written notes."""

    title: str
    tempo_bpm: float
    chords: list[Chord]
    sections: list[tuple[str, str, int, int]]
    """Letter, name, first bar (from 0), bars."""
    shades: dict[str, float] = field(default_factory=dict)
    """How strongly a section is played, by its letter; 1 where nothing is said."""
    copied: Copied | None = None
    lead: list[Note] = field(default_factory=list)
    """Accordion, right hand."""
    left: list[Note] = field(default_factory=list)
    """Accordion, left hand."""
    fiddle: list[Note] = field(default_factory=list)
    bass: list[Note] = field(default_factory=list)
    brushes: list[Note] = field(default_factory=list)
    """Pitch is the stroke: 0 drum, 1 sweep, 2 tap, 3 cymbal."""

    @property
    def bars(self) -> int:
        """Number of bars."""
        return len(self.chords)


DRUM, SWEEP, TAP, CYMBAL = range(4)

_CALL = "B4:1 F#4:1 D5:1|C#5:2 B4:1"
_INTRO = "B4:1 G4:1 D5:1|E5:2 D5:1|E5:1 B4:1 G5:1|F#5:2 E5:1|C#5:1 E5:1 D5:1|C#5:3"
_VERSE_A = (
    "F#4:1 B4:1 C#5:1|D5:2! C#5:1|E5:1.5 D5:.5 C#5:1|B4:3|D5:2! B4:1|A4:2 F#4:1|A#4:1 B4:1 C#5:1|C#5:2 F#4:1"
)
_VERSE_B = (
    "B4:1 C#5:1 D5:1|F#5:2! D5:1|G5:1.5! F#5:.5 E5:1|D5:3|E5:1 D5:1 B4:1|C#5:2 A#4:1|B4:3|-:1 A4:1 C#5:1"
)
_CHORUS = (
    "D5:2! E5:1|F#5:2! A5:1|F#5:2! D5:1|B4:3|G5:2! F#5:1|E5:2 D5:1|E5:1 F#5:1 E5:1|A4:3|"
    "D5:2! E5:1|F#5:2! A5:1|B5:2! A5:1|F#5:3|G5:1! F#5:1 E5:1|C#5:2 E5:1|D5:3|-:2 A4:1"
)
_CHORUS_ALOFT = (
    "D5:2! E5:1|F#5:1.5! G5:.5 A5:1|F#5:2! D5:1|B4:2 C#5:1|G5:2! F#5:1|E5:1.5 F#5:.5 D5:1|"
    "E5:1 F#5:1 E5:1|A4:3|"
    "D5:2! E5:1|F#5:1.5! G5:.5 A5:1|B5:1.5! C#6:.5 A5:1|F#5:3|G5:1! F#5:1 E5:1|C#5:1.5 D5:.5 E5:1|D5:3|D5:3"
)
_SOLO = (
    "B4:.5 D5:.5 G5:.5! B5:.5 A5:.5 G5:.5|F#5:1! G5:.5 F#5:.5 E5:.5 D5:.5|F#5:.5 A5:.5 D6:1! A5:.5 F#5:.5|"
    "E5:.5 F#5:.5 D5:2|G5:.5! F#5:.5 E5:.5 D5:.5 B4:.5 G4:.5|E4:.5 G4:.5 B4:.5 E5:.5 G5:1|"
    "A5:1.5! G5:.5 E5:.5 C#5:.5|A4:2 B4:.5 C#5:.5|D5:.5 G5:.5 B5:.5! A5:.5 B5:.5 D6:.5|B5:2! A5:.5 G5:.5|"
    "A5:.5! F#5:.5 C#5:.5 F#5:.5 A5:1|B5:1.5! A5:.5 F#5:.5 D5:.5|G5:.5 A5:.5 G5:.5 F#5:.5 E5:.5 D5:.5|"
    "C#5:.5 E5:.5 A5:1! G5:1|F#5:1! E5:.5 D5:1.5|-:1 A4:1 C#5:1"
)
_CODA = "G5:1! F#5:1 E5:1|C#5:2 E5:1|D5:3|G5:1 E5:1 C#5:1|D5:3|-:3"
_FILL = "F#5:1 E5:.5 D5:.5 C#5:.5 A#4:.5"


def _band(tune: Tune, bass_from: int, quiet_until: int, chords_from: int) -> None:
    """Give the left hand, the bass and the brushes their parts from the chords."""
    turns = {first for _, _, first, _ in tune.sections}
    last = tune.bars - 2
    for bar, chord in enumerate(tune.chords):
        beat = float(bar * BEATS_PER_BAR)
        following = tune.chords[min(bar + 1, tune.bars - 1)]
        root = close_to(chord.root, 40)
        fifth = close_to(chord.tones[2], 42)
        if bar >= last:
            tune.bass += [Note(beat, 2.6 if bar == last else 1.0, root, 0.85)]
            tune.brushes += [Note(beat, 1, DRUM, 0.7)]
            if bar == last:
                tune.left += [Note(beat, 3.5, close_to(tone, 58), 0.5) for tone in chord.tones[:3]]
                tune.brushes += [Note(beat, 1, CYMBAL, 0.8)]
            continue
        low = root if bar % 2 == 0 or chord.root != tune.chords[bar - 1].root else fifth
        if following.root != chord.root and bar % 2:
            step = close_to(following.root, 40)
            tune.bass += [
                Note(beat, 1.9, low, 0.85),
                Note(beat + 2, 0.95, step + (2 if step < low else -1), 0.6),
            ]
        else:
            tune.bass += [Note(beat, 2.8, low, 0.85)]
        if bar >= chords_from:
            for offbeat, loud in ((1, 0.5), (2, 0.42)):
                tune.left += [
                    Note(beat + offbeat, 0.55, close_to(tone, 58), loud) for tone in chord.tones[:3]
                ]
        if bar >= quiet_until:
            tune.brushes += [Note(beat, 1, DRUM, 0.75), Note(beat, 1.7, SWEEP, 0.7)]
            tune.brushes += [Note(beat + 1, 1, TAP, 0.55), Note(beat + 2, 1, TAP, 0.65)]
            if bar % 8 == 7:
                tune.brushes += [Note(beat + 1.5, 0.5, TAP, 0.4), Note(beat + 2.5, 0.5, TAP, 0.5)]
            if bar in turns:
                tune.brushes += [Note(beat, 1, CYMBAL, 0.7)]
    tune.bass = [note for note in tune.bass if note.beat >= bass_from * BEATS_PER_BAR]


def _harmony(lead: list[Note], tune: Tune, strength: float, drop: int = 0) -> list[Note]:
    """A second voice under a lead: chord tones, an octave lower with ``drop`` 12."""
    return [
        Note(n.beat, n.length, below(n.pitch, tune.chords[int(n.beat) // BEATS_PER_BAR]) - drop, strength)
        for n in lead
    ]


def _shade(tune: Tune) -> None:
    """Play some sections softer, some stronger."""
    for part in (tune.lead, tune.left, tune.fiddle, tune.bass, tune.brushes):
        for index, note in enumerate(part):
            letter = next(s[0] for s in reversed(tune.sections) if note.beat >= s[2] * BEATS_PER_BAR)
            part[index] = replace(note, strength=note.strength * tune.shades.get(letter, 1.0))


def six_oclock_ferry() -> Tune:
    """The song of the shoot: 86 bars, three beats each."""
    verse_a, verse_b = "Bm Bm Em Bm G D F#7 F#7", "Bm Bm Em Bm G F#7 Bm A7"
    chorus = "D D Bm Bm G G A7 A7 D D Bm F#m G A7 D "
    tune = Tune(
        "Six O'Clock Ferry",
        144.0,
        chords(
            f"Bm Bm G G Em Em F#7 F#7 {verse_a} {verse_b} {chorus} F#7 {verse_b.replace('A7', 'D7')} "
            f"G G D D Em Em A7 A7 G G F#m Bm Em A7 D A7 {chorus} D7 G A7 Bm A7 D D"
        ),
        [
            ("A", "Intro", 0, 8),
            ("B", "Verse 1", 8, 16),
            ("C", "Chorus 1", 24, 16),
            ("D", "Verse 2", 40, 8),
            ("E", "Fiddle solo", 48, 16),
            ("F", "Chorus 2", 64, 16),
            ("G", "Coda", 80, 6),
        ],
        {"A": 0.72, "B": 0.78, "D": 0.84, "E": 0.95, "F": 1.12, "G": 0.85},
    )
    # The fiddle calls alone: two bars without low notes, so that the map has one thing to correct.
    _band(tune, bass_from=2, quiet_until=4, chords_from=4)
    verse_1 = melody(f"{_VERSE_A}|{_VERSE_B}", 8)
    chorus_1, chorus_2 = melody(_CHORUS, 24, 0.9), melody(_CHORUS_ALOFT, 64, 1.0)
    verse_2, coda = melody(_VERSE_B, 40, 0.9), melody(_CODA, 80, 0.85)
    tune.lead = melody(_INTRO, 2, 0.7) + verse_1 + chorus_1 + chorus_2 + coda
    tune.lead += _harmony(chorus_2, tune, 0.5) + [Note(252, 3.5, p, 0.6) for p in (66, 69)]
    tune.fiddle = melody(_CALL, 0, 0.8) + melody("-:2 F#4:1|F#5:3|E5:2 F#5:1", 5, 0.5)
    tune.fiddle += melody(f"{_FILL}|D5:3|F#5:3|E5:2 G5:1|F#5:3|G5:3|E5:3|D5:2 C#5:1|E5:3", 15, 0.55)
    tune.fiddle += _harmony(chorus_1, tune, 0.65) + verse_2 + melody(_SOLO, 48, 0.95)
    tune.fiddle += [Note(n.beat, n.length, n.pitch + 12, 0.5) for n in chorus_2[:22]]
    tune.fiddle += _harmony(chorus_2[22:], tune, 0.7) + _harmony(coda[:-1], tune, 0.65)
    tune.fiddle += [Note(252, 3.5, 81, 0.55)]
    _shade(tune)
    # Inside these bars a short take fits two places, so that there is one take in doubt.
    tune.copied = Copied(first=32, again=72, bars=7)
    tune.lead, tune.left, tune.fiddle, tune.bass, tune.brushes = (
        tune.copied.written(part) for part in (tune.lead, tune.left, tune.fiddle, tune.bass, tune.brushes)
    )
    return tune


def salt_on_the_stairs() -> Tune:
    """Another tune in a near key and tempo, played by the same four: it must not be taken for the song."""
    tune = Tune(
        "Salt on the Stairs",
        141.0,
        chords("G D Em Bm C G A7 D G D Em Bm C D7 G G Em Em C G Am7 D7 G G"),
        [("A", "First part", 0, 16), ("B", "Second part", 16, 8)],
    )
    _band(tune, bass_from=0, quiet_until=0, chords_from=0)
    tune.lead = melody(
        "G4:1 B4:1 D5:1|F#5:1.5 E5:.5 D5:1|E5:1 G5:1 B4:1|D5:3|E5:1 C5:1 G5:1|D5:2 B4:1|"
        "C#5:1 E5:1 G5:1|F#5:3|B5:1 A5:1 G5:1|A5:1.5 F#5:.5 D5:1|G5:1 E5:1 B4:1|D5:2 F#5:1|"
        "E5:1 G5:1 C6:1|A5:1 F#5:1 D5:1|G5:3|-:2 D5:1|E5:.5 F#5:.5 G5:1 B5:1|B5:2 G5:1|"
        "E5:1 G5:1 C6:1|B5:3|A5:1 G5:1 E5:1|F#5:1 A5:1 C5:1|B4:1 G4:2|-:3",
        0,
        0.85,
    )
    tune.fiddle = _harmony(tune.lead, tune, 0.7)
    return tune
