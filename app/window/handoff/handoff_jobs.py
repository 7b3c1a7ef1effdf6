"""What Hand-off has done off the window's thread: looking at what would be written, and writing it."""

from collections.abc import Callable, Sequence
from pathlib import Path

from app.handoff.all import HandedOver, Preview
from app.handoff.choices import Choices
from app.handoff.each_song import Part
from app.handoff.outcome import HandoffReport, Planned
from app.handoff.registry import BY_WORD
from app.window.handoff.hand_over import HandOver
from app.window.handoff.handoff_files import WRITTEN, Entry, size_text
from app.window.jobs import Ticket


def looking(
    hand_over: HandOver, parts: Sequence[Part], folder: Path, choices: Choices
) -> Callable[[Ticket], tuple[Preview, Sequence[str]]]:
    """Tells what would be written, and what of an earlier hand-off is in the way."""

    def look(ticket: Ticket) -> tuple[Preview, Sequence[str]]:
        preview = hand_over.preview(parts, choices)
        return preview, hand_over.earlier(folder, preview.planned)

    return look


def previewing(
    hand_over: HandOver, parts: Sequence[Part], folder: Path | None, choices: Choices
) -> Callable[[Ticket], Sequence[str]]:
    """Reports what would be written, and tells what earlier hand-offs left in the folder."""

    def look(ticket: Ticket) -> Sequence[str]:
        preview = hand_over.preview(parts, choices)
        ticket.report(preview)
        # A slow disk answers later; what would be written is listed meanwhile.
        return () if folder is None else hand_over.leftovers(folder, preview.planned, stop=ticket.stop)

    return look


def writing(
    hand_over: HandOver, parts: Sequence[Part], folder: Path, choices: Choices, planned: Sequence[Planned]
) -> Callable[[Ticket], HandedOver]:
    """Writes, reports each file as it is done, and tells which song and format is being written."""
    sizes = {one.name: one.size_bytes for one in planned}

    def work(ticket: Ticket) -> HandedOver:
        begun: list[str] = [""]

        def wrote(report: HandoffReport) -> None:
            path = report.path
            name = path.relative_to(folder).as_posix()
            size = path.stat().st_size if path.is_file() else sizes.get(name, 0)
            ticket.report(Entry(state=WRITTEN, name=name, size=size_text(size), lines=report.lines))

        def doing(song: str, word: str) -> None:
            begun.append(f"{song}: {BY_WORD[word].name}" if song else BY_WORD[word].name)

        return hand_over.write(
            parts,
            folder,
            choices,
            stop=ticket.stop,
            progress=lambda fraction: ticket.progress(fraction, begun[-1]),
            doing=doing,
            wrote=wrote,
        )

    return work
