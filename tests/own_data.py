"""Loaded before the settings are read: gives the tests a data folder of their own.

A pytest plugin by itself, because a conftest comes too late for that.
"""

import atexit
import os
import shutil
import tempfile

# A worker of a parallel run inherits the folder of the process that started it.
if "PYTEST_XDIST_WORKER" not in os.environ:
    os.environ["PLANNER_DATA"] = tempfile.mkdtemp(prefix="planner-tests-")
    atexit.register(shutil.rmtree, os.environ["PLANNER_DATA"], ignore_errors=True)
