"""``anglebook look SHOOT [--report FILE.json] [--reference TAKE or CLIP[@SECONDS]]``"""

import argparse
from dataclasses import dataclass, replace
from pathlib import Path

from app.cli.opening import TRUST_PATHS, opened
from app.cli.output import Unusable, answer, failed, tell, unwritten, wrong_use
from app.engine import tasks
from app.handoff.look_text import look_text
from app.handoff.report import report_bytes
from app.model.document import store
from app.model.document.decisions import Reference
from app.model.document.looks import Match
from app.model.document.shoot import Shoot
from app.model.edits.look_edits import match_takes, see_clip, set_reference
from app.model.guarding import guard_of
from app.model.on_song import SongView, on_song
from app.model.seen import Seen, has_pictures
from app.model.storage.files import write_whole
from app.model.storage.guard import MayNotWrite


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""
    parser.add_argument(
        "shoot", metavar="SHOOT.anglebook", type=Path, help="a saved shoot; what is seen is saved in it"
    )
    parser.add_argument("--report", metavar="FILE.json", type=Path, help="write the full report as JSON")
    parser.add_argument(
        "--reference",
        metavar="CLIP[@SECONDS]",
        help="compare the exposure and colour of all takes with this one: the name of its clip, with a "
        "moment of it if it has several takes; or its id in the report (default: the one chosen before)",
    )
    parser.add_argument("--trust-paths", action="store_true", help=TRUST_PATHS)
    parser.add_argument(
        "--workers", metavar="N", type=int, help="processes that read pictures (default: one per core)"
    )
    parser.add_argument(
        "--fresh", action="store_true", help="look at everything again, even at what has not changed"
    )


@dataclass(frozen=True, slots=True)
class _Outcome:
    """What one run found out, put onto a shoot as it is by then."""

    seen: tuple[Seen, ...]
    reference: Reference | None
    matches: tuple[Match, ...] = ()

    def onto(self, shoot: Shoot) -> Shoot:
        """The shoot with it."""
        for one in self.seen:
            shoot, _ = see_clip(shoot, one)
        if self.reference is not None and any(c.id == self.reference.clip_id for c in shoot.clips):
            shoot, _ = set_reference(shoot, self.reference)
        if self.matches:
            shoot, _ = match_takes(shoot, self.matches)
        return shoot


def run(options: argparse.Namespace) -> int:
    """Look at clips; gives the exit status. Raises Unusable."""
    wrong = _wrong(options)
    if wrong:
        return wrong_use(wrong)
    shoot = opened(options.shoot, trust=options.trust_paths)
    view = on_song(shoot)
    if not view.clips:
        raise Unusable(f"{options.shoot.name} has no clips yet: place them first (anglebook place).")
    reference = None if options.reference is None else _reference(view, options.reference)
    if options.report is not None:
        try:
            guard_of(view).check(options.report)
        except MayNotWrite as error:
            return wrong_use(f"--report: {error}. Choose another place.")
    try:
        seen = _seen(view, options.workers, use_cache=not options.fresh)
        outcome = _Outcome(seen, reference)
        # Faults that were just proposed keep spoilt pictures out of the comparison.
        matches, unmatched = _matches(on_song(outcome.onto(shoot)), options)
    except KeyboardInterrupt:
        tell("")
        tell(
            "anglebook: stopped; nothing was written. What was looked at is kept: run the command again to "
            "go on."
        )
        return 130
    outcome = replace(outcome, matches=matches)
    status = 0
    try:
        shoot = store.update(options.shoot, outcome.onto, trust=options.trust_paths)
        tell(f"Saved {options.shoot}")
    except (store.StoreError, OSError) as error:
        shoot, status = outcome.onto(shoot), failed(error)
    view = on_song(replace(shoot, name=options.shoot.stem))
    if options.report is not None:
        try:
            write_whole(options.report, report_bytes(view), guard_of(view))
            tell(f"Wrote {options.report}")
        except OSError as error:
            status = max(status, unwritten(options.report, error))
    troubles = unmatched | {one.media.path: one.trouble for one in seen if one.trouble}
    return max(status, answer(look_text(view, troubles)))


def _wrong(options: argparse.Namespace) -> str:
    """A sentence about a wrong use that no parser finds; empty if there is none."""
    if options.workers is not None and options.workers < 1:
        return "--workers takes a number of 1 or more."
    if options.report is not None and options.report.suffix != ".json":
        # Anything else may be a clip, which is never written over.
        return f"--report takes a file that ends with .json, not {options.report.name}."
    if options.report is not None and not options.report.absolute().parent.is_dir():
        return f"The folder {options.report.absolute().parent} does not exist: create it first."
    return ""


def _seen(view: SongView, workers: int | None, *, use_cache: bool) -> tuple[Seen, ...]:
    """What looking at the clips gave."""
    found: list[Seen] = []
    done: set[Path] = set()
    count = sum(map(has_pictures, view.clips))

    def progress(path: Path, fraction: float) -> None:
        if fraction == 1.0 and path not in done:
            done.add(path)
            tell(f"{len(done)} of {count}  {path.name}")

    tell("Looking at 1 clip…" if count == 1 else f"Looking at {count} clips…")
    tasks.look_at_clips(view, progress=progress, answered=found.append, workers=workers, use_cache=use_cache)
    return tuple(found)


def _matches(view: SongView, options: argparse.Namespace) -> tuple[tuple[Match, ...], dict[str, str]]:
    """How takes compare with the reference, and sentences on files that could not be read."""
    troubles: dict[str, str] = {}
    if view.reference is None:
        return (), troubles
    tell("Comparing takes with the reference…")
    matches = tasks.match_takes(
        view,
        troubled=lambda path, sentence: troubles.update({str(path): sentence}),
        workers=options.workers,
        use_cache=not options.fresh,
    )
    return matches, troubles


def _reference(view: SongView, name: str) -> Reference:
    """The take that is meant. Raises Unusable.

    By its id; by the name of its clip (its longest take); or by that and a moment, as in ``A001.MOV@83.5``
    (the take through it).
    """
    takes = [(clip, take) for clip in view.clips for take in clip.takes]
    of_clip, at, moment = name.rpartition("@")
    if not at or not _is_seconds(moment):
        of_clip, moment = name, ""
    found = [(clip, take) for clip, take in takes if take.id == name]
    if not found:
        found = [(clip, take) for clip, take in takes if Path(clip.media.path).name == of_clip]
        if len({clip.id for clip, _ in found}) > 1:
            raise Unusable(f"Several clips are called {of_clip}: name the take by its id in the report.")
        found.sort(key=lambda one: one[1].clip_start_s - one[1].clip_end_s)
    if moment:
        found = [one for one in found if one[1].clip_start_s <= float(moment) <= one[1].clip_end_s]
    if not found:
        raise Unusable(
            f"There is no take {name}: name one by its id in the report, or by the name of its clip and a "
            "moment of it, as in A001.MOV@83.5."
        )
    clip, take = found[0]
    return Reference(clip.id, take.clip_start_s, take.clip_end_s)


def _is_seconds(text: str) -> bool:
    return text.replace(".", "", 1).isdecimal()
