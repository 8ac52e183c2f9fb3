#!/usr/bin/env python3
"""Prints how many times faster our operating point is than ngspice's, for the same networks.

Both sides run in one process each and change one resistance before every solve. ngspice's time is
what its own process takes for a loop of `alter` and `op`, less what the same process takes for the
loop with `alter` alone (so that start-up, reading the deck and altering are not held against it).
The best of several runs counts on both sides. Usage: ngspice_ratio.py [--at-least RATIO]
"""
import argparse
import pathlib
import re
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
RUNS = 5
SPICE_SOLVES = 2000
OUR_SOLVES = 200_000


def bench_binary():
    """Builds the bench and returns its path."""
    done = subprocess.run(
        ["cargo", "bench", "--bench", "circuit", "--no-run"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    found = re.search(r"Executable .*\((.*)\)", done.stderr)
    return ROOT / found.group(1)


def spice_seconds(deck, solves, operate):
    """Wall-clock seconds of one ngspice process that loops over the deck."""
    part, ohms = re.findall(r"^(r\d+) \S+ \S+ (\S+)$", deck, re.MULTILINE)[-1]
    body = deck[: deck.index(".control")]
    # Every `op` makes a plot of its own. Unless it is thrown away ngspice slows down more and more
    # (measured: 40 times over 2000 turns), so it is. The counter lives in the plot of constants.
    solve = "  op\n  destroy\n  setplot const\n" if operate else ""
    loop = (
        f"setplot const\nlet turn = 0\nwhile turn < {solves}\n"
        f"  let ohms = {ohms} * (1 + 1e-6 * turn)\n  alter {part} = ohms\n{solve}"
        "  let turn = turn + 1\nend\necho turns $&turn\nquit 0\n.endc\n.end\n"
    )
    with tempfile.NamedTemporaryFile("w", suffix=".cir") as file:
        file.write(body + ".control\n" + loop)
        file.flush()
        start = time.perf_counter()
        done = subprocess.run(["ngspice", "-b", file.name], capture_output=True, text=True)
        taken = time.perf_counter() - start
    if done.returncode != 0 or f"turns {solves}" not in done.stdout:
        raise SystemExit(f"ngspice failed:\n{done.stdout[-2000:]}{done.stderr[-2000:]}")
    if operate and done.stdout.count("No. of Data Rows") != solves:
        raise SystemExit(f"ngspice solved {done.stdout.count('No. of Data Rows')} times, not {solves}")
    return taken


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--at-least", type=float, default=0.0, help="exit 1 below this ratio")
    least = parser.parse_args().at_least
    ours = bench_binary()
    lowest = float("inf")
    print("nodes  ours_us  ngspice_us  ratio")
    for nodes in (20, 55, 100, 200):
        deck = subprocess.run([ours, "deck", str(nodes), "1"], capture_output=True, text=True, check=True).stdout
        with_op = min(spice_seconds(deck, SPICE_SOLVES, True) for _ in range(RUNS))
        without = min(spice_seconds(deck, SPICE_SOLVES, False) for _ in range(RUNS))
        spice = (with_op - without) / SPICE_SOLVES
        own = min(
            float(subprocess.run([ours, "seconds", str(nodes), "1", str(OUR_SOLVES)], capture_output=True, text=True, check=True).stdout)
            for _ in range(RUNS)
        ) / OUR_SOLVES
        lowest = min(lowest, spice / own)
        print(f"{nodes:5d}  {own * 1e6:7.3f}  {spice * 1e6:10.2f}  {spice / own:5.1f}")
    sys.exit(0 if lowest >= least else 1)


main()
