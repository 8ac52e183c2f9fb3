#!/usr/bin/env python3
"""Prints what a certified scenario costs against launching ngspice once on one kept deck.

One thread each. What every code of a vehicle shares is solved in a run of one code, which is told by itself; the cost of a
further code is the median over single codes of level 1 to 5 in turn, by processor time of a run of it less the run of one.
Usage: generate_ratio.py [--codes N] [--binary PATH]
"""
import argparse
import pathlib
import resource
import statistics
import subprocess

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
    parser.add_argument("--binary", type=pathlib.Path, default=ROOT / "target" / "release" / "hidden-ohm")
    asked = parser.parse_args()
    deck = sorted((ROOT / "tests" / "data" / "ladder").glob("*.cir"))[0]
    spice = statistics.median(seconds(["ngspice", "-b", str(deck)]) for _ in range(21))
    survey = [str(asked.binary), "scenario", "survey", "--threads", "1", "--count"]
    by_level, first = {}, []
    for level in range(1, 6):
        chosen = ["--level", str(level)]
        singles = []
        # A block of many codes that begins with seed n, less the same block without its last code, is that last code;
        # blocks of one and two are the shortest.
        for seed in range(0, asked.codes // 5):
            one = seconds([*survey, "1", *chosen, "--from", str(seed)])
            two = seconds([*survey, "2", *chosen, "--from", str(seed)])
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


main()
