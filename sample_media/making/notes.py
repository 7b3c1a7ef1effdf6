"""Notes on paper: a small notation for melodies and chords in three-four time."""

from dataclasses import dataclass

BEATS_PER_BAR = 3
_STEP = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SHAPES = {"": (0, 4, 7), "m": (0, 3, 7), "7": (0, 4, 7, 10), "m7": (0, 3, 7, 10)}


@dataclass(frozen=True, slots=True)
class Note:
    """A written note; ``beat`` from 0 at the tune's first beat, ``pitch`` in semitones (A4 is 69)."""

    beat: float
    length: float
    pitch: int
    strength: float = 0.8


@dataclass(frozen=True, slots=True)
class Chord:
    """Root as a pitch class (C is 0) and the pitch classes above it, root first."""

    root: int
    tones: tuple[int, ...]


def pitch_of(name: str) -> int:
    """Semitone number of a name such as ``F#4``.

    >>> pitch_of("A4"), pitch_of("F#4"), pitch_of("Bb3")
    (69, 66, 58)
    """
    step = _STEP[name[0]] + name.count("#") - name[1:].count("b")
    return 12 * (int(name[-1]) + 1) + step


def melody(text: str, first_bar: int = 0, strength: float = 0.8) -> list[Note]:
    """Read bars of ``pitch:beats`` between ``|``; ``-`` is a rest, a trailing ``!`` an accent.

    Raises ValueError where a bar does not fill three beats.

    >>> [(n.beat, n.length, n.pitch) for n in melody("A4:2 B4:1 | -:1 D5:2")]
    [(0.0, 2.0, 69), (2.0, 1.0, 71), (4.0, 2.0, 74)]
    """
    notes: list[Note] = []
    for number, bar in enumerate(text.split("|")):
        beat = float(BEATS_PER_BAR * (first_bar + number))
        end = beat + BEATS_PER_BAR
        for word in bar.split():
            name, length = word.rstrip("!").split(":")
            if name != "-":
                loud = strength * (1.2 if word.endswith("!") else 1.0)
                notes.append(Note(beat, float(length), pitch_of(name), loud))
            beat += float(length)
        if abs(beat - end) > 1e-9:
            raise ValueError(f"bar {first_bar + number + 1} does not fill three beats: {bar.strip()}")
    return notes


def chords(text: str) -> list[Chord]:
    """Read one chord a bar.

    >>> chords("Bm F#7")[1]
    Chord(root=6, tones=(6, 10, 1, 4))
    """
    found = []
    for word in text.replace("|", " ").split():
        cut = 2 if word[1:2] in ("#", "b") and word[1:2] else 1
        root = pitch_of(word[:cut] + "0") % 12
        found.append(Chord(root, tuple((root + shape) % 12 for shape in _SHAPES[word[cut:]])))
    return found


def close_to(tone: int, centre: int) -> int:
    """The pitch of a pitch class nearest to ``centre``.

    >>> close_to(11, 60), close_to(6, 60)
    (59, 66)
    """
    return centre + (tone - centre + 5) % 12 - 5


def below(pitch: int, chord: Chord) -> int:
    """The highest tone of the chord at least three semitones under ``pitch``."""
    return next(p for p in range(pitch - 3, pitch - 16, -1) if p % 12 in chord.tones)
