#!/usr/bin/python3
"""Reads an archive of sweeps with brineband fit and with its peers: ingest_peer.py BRINEBAND FOLDER.

brineband checks every field, gathers the cells and fits them; awk adds up the column of readings, no
more; R's data.table and pandas read the file and count the rows of each cell. Peers that are not
installed are left out. Processor time and memory are of whole processes, the better of two runs.
"""
import os
import shutil
import subprocess
import sys

brineband, folder = sys.argv[1:]
sweeps = f"{folder}/sweeps.csv"
keys = '"zone","target","depth_cm","height_cm","reading"'
peers = {
    "brineband fit": [brineband, "fit", folder],
    "awk, the sum alone": ["awk", "-F,", "NR > 1 { sum += $4 } END { print sum }", sweeps],
    "R data.table": ["Rscript", "--vanilla", "-e",
                     "suppressMessages(library(data.table)); setDTthreads(1); "
                     f"print(nrow(fread('{sweeps}')[, .N, by = c({keys})]))"],
    "pandas": ["/usr/bin/python3", "-c",
               f"import pandas; print(len(pandas.read_csv('{sweeps}').groupby([{keys}], "
               "dropna=False).size()))"],
}


def measure(words):
    least, peak = float("inf"), 0
    for _ in range(2):
        run = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, status, usage = os.wait4(run.pid, 0)
        if status != 0:
            return None
        # Of the processor: other work on the machine counts for nobody.
        least = min(least, usage.ru_utime + usage.ru_stime)
        peak = max(peak, usage.ru_maxrss / 1024)
    return least, peak


with open(sweeps, "rb") as file:
    rows = sum(piece.count(b"\n") for piece in iter(lambda: file.read(1 << 20), b"")) - 1
print(f"{rows:.0e} sweeps, {os.path.getsize(sweeps) / 1e6:.0f} MB: processor time, peak memory")
ours = None
for name, words in peers.items():
    found = measure(words) if shutil.which(words[0]) else None
    if found is None and name == "brineband fit":
        sys.exit("brineband fit refused the archive")
    if found is None:
        print(f"{name:20} left out: not installed")
        continue
    ours = ours or found
    print(f"{name:20} {found[0]:6.2f} s  {found[1]:6.0f} MB   ratio to brineband: "
          f"{found[0] / ours[0]:.1f} in time, {found[1] / ours[1]:.0f} in memory")
