#!/usr/bin/env python3
"""How fast attempts are verified and marked, as ratios within this run.

Usage: tests/bench/marking.py [LARGEST]   (100000 attempts unless told otherwise)

Prints, for cohorts that share more or less of their work: attempts for each second of processor time and each second by the
clock, on one and on two threads, for verifying and for full marking; the cost of an attempt by size of the cohort (it
should be flat), and the peak memory while streaming (it should be flat too). The yardstick is the same program working
every attempt from its beginning (`--unshared`). Absolute figures mean nothing on another machine, and the clock means
nothing on a busy one; processor time does.
"""
import os
import pathlib
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/scale"))
from cohort import PROGRAM, cohort  # noqa: E402


def timed(folder, packed, *more):
    """Seconds by the clock, seconds of processor time and peak memory of one run of the filter."""
    began = time.monotonic()
    with open(packed) as source, open(folder / "out", "w") as out:
        child = subprocess.Popen([PROGRAM, "exercise", "mark", "-", "--exercise", "ex.toml", *more], cwd=folder, stdin=source, stdout=out)
        _, status, usage = os.wait4(child.pid, 0)
        wall = time.monotonic() - began
    if status != 0:
        sys.exit(f"the filter ended with {status}")
    bad = sum('"verdict":"verified"' not in line for line in open(folder / "out"))
    if bad:
        sys.exit(f"{bad} attempts do not stand")
    return wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss


def main():
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    if "HIDDEN_OHM" not in os.environ:
        subprocess.run(["cargo", "build", "--release", "--quiet"], cwd=ROOT, check=True)
    with tempfile.TemporaryDirectory() as scratch:
        folder = pathlib.Path(scratch)
        packed = folder / "packed"

        def make(count, habits):
            with open(packed, "w") as out:
                cohort(count, habits, folder, out)

        make(100, 100)
        _, alone, _ = timed(folder, packed, "--verify", "--unshared", "--threads", "1")
        alone /= 100
        print(f"yardstick: one attempt of 40 actions from its beginning, {alone * 1e3:.1f} ms of processor time")
        print("attempts habits  threads  kind    per CPU-s   per s  times the yardstick")
        for count, habits in [(100, 100), (10_000, 100), (10_000, 20)]:
            make(count, habits)
            for threads in ("1", "2"):
                for kind in ("--verify", None):
                    more = [kind] if kind else []
                    wall, cpu, _ = timed(folder, packed, "--threads", threads, *more)
                    kind = "verify" if kind else "mark"
                    print(f"{count:8} {habits:6}  {threads:>7}  {kind:6}  {count / cpu:9.0f}  {count / wall:6.0f}  {alone * count / cpu:6.1f}", flush=True)
        print("cost by size, 20 habits, two threads, verifying")
        size = 100
        while size <= largest:
            make(size, 20)
            _, cpu, memory = timed(folder, packed, "--verify", "--threads", "2")
            print(f"{size:8} attempts  {cpu / size * 1e3:8.3f} ms of processor time each  peak {memory / 1024:6.1f} MiB", flush=True)
            size *= 10


if __name__ == "__main__":
    main()
