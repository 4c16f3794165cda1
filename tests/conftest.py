"""Settings of the whole suite."""

import os
import tempfile
from itertools import count
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings

from tests.sampling import WHOLE

# Whatever a test starts keeps its sessions here, and never in the home of the person who runs it.
_STATE = tempfile.TemporaryDirectory(prefix="knobmenu-state-")
os.environ["XDG_STATE_HOME"] = _STATE.name
os.environ.pop("NO_COLOR", None)
os.environ.pop("TEXTUAL_THEME", None)

_SHARED = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.data_too_large]}

settings.register_profile("sampled", max_examples=60, **_SHARED)  # type: ignore[arg-type]
settings.register_profile("whole", max_examples=600, **_SHARED)  # type: ignore[arg-type]
_UNSHRUNK = (Phase.explicit, Phase.reuse, Phase.generate)
# The same examples each time: a suite that passes without a mutant fails because of the mutant alone.
settings.register_profile("mutation", max_examples=30, phases=_UNSHRUNK, derandomize=True, **_SHARED)  # type: ignore[arg-type]
settings.load_profile("whole" if WHOLE else "sampled")


_numbers = count()


@pytest.fixture(autouse=True)
def state_home() -> Path:
    """A folder of its own for what each test keeps, made when it is needed: none is offered what another left."""
    folder = Path(_STATE.name) / str(next(_numbers))
    os.environ["XDG_STATE_HOME"] = str(folder)
    return folder


@pytest.fixture
def working_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make an empty folder the working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path
