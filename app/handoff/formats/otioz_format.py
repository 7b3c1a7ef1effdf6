"""The timeline with copies of its media, packed as one file."""

from app.handoff.formats.bundles import bundle_format

FORMAT = bundle_format(
    "otioz",
    help="timeline with media, one file",
    label="Timeline and &media, one file",
    gives="The timeline and a copy of every clip it uses, packed into one file.",
)
