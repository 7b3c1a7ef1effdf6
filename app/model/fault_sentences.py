"""What pictures propose as a fault, in a sentence with its figure: for whoever decides whether it is one."""

from app.model.document.marks import Mark


def fault_sentence(mark: Mark) -> str:
    """Why a fault is proposed; empty where its check gave no figure (see `audio.pictures.faults.Proposal`).

    >>> from app.model.document.marks import MarkKind
    >>> fault_sentence(Mark("m", "c", MarkKind.FAULT, 0.0, 1.0, by="soft", measure=0.4))
    'Fine detail is down to 40 % of the best in this angle.'
    >>> fault_sentence(Mark("m", "c", MarkKind.FAULT, 0.0, 1.0, by="dropped", measure=0.0))
    'Sound is missing from the file here.'
    >>> fault_sentence(Mark("m", "c", MarkKind.FAULT, 0.0, 1.0))
    ''
    """
    if mark.measure is None:
        return ""
    figure, whole = mark.measure, round(mark.measure)
    frames = "1 frame" if whole == 1 else f"{whole} frames"
    match mark.by:
        case "black":
            return f"The picture is black: {100 * figure:.0f} % of full brightness on average."
        case "frozen":
            return f"The picture stands still: {frames} repeated exactly."
        case "over":
            return f"{100 * figure:.0f} % more of the picture is clipped than is usual in this angle."
        case "under":
            return f"{100 * figure:.0f} % more of the picture is blocked up than is usual in this angle."
        case "soft":
            return f"Fine detail is down to {100 * figure:.0f} % of the best in this angle."
        case "bump":
            return f"The picture jumps at {figure:.2g} picture heights per second."
        case "flicker":
            return f"The light flickers by {figure:.2g} %, as lamps on the mains do."
        case "dropped":
            if not whole:
                return "Sound is missing from the file here."
            return f"{frames.capitalize()} {'is' if whole == 1 else 'are'} missing from the file here."
    return ""
