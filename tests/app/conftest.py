"""Random tests are not timed, and take few cases unless more are asked for: ``RANDOM_CASES=long``."""

import os

from hypothesis import HealthCheck, settings

# A folder shared by all random cases is meant: each case writes over the one before.
CALM = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
settings.register_profile("short", deadline=None, suppress_health_check=CALM, max_examples=50)
settings.register_profile("long", settings.get_profile("short"), max_examples=1000)
settings.load_profile(os.environ.get("RANDOM_CASES", "short"))
