"""From a fresh interpreter to a model that can conclude."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from statistics import median

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

    The whole time runs from before the interpreter is started until it says that the model is ready. Linear
    algebra has one thread, as in the commands.
    """
    whole, numpy_s, import_s, compile_s, processor_s = [], [], [], [], []
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    for _ in range(runs):
        start = clock()
        with subprocess.Popen(  # noqa: S603  our own interpreter on our own script
            [sys.executable, "-c", _SCRIPT], stdout=subprocess.PIPE, text=True, env=environment
        ) as child:
            line = child.stdout.readline() if child.stdout else ""
            whole.append(clock() - start)
        began, with_numpy, imported, ready, processor = json.loads(line)
        numpy_s.append(with_numpy - began)
        import_s.append(imported - with_numpy)
        compile_s.append(ready - imported)
        processor_s.append(processor)
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
