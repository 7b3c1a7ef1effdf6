"""Advice for the day, on the plan's sheet: shutters, what to do before the roll, how loud and how long."""

from app.handoff.sheets.sheet import Block, Column, Heading, Rows, Text
from app.model.on_song import SongView
from app.model.set_advice import hearing, shutters
from app.model.set_advice.before_roll import BEFORE_ROLL, MARKED
from app.model.set_advice.camera_rates import rates_of_plan


def advice(shoot: SongView) -> list[Block]:
    """The blocks, for the frame rates of the plan."""
    columns = (
        Column("Camera", 0.2),
        Column("Shutter under 50 Hz light", 0.4),
        Column("Shutter under 60 Hz light", 0.4),
    )
    blocks: list[Block] = [
        Heading("Before the roll"),
        Text(" ".join((MARKED, *BEFORE_ROLL))),
        Heading("Shutters"),
        Rows(columns, shutters.shutter_rows(rates_of_plan(shoot))),
        Text(shutters.NOTE, small=True),
        Heading("How loud, how long"),
    ]
    said = (hearing.START_QUIETLY, hearing.day_words(shoot), hearing.exposure_words(), hearing.EUROPE)
    return [*blocks, Text(" ".join(filter(None, said))), Text(hearing.DEFER)]
