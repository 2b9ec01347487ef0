"""From a fresh interpreter to a model that can conclude."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from statistics import median
from tempfile import TemporaryDirectory

from fabella.bench.figure import Figure
from fabella.bench.machine import Clock

LIMIT_S = 0.5
_PART = "load"

# What `fabella conclude` does before it can conclude. The stamps tell which share is whose.
_SCRIPT = """
from time import perf_counter as clock
stamps = [clock()]
import numpy
stamps.append(clock())
import fabella.workup
from fabella.infer import load_model
stamps.append(clock())
load_model().signs(None)
stamps.append(clock())
import json, time
print(json.dumps([*stamps, time.process_time()]), flush=True)
"""


def measure_load(*, runs: int, clock: Clock) -> tuple[Figure, ...]:
    """Start so many fresh interpreters, one after the other; return medians, in seconds.

    The whole time runs from before the interpreter is started until it says that the model is ready. One
    start more, which does not count, leaves the byte code of every module as an installation would. Linear
    algebra has one thread, as in the commands.
    """
    with TemporaryDirectory() as byte_code:
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONPYCACHEPREFIX": byte_code}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        _, *starts = [_start(environment, clock) for _ in range(runs + 1)]
    whole, numpy_s, import_s, compile_s, processor_s = zip(*starts, strict=True)
    what = f"interpreter to model, median of {runs}"
    return (
        Figure(
            part=_PART,
            what=what,
            measured=median(whole),
            unit="s",
            at_most=LIMIT_S,
            note=f"fastest {min(whole):.2f} s",
        ),
        Figure(part=_PART, what="of it, importing numpy", measured=median(numpy_s), unit="s"),
        Figure(part=_PART, what="of it, importing all else", measured=median(import_s), unit="s"),
        Figure(part=_PART, what="of it, compiling the model", measured=median(compile_s), unit="s"),
        Figure(part=_PART, what="in processor time", measured=median(processor_s), unit="s"),
    )


def _start(environment: Mapping[str, str], clock: Clock) -> tuple[float, ...]:
    """Return the whole time of one start, its shares, and its processor time."""
    start = clock()
    with subprocess.Popen(  # noqa: S603  our own interpreter on our own script
        [sys.executable, "-c", _SCRIPT], stdout=subprocess.PIPE, text=True, env=environment
    ) as child:
        line = child.stdout.readline() if child.stdout else ""
        whole = clock() - start
    began, with_numpy, imported, ready, processor = json.loads(line)
    return whole, with_numpy - began, imported - with_numpy, ready - imported, processor
