"""Takes of the sample shoot as another exposure, or other light, would have shown them; and their match.

    python -m tests.quality.sample_changed

Light is changed in linear light through the BT.709 curve and encoded again, so eight bits and compression do
what they do in a camera: what was clipped is gone.
"""

import argparse
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from app.engine import tasks
from app.model.document.decisions import Reference
from app.model.document.identity import media_ref
from app.model.document.looks import Match
from audio.files.frame_reader import decode, open_video
from audio.pictures.cdl import Cdl, three
from audio.pictures.transfer import BT709
from tests.app.sample_takes import sample_takes
from tests.quality.scene_files import encode

CHANGES = {"over": (1.5, 1.5, 1.5), "colour": (0.4, 0.0, -0.3)}
"""Stops by which red, green and blue are brighter."""
CLIPS = ("fiddle hands/G0021.MOV", "drums/P0231.MP4", "bass/P0232.MP4")


@dataclass(frozen=True, slots=True)
class Changed:
    """A changed take that was matched with the one it was made of."""

    clip: str
    change: str
    match: Match
    left: NDArray[np.float64]
    """Stops that are left on a grey scale, by channel."""

    @property
    def stops(self) -> float:
        """Of exposure, that are left."""
        return float(self.left @ np.array([0.2126, 0.7152, 0.0722]))

    @property
    def near(self) -> bool:
        """Whether it comes within 0.1 stop, and 10 % of the balance: a ratio of light of 1.1."""
        return abs(self.stops) <= 0.1 and self.balance <= np.log2(1.1)

    @property
    def balance(self) -> float:
        """Of warm or green, whichever is more, that are left."""
        red, green, blue = self.left
        return float(max(abs(red - blue), abs(green - (red + blue) / 2)))


def changed_copy(source: Path, path: Path, gain: tuple[float, ...], seconds: float = 1e9) -> Path:
    """A copy of a clip's pictures (without sound) in other light."""
    scale = np.arange(256) / 255
    tables = np.stack(
        [np.rint(255 * np.clip(BT709.values(BT709.light(scale) * 2.0**one), 0, 1)) for one in gain], axis=1
    ).astype(np.uint8)

    def shown() -> Iterator[NDArray[np.uint8]]:
        with open_video(source) as video:
            for number, frame in enumerate(decode(video)):
                if number >= seconds * float(video.stream.average_rate or 25):
                    return
                rgb = frame.to_ndarray(format="rgb24")
                yield np.stack([tables[:, n][rgb[..., n]] for n in range(3)], axis=-1)

    with av.open(str(source)) as container:
        rate = container.streams.video[0].average_rate
    assert rate is not None
    return encode(path, shown(), rate)


def matched(name: str, change: str, folder: Path, seconds: float = 1e9) -> Changed:
    """A clip of the sample, changed, and matched with itself as it is."""
    view = sample_takes()
    clip = next(one for one in view.clips if one.media.path.endswith(name))
    take = clip.takes[0]
    end_s = min(take.clip_end_s, seconds)
    plain = replace(clip, id="plain", takes=(replace(take, id="plain", clip_end_s=end_s),))
    path = changed_copy(Path(clip.media.path), folder / f"{change}.mp4", CHANGES[change], seconds)
    other = replace(plain, id=change, media=media_ref(path), takes=(replace(plain.takes[0], id=change),))
    two = replace(view, clips=(plain, other), reference=Reference("plain", take.clip_start_s, end_s))
    (found,) = tasks.match_takes(two, workers=0, use_cache=False)
    return Changed(name, change, found, _left(found, np.array(CHANGES[change])))


def _left(match: Match, gain: NDArray[np.float64]) -> NDArray[np.float64]:
    cdl = Cdl(three(match.slope), three(match.offset), three(match.power), match.saturation)
    light = np.geomspace(0.02, 0.8, 40)[:, None] / 2 ** max(0.0, gain.max())
    shown = cdl.applied(BT709.values(light * 2.0**gain))
    return np.asarray(np.median(np.log2(np.maximum(BT709.light(shown), 1e-6) / light), axis=0))


def main() -> None:
    """Match all of them and tell."""
    parser = argparse.ArgumentParser(description="Match changed takes of the sample shoot.")
    parser.parse_args()
    near = 0
    with tempfile.TemporaryDirectory() as folder:
        for name in CLIPS:
            for change in CHANGES:
                one = matched(name, change, Path(folder))
                near += one.near
                print(
                    f"{name:24} {change:7} told {one.match.stops:+.2f} stops, {one.match.warm:+.2f} warm, "
                    f"{one.match.green:+.2f} green; left {one.stops:+.3f} stops, balance {one.balance:.3f} "
                    f"stops; {', '.join(one.match.doubts) or 'no doubt'}"
                )
    print(f"within 0.1 stop and 10 % of the balance: {near} of {len(CLIPS) * len(CHANGES)}")


if __name__ == "__main__":
    main()
