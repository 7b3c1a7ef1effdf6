"""Help: the day of the shoot, so that every clip can be placed afterwards. Common practice, no standard."""

TITLE = "The day of the shoot"

PARTS = (
    (
        "What this is",
        "What crews commonly do when a band performs to playback. None of it is a standard; where the house, "
        "the law or your crew has a rule, that rule comes first.",
    ),
    (
        "Before the day",
        "Make the playback kit in Plan: a count-in, the sections, speeds for slow motion. Copy it to two "
        "players. Print the plan and the sync sheet. Set every camera to the same frame rate, the one of the "
        "edit, and to the local date and time.",
    ),
    (
        "Sound on at every camera",
        "Record sound on every camera, with its own microphone if there is no other; automatic level will "
        "do. It is never used in the edit, but it is what places the clip. Check each camera for a moving "
        "level meter: a plug in the microphone socket mutes it.",
    ),
    (
        "Playback loud enough for the cameras, and safe for ears",
        "The song must be heard at the camera farthest away: put a second speaker beside it rather than turn "
        "the first one up. Nobody stands close to a speaker; hand out hearing protection, keep pauses, and "
        "warn before each playback. How loud for how long is allowed, local rules say: they come first, and "
        "someone on set is in charge of them.",
    ),
    (
        "Roll before playback",
        "Cameras first, then playback: ask each camera whether it is rolling, and wait until all have said "
        "yes. Let the song start at its beginning or at a section, never with a fade. Keep rolling for some "
        "seconds after it stops.",
    ),
    (
        "One clap",
        "Film the slate page or a slate with every camera, then clap once in sight of all. It is the way out "
        "for a camera whose sound failed, and it separates takes. Clap away from ears and microphones.",
    ),
    (
        "The same rate for all",
        "Play from one player, at one speed, with nothing that follows or stretches the tempo. For slow "
        "motion use the playback file made for that speed, and note it on the slate.",
    ),
    (
        "Count-in",
        "Give the band a count-in that is on the playback itself, two bars as a rule, so that the first bar "
        "can be used. For a pick-up start a few bars early.",
    ),
    (
        "While the band is there",
        "Copy cards to two places and add one of them here: Still missing lists what to shoot next. Look at "
        "Thin places before the band leaves. No card is cleared before both copies were checked.",
    ),
)
