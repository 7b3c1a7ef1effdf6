"""What to do before and at each take, so that every clip can be placed. Common practice on music shoots."""

BEFORE_ROLL = (
    "Set every camera to the same frame rate, except for slow or fast motion.",
    "Record sound on every camera, however poor: it is what clips are placed by.",
    "Roll the cameras first, then start playback.",
    "Clap once in sight of all cameras. If a camera has no sound, film the slate page while the song plays, "
    "for three seconds at least.",
    "Do not touch the playback speed. Keep rolling until the song is over or somebody calls cut.",
)
MARKED = "Common practice:"
