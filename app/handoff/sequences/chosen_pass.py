"""The first pass as it is wanted: which version of it, by which rules."""

from fractions import Fraction
from functools import lru_cache

from app.handoff.choices import FirstPassWish
from app.handoff.outcome import HandoffError, plain
from app.model.first_pass.result import FirstPass
from app.model.first_pass.rules import Rules, RulesError, rules_of
from app.model.first_pass.solver import FIRST_PASS, solve
from app.model.on_song import SongView


def chosen_pass(shoot: SongView, wish: FirstPassWish, rate: Fraction) -> FirstPass:
    """Cut the song by the rules that are chosen, for a timeline of that rate.

    Raises HandoffError for a version that the shoot does not have, and for rules that cannot be read.
    """
    versions = {version.name: version for version in shoot.cut.versions}
    if wish.version and wish.version not in versions:
        has = f"The shoot has {', '.join(versions)}." if versions else "The shoot has no version of it yet."
        raise HandoffError(f"There is no first pass {plain(wish.version)!r}. {plain(has)}")
    version = versions[wish.version] if wish.version else next(iter(versions.values()), None)
    settings = {one.name: one for one in (() if version is None else version.settings)}
    settings |= {one.name: one for one in wish.settings}
    try:
        rules = rules_of(settings.values())
    except RulesError as error:
        raise HandoffError(f"The first pass cannot be cut: {error}") from error
    seed, name = (0, FIRST_PASS) if version is None else (version.seed, version.name)
    return _solved(shoot, rules, seed, rate, name)


@lru_cache(maxsize=2)
def _solved(shoot: SongView, rules: Rules, seed: int, rate: Fraction, name: str) -> FirstPass:
    """Kept for a while: a preview, what is written after it, its table and its film show the same cut."""
    return solve(shoot, rules, seed, shoot.cut.locks, rate=rate, name=name)


def usual_pass(shoot: SongView, rate: Fraction) -> FirstPass:
    """The first pass where nobody wishes for another; without shots where its rules cannot be read."""
    try:
        return chosen_pass(shoot, FirstPassWish(), rate)
    except HandoffError:
        return FirstPass(FIRST_PASS, (), ())
