"""Songs repeat themselves: the rule by which a take is decided against another place in the song.

Where a clip really is the song, it fits the other place as well as the song resembles itself there, and no
better. A fit beyond that (the excess) means that bits of the clip, the same notes or drum samples, match bits
of the song in many places, as another song of the same band may do. Then a larger margin is asked for.
"""

EXCESS = 0.25
"""How much better (share of the take's own fit) a rival may fit than the song's self-similarity explains.
Chosen by hand: lower doubts good takes in noise, higher places other songs of the same band."""


def decided_against(margin_sd: float, excess: float, clear: float, clear_despite_excess: float) -> bool:
    """Whether a take is decided against a rival.

    Parameters
    ----------
    margin_sd : float
        Standard deviations by which the sound prefers the take's own place.
    excess : float
        How much better the rival fits than self-similarity explains, as a share of the take's own fit.
    clear, clear_despite_excess : float
        Margins asked for (standard deviations), up to EXCESS and beyond it.
    """
    return margin_sd >= clear and (margin_sd >= clear_despite_excess or excess <= EXCESS)
