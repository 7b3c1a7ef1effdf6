"""Every kind of clip that holds takes, by name."""

from tests.quality.kinds_of_camera import CAMERA
from tests.quality.kinds_of_company import COMPANY
from tests.quality.kinds_of_mix import MIX
from tests.quality.kinds_of_moving import MOVING
from tests.quality.kinds_of_room import ROOM
from tests.quality.kinds_of_running import RUNNING
from tests.quality.kinds_of_speed import SPEED
from tests.quality.staging import Kind

KINDS: dict[str, Kind] = ROOM | COMPANY | CAMERA | RUNNING | SPEED | MIX | MOVING
