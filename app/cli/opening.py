"""A shoot file opened by a command."""

from pathlib import Path

from app.cli.output import Unusable
from app.model.document import store
from app.model.document.shoot import Shoot

TRUST_PATHS = (
    "also read files outside the shoot's own folder; a shoot file from somebody else may name any file"
)


def opened(path: Path, *, trust: bool) -> Shoot:
    """The shoot of a file. Raises Unusable.

    ``trust``: the person agreed, with ``--trust-paths``, to the files that it names outside its folder.
    """
    try:
        return store.load(path, trust=trust)
    except store.Unfamiliar as error:
        raise Unusable(
            f"{error} If you know who the shoot is from and want these files to be read, run the command "
            "again with --trust-paths."
        ) from error
    except store.StoreError as error:
        raise Unusable(str(error)) from error
