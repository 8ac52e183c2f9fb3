#!/usr/bin/env python3
"""Prints what a certified scenario costs against launching ngspice once on one kept deck.

One thread each, processor time. What every code of a vehicle shares is solved in a run of one code, which is told by itself. The
cost of a further code is that of a run of two less that of the run of the first of them, both of one vehicle; the median over
codes of level 1 to 5 and of every vehicle in turn is told. Last, what many codes take on one thread and on two.
Usage: generate_ratio.py [--codes N] [--many N] [--binary PATH]
"""
import argparse
import json
import pathlib
import resource
import statistics
import subprocess
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent


def seconds(command, **more):
    """Processor seconds of one process."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True, **more)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--codes", type=int, default=100)
    parser.add_argument("--many", type=int, default=200)
    parser.add_argument("--binary", type=pathlib.Path, default=ROOT / "target" / "release" / "hidden-ohm")
    asked = parser.parse_args()
    deck = sorted((ROOT / "tests" / "data" / "ladder").glob("*.cir"))[0]
    spice = statistics.median(seconds(["ngspice", "-b", str(deck)]) for _ in range(21))
    listed = subprocess.run([asked.binary, "scenario", "list", "--json"], capture_output=True, text=True, check=True)
    vehicles = [one["id"] for one in json.loads(listed.stdout)["vehicles"] if one["has_codes"]]
    survey = [str(asked.binary), "scenario", "survey", "--threads", "1", "--count"]
    by_level, first = {}, []
    for level in range(1, 6):
        chosen = ["--level", str(level)]
        singles = []
        # A block of many codes that begins with seed n, less the same block without its last code, is that last code;
        # blocks of one and two are the shortest.
        for seed in range(0, asked.codes // 5):
            of_one = [*chosen, "--vehicle", vehicles[seed % len(vehicles)], "--from", str(seed)]
            one = seconds([*survey, "1", *of_one])
            two = seconds([*survey, "2", *of_one])
            first.append(one)
            singles.append(max(two - one, 0.0))
        by_level[level] = singles
    every = [one for singles in by_level.values() for one in singles]
    median = statistics.median(every)
    print(f"ngspice launched once on a kept deck: {1e3 * spice:.1f} ms of processor time")
    print(f"a first code, launch and what its vehicle shares included: {1e3 * statistics.median(first):.1f} ms")
    for level, singles in by_level.items():
        print(f"a further code of level {level}: median {1e3 * statistics.median(singles):.1f} ms")
    print(f"a further code: median {1e3 * median:.1f} ms, {median / spice:.2f} launches of ngspice ({len(every)} codes)")
    for threads in "12":
        many = [str(asked.binary), "scenario", "survey", "--threads", threads, "--count", str(asked.many), "--from", "0"]
        before = time.monotonic()
        spent = seconds(many)
        passed = time.monotonic() - before
        print(f"{asked.many} codes on {threads} threads: {passed:.1f} s passed, {spent:.1f} s of processor time")


main()
