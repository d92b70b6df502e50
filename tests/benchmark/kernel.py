"""Starts the notebook kernel, runs one cell and stops at the first thing shown: prints as JSON how long that took.

usage: python3 tests/benchmark/kernel.py <folder of the notebook> <cell> <what must have been shown>
"""
import json
import resource
import sys
import time

from jupyter_client.manager import start_new_kernel

folder, cell, wanted = sys.argv[1:]
start = time.perf_counter()
manager, client = start_new_kernel(kernel_name="tslab", startup_timeout=180, cwd=folder)
shown = []


def output(message):
    if message["msg_type"] in ("display_data", "stream", "execute_result", "error"):
        shown.append((time.perf_counter() - start, str(message["content"])))


client.execute_interactive(cell, output_hook=output, timeout=300)
client.stop_channels()
manager.shutdown_kernel(now=False)
if not shown or wanted not in shown[0][1]:
    sys.exit(f"No {wanted} came: {shown[:1]}")
peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
print(json.dumps({"seconds": {"work": shown[0][0]}, "peak": peak, "numbers": {}}))
