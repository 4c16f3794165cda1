"""Settings of the whole suite."""

import os

from hypothesis import HealthCheck, settings

from tests.sampling import WHOLE

os.environ.pop("NO_COLOR", None)
os.environ.pop("TEXTUAL_THEME", None)

_SHARED = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.data_too_large]}

settings.register_profile("sampled", max_examples=60, **_SHARED)  # type: ignore[arg-type]
settings.register_profile("whole", max_examples=1500, **_SHARED)  # type: ignore[arg-type]
settings.load_profile("whole" if WHOLE else "sampled")
