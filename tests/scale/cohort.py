#!/usr/bin/env python3
"""Makes a cohort of attempts at one exercise, packed one a line.

Usage: tests/scale/cohort.py COUNT HABITS > attempts.jsonl   (run by the other scripts here)

Each made-up learner does the same 40-action job with choices of their own: HABITS is how many different courses of work
there are among them. With HABITS equal to COUNT no two learners do the same, beyond how they begin; real classes lie in
between and nobody has counted where. The records are made by the program itself and then copied with another learner's
name, the chain being made anew as anybody could with `sha256sum`. HIDDEN_OHM names another program than the release build.
"""
import hashlib
import json
import os
import pathlib
import random
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = pathlib.Path(os.environ.get("HIDDEN_OHM", ROOT / "target/release/hidden-ohm"))
EXERCISE = """format = 1
title = "Cohort"
feedback = "never"
[[vehicle]]
file = "ground.toml"
"""
BEGIN = ["order", "protect", "access bonnet", "volts B+ B-", "key on", "pump on", "leads extension 6 m 1.0 mm2", "access underbody", "stands"]
CHOICES = ["volts G4 B-", "volts X7.2 B-", "volts B+ B-", "volts BODYR B-", "volts X7.1 B-", "volts FB.2 B-", "lowz X7.2 B-", "volts F12.1 B-",
           "listen", "volts K1.87 B-", "clock", "tip red", "millivolts G4 BODYR", "volts B+ BODY"]
END = ["call ground side bad", "key off", "repair G4", "handover"]
ACTIONS = 40


def course(draw):
    """One course of work: 40 actions."""
    middle = [draw.choice(CHOICES) for _ in range(ACTIONS - len(BEGIN) - len(END))]
    # A tip can only be lifted while the meter is on something.
    return BEGIN + ["volts B+ B-" if line == "tip red" and n == 0 else line for n, line in enumerate(middle)] + END


def sealed(objects):
    """Lines of a record: each object followed by the hash of the hash before it and of itself."""
    head, lines = "0" * 64, []
    for text in objects:
        head = hashlib.sha256((head + text).encode()).hexdigest()
        lines.append(f'{text[:-1]},"hash":"{head}"}}')
    return lines


def closing(objects, last):
    """The closing object, whose commitment stands on the hash before it."""
    head = "0" * 64
    for text in objects:
        head = hashlib.sha256((head + text).encode()).hexdigest()
    numbers = (last["n"], last["clock_ms"], last["spent"])
    said = "hidden-ohm attempt v1 %s %d %d %d " % (head, *numbers)
    commitment = hashlib.sha256(said.encode()).hexdigest()
    return json.dumps({"handed_back": True, "actions": numbers[0], "clock_ms": numbers[1], "spent": numbers[2], "commitment": commitment},
                      separators=(",", ":"))


def made(folder, habits, seed):
    """The records of all habits, as lists of objects, with whatever a learner could not do left out."""
    draw = random.Random(seed)
    records = []
    for _ in range(habits):
        (folder / "script").write_text("\n".join(course(draw)))
        (folder / "a.jsonl").unlink(missing_ok=True)
        run = subprocess.run([PROGRAM, "exercise", "start", "ex.toml", "--as", "Somebody", "--script", "script", "--json", "--attempt", "a.jsonl"],
                             cwd=folder, env={"HIDDEN_OHM_HOME": str(folder / "home")}, capture_output=True, text=True)
        if run.returncode != 0:
            sys.exit(run.stderr)
        lines = (folder / "a.jsonl").read_text().splitlines()
        records.append([line.rsplit(',"hash":"', 1)[0] + "}" for line in lines])
    return records


def cohort(count, habits, folder, out, seed=7):
    """Writes `count` packed attempts; leaves the exercise as FOLDER/ex.toml."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "ex.toml").write_text(EXERCISE)
    (folder / "ground.toml").write_text((ROOT / "tests/data/scenarios/corroded-ground.toml").read_text())
    records = made(folder, habits, seed)
    draw = random.Random(seed + 1)
    for number in range(count):
        objects = records[number] if habits >= count else draw.choice(records)
        header = json.loads(objects[0])
        header["exercise"]["learner"] = f"Learner {number}"
        objects = [json.dumps(header, separators=(",", ":"), ensure_ascii=False), *objects[1:-1]]
        objects.append(closing(objects, json.loads(objects[-1])))
        text = "\n".join(sealed(objects)) + "\n"
        out.write(json.dumps({"file": f"{number}.jsonl", "text": text}, separators=(",", ":"), ensure_ascii=False) + "\n")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        cohort(int(sys.argv[1]), int(sys.argv[2]), pathlib.Path(scratch), sys.stdout)
