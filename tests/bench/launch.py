#!/usr/bin/env python3
"""Prints how long the release program takes from launch to its first reading, and how much memory, beside one launch
of ngspice on a deck of the same vehicle in the same run.

Launch to first reading: the program is started on a code with a script of two lines (open the bonnet, volts across the
battery) and read until the line with the reading arrives. Memory: the largest resident set of that process.
Usage: launch.py [--runs N] [--limit-ms MS] [--limit-mb MB]; exits 1 when a limit is passed.
"""
import argparse
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
BINARY = ROOT / "target" / "release" / "hidden-ohm"
CODE = "100G-0000-0000-0018-Z5"
SCRIPT = b"access bonnet\nvolts B+ B-\n"


def first_reading():
    """Seconds until the line with the reading, and the peak resident set in bytes."""
    start = time.perf_counter()
    child = subprocess.Popen(
        [BINARY, "practice", CODE, "--script", "-", "--json"], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    child.stdin.write(SCRIPT)
    child.stdin.close()
    taken = None
    for line in child.stdout:
        if taken is None and b'"quantity":"voltage"' in line:
            taken = time.perf_counter() - start
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0 or taken is None:
        raise SystemExit(f"no reading, status {child.returncode}")
    return taken, usage.ru_maxrss * (1 if sys.platform == "darwin" else 1024)


def spice(deck):
    """Wall-clock seconds of one ngspice process on the deck, and its peak resident set in bytes."""
    start = time.perf_counter()
    child = subprocess.Popen(["ngspice", "-b", deck], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    out = child.stdout.read()
    taken = time.perf_counter() - start
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0 or b"v(b_pos) = " not in out:
        raise SystemExit(f"ngspice failed:\n{out.decode()}")
    return taken, usage.ru_maxrss * (1 if sys.platform == "darwin" else 1024)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=21)
    parser.add_argument("--limit-ms", type=float, default=float("inf"))
    parser.add_argument("--limit-mb", type=float, default=float("inf"))
    asked = parser.parse_args()
    subprocess.run(["cargo", "build", "--release", "--quiet", "--bin", "hidden-ohm"], cwd=ROOT, check=True)
    deck = subprocess.run(
        [BINARY, "scenario", "ladder", CODE, "--key", "on", "--pump", "on", "--spice"], capture_output=True, check=True
    ).stdout
    with tempfile.NamedTemporaryFile(suffix=".cir") as file:
        file.write(deck)
        file.flush()
        first_reading(), spice(file.name)
        pairs = [(first_reading(), spice(file.name)) for _ in range(asked.runs)]
    ours = statistics.median(pair[0][0] for pair in pairs) * 1e3
    theirs = statistics.median(pair[1][0] for pair in pairs) * 1e3
    peak = max(pair[0][1] for pair in pairs) / 1e6
    print(f"launch to first reading, median of {asked.runs}: {ours:.1f} ms; peak resident set {peak:.1f} MB")
    print(f"one ngspice launch on a deck of the same vehicle: {theirs:.1f} ms, {max(p[1][1] for p in pairs) / 1e6:.1f} MB")
    print(f"ratio of times, ours to ngspice: {ours / theirs:.2f}")
    return int(ours > asked.limit_ms or peak > asked.limit_mb)


sys.exit(main())
