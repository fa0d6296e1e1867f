"""Start compiling the kernels as the tests start, in the background, so that they are there when needed."""

import subprocess
import sys

from aquacalc.flow import compiled


def pytest_configure(config):
    worker = hasattr(config, "workerinput")
    if not worker and not compiled.ready():
        subprocess.Popen([sys.executable, "-m", "aquacalc.flow.compiled"], stdout=subprocess.DEVNULL)
