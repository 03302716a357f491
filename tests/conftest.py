"""The same examples in every run, whatever else the machine is doing."""

import os

from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")

# As in the program itself, before OpenBLAS is loaded; see `voicecoach/__main__.py`.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
