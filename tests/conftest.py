"""Settings of the whole test run."""

from __future__ import annotations

import os

from hypothesis import settings

# In continuous integration the drawn examples are the same at each run, so that a red run is due
# to the change that it checks; elsewhere every run looks at new ones.
settings.register_profile("same-examples", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("same-examples")
