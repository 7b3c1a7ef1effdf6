"""Random tests are not timed."""

from hypothesis import HealthCheck, settings

# A folder shared by all random cases is meant: each case writes over the one before.
CALM = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
settings.register_profile("untimed", deadline=None, suppress_health_check=CALM)
settings.load_profile("untimed")
