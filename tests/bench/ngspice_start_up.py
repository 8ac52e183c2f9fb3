#!/usr/bin/env python3
"""Steps the start of the pump of random vehicles with ngspice and compares current and speed with ours.

Usage: tests/bench/ngspice_start_up.py [CASES]

The deck holds the whole circuit, the motor's moving analog (inertia as capacitance) and the fuel's way. Every
millisecond of the first half second must agree within 0.1 % of the value, or of the largest value where it is small.
Exits 1 on any disagreement.
"""
import concurrent.futures
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MEASURED = re.compile(r"^(amps|speed)(\d+)\s*=\s*(\S+)", re.MULTILINE)
SHARE = 1e-3


def solve(case):
    """The worst differences of current and speed of one case, each as a share of what is allowed it."""
    done = subprocess.run(["ngspice", "-b", "/dev/stdin"], input=case["deck"], capture_output=True, text=True, timeout=300)
    found = {(what, int(number)): float(value) for what, number, value in MEASURED.findall(done.stdout)}
    samples = case["samples"][1:]
    if done.returncode != 0 or len(found) != 2 * len(samples):
        raise SystemExit(f"{case['about']}: {len(found)} values, status {done.returncode}\n{done.stdout[-2000:]}{done.stderr}")
    worst = []
    for what, column in (("amps", 1), ("speed", 2)):
        largest = max(abs(sample[column]) for sample in samples)
        # A motor that does not turn creeps in the deck, which has no stiction.
        least = 1e-2 * largest if what == "amps" else max(1e-2 * largest, 100.0)
        off = [
            abs(found[what, number] - sample[column]) / max(abs(sample[column]), least)
            for number, sample in enumerate(samples)
        ]
        worst.append(max(off))
        if not max(off) <= SHARE:
            at = off.index(max(off))
            raise SystemExit(f"{case['about']}: {what} {samples[at]} here, {found[what, at]} in ngspice, {max(off):.2e} off")
    return worst, max(sample[2] for sample in samples) > 0.0


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    if shutil.which("ngspice") is None:
        raise SystemExit("ngspice is not installed (Debian: apt-get install ngspice)")
    command = ["cargo", "run", "--quiet", "--example", "cases", "--", "moving", "0", str(3 * count)]
    lines = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout.splitlines()
    cases = [case for case in map(json.loads, lines) if case["deck"] is not None]
    # A pump that is not fed at all proves nothing.
    cases = [case for case in cases if max(sample[1] for sample in case["samples"]) > 0.1][:count]
    if len(cases) < count:
        raise SystemExit(f"only {len(cases)} of {3 * count} cases have a deck and a current")
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        results = list(pool.map(solve, cases))
    turning = sum(turned for _, turned in results)
    if 2 * turning < count:
        raise SystemExit(f"only {turning} of {count} pumps turn")
    amps, speed = (max(worst[n] for worst, _ in results) for n in (0, 1))
    print(f"{count} starts, {turning} turning: current within {amps:.2e}, speed within {speed:.2e}")


main()
