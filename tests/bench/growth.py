#!/usr/bin/python3
"""How the time and memory of a fit grow with targets and with sweeps: growth.py BRINEBAND FOLDER

Invented visits in FOLDER, as invented.py makes them.
"""
import json
import os
import pathlib
import subprocess
import sys
import time

from invented import visit

brineband, folder = sys.argv[1], pathlib.Path(sys.argv[2])


def least(words, rounds=10):
    best, peak = float("inf"), 0
    for _ in range(rounds):
        began = time.perf_counter()
        run = subprocess.Popen([brineband, *words], stdout=subprocess.DEVNULL)
        _, ended, usage = os.wait4(run.pid, 0)
        assert ended == 0, words
        best, peak = min(best, time.perf_counter() - began), max(peak, usage.ru_maxrss)
    return 1e3 * best, peak / 1024


print(f"growth of fit, whole process; the program's start alone takes {least(['--version'])[0]:.1f} ms\n"
      "targets  sweeps  parameters  rounds       ms  MB at most")
for targets, sweeps in ((8, 1000), (16, 1000), (32, 1000), (64, 1000),
                        (16, 100), (16, 10000), (16, 100000)):
    at = visit(brineband, folder / f"{targets}-{sweeps}", targets, sweeps)
    taken, peak = least(["fit", str(at)])
    profile = json.loads((at / "profile.json").read_text())
    print(f"{targets:7} {sweeps:7} {len(profile['parameters']):11} "
          f"{profile['diagnostics']['rounds']:7} {taken:8.1f} {peak:11.1f}")
