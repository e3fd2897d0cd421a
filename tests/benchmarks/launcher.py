"""Runs a command and tells, as the last line, its exit code, seconds, processor seconds and the most memory it held."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time

BYTES_IN_UNIT = 1 if sys.platform == "darwin" else 1024
"""ru_maxrss is in KiB on Linux and in bytes on macOS: getrusage(2)."""

begin = time.perf_counter()
process = subprocess.Popen(sys.argv[1:])
_, status, usage = os.wait4(process.pid, 0)
seconds = time.perf_counter() - begin
code = os.waitstatus_to_exitcode(status)
processor, peak = usage.ru_utime + usage.ru_stime, usage.ru_maxrss * BYTES_IN_UNIT
print(json.dumps({"exit": code, "seconds": seconds, "processor": processor, "peak": peak}))
