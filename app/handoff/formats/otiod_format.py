"""The timeline with copies of its media, as a folder."""

from app.handoff.formats.bundles import bundle_format

FORMAT = bundle_format(
    "otiod",
    help="timeline with media, a folder",
    label="Timeline and media, f&older",
    gives="The same as a folder.",
)
