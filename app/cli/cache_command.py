"""``anglebook cache [--clear] [--most GB]``: what is kept so that nothing is worked out twice."""

import argparse

from app.cli.output import answer, wrong_use
from app.model.storage import cache_space
from app.model.storage.cache import user_cache


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""
    parser.add_argument("--clear", action="store_true", help="remove everything that is kept")
    parser.add_argument(
        "--most",
        metavar="GB",
        type=float,
        help="remove what was longest unused until no more than this is left",
    )


def run(options: argparse.Namespace) -> int:
    """Tell how much is kept, or remove it; gives the exit status."""
    if options.clear and options.most is not None:
        return wrong_use("--clear removes everything; leave out --most.")
    if options.most is not None and not 0 <= options.most < 1e6:
        return wrong_use("--most takes a number of gigabytes, such as 5.")
    cache = user_cache()
    freed = None
    if options.clear:
        freed = cache_space.empty(cache)
    elif options.most is not None:
        freed = cache_space.keep_to(cache, round(options.most * 1e9))
    left = f"{cache_space.size_bytes(cache) / 1e6:.1f} MB in {cache}"
    return answer(left if freed is None else f"{freed / 1e6:.1f} MB removed; {left}")
