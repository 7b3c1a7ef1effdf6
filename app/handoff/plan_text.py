"""The plan as text: needs, set-ups and what is still missing, one a line."""

from app.model.coverage.missing import still_missing
from app.model.coverage.missing_words import (
    minutes_words,
    nothing_missing_words,
    passage_of,
    ranges_words,
    reason_of,
    subjects_of,
)
from app.model.coverage.needs import NeedResult, NeedState, need_results
from app.model.coverage.passages import passage_words
from app.model.coverage.set_ups_done import set_up_results
from app.model.coverage.subjects import wanted_words
from app.model.document.plan import Need
from app.model.on_song import SongView

SIGNS = {NeedState.MET: "✓", NeedState.PARTLY: "½", NeedState.UNMET: "–"}


def plan_text(shoot: SongView) -> str:
    """All of it, as printed by ``anglebook plan``; a shoot without a song has no plan."""
    if shoot.song is None:
        return "There is no song yet."
    results = need_results(shoot)
    met = sum(one.state is NeedState.MET for one in results)
    lines = [f"Needs: {met} of {len(results)} met." if results else "There are no needs yet."]
    lines += [f"  {need_line(shoot, one)}" for one in results]
    set_ups = set_up_results(shoot)
    if set_ups:
        lines += ["", "Set-ups:"]
        for number, planned in enumerate(set_ups, 1):
            where = passage_words(planned.set_up.passage, shoot.song)
            lines.append(f"  {SIGNS[planned.state]} {number}. {planned.set_up.angle}: {where}")
    missing = still_missing(shoot)
    lines += ["", "Still missing:" if missing else f"Still missing: {nothing_missing_words(shoot)}"]
    for number, one in enumerate(missing, 1):
        lines.append(
            f"  {number}. {passage_of(one, shoot.song)}: {subjects_of(one)}, {minutes_words(one.minutes)}"
        )
        lines.append(f"     {reason_of(one)}")
    if missing:
        lines.append(f"  In all, {minutes_words(sum(one.minutes for one in missing))}.")
    return "\n".join(lines)


def least_words(need: Need) -> str:
    """In how many bars of its passage a need must be met at least; nothing where it is all of them."""
    return f", at least {need.least_bars} bar{'' if need.least_bars == 1 else 's'}" if need.least_bars else ""


def need_line(shoot: SongView, result: NeedResult) -> str:
    """A need and how it stands, on one line."""
    assert shoot.song is not None
    need = result.need
    wanted = f"{wanted_words(need.subject, need.least_angles)} in {passage_words(need.passage, shoot.song)}"
    wanted += least_words(need)
    state = result.state.value
    if result.missing_bars and result.state is NeedState.PARTLY:
        state += f", missing {ranges_words(result.missing_bars)}"
    note = f" ({need.note})" if need.note else ""
    return f"{SIGNS[result.state]} {wanted}: {state}{note}"
