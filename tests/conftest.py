"""Settings of the whole test run."""

from __future__ import annotations

import os

from hypothesis import settings

# In continuous integration the drawn examples are the same at each run, so that a red run is due
# to the change that it checks; elsewhere every run looks at new ones. No example has to be quick:
# a busy machine is no defect, and speed is measured in tests/benchmarks.
settings.register_profile("new-examples", deadline=None)
settings.register_profile("same-examples", deadline=None, derandomize=True)
settings.load_profile("same-examples" if os.environ.get("CI") else "new-examples")
