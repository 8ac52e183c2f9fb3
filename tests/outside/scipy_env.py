"""A virtual environment with the SciPy the references were made with, for the checks beside this file."""
import os
import subprocess
import sys
from pathlib import Path

WHEELS = ["scipy==1.17.1", "numpy==2.4.6"]
VENV = Path(__file__).resolve().parents[2] / "target" / "venv-scipy"


def enter(script):
    """Runs the script again inside the environment, unless it already does. Exits 4 where SciPy cannot be had."""
    if Path(sys.prefix).resolve() == VENV.resolve():
        return
    python = VENV / "bin/python"
    versions = "; ".join(f"assert {name}.__version__ == '{version}'" for name, version in (wheel.split("==") for wheel in WHEELS))
    try:
        if not python.exists():
            subprocess.run([sys.executable, "-m", "venv", str(VENV)], check=True)
        if subprocess.run([str(python), "-c", f"import scipy, numpy; {versions}"], capture_output=True).returncode != 0:
            subprocess.run([str(python), "-m", "pip", "install", "--quiet", *WHEELS], check=True)
    except (OSError, subprocess.CalledProcessError) as error:
        print(f"{Path(script).name}: no SciPy: {error}", file=sys.stderr)
        sys.exit(4)
    os.execv(str(python), [str(python), str(script), *sys.argv[1:]])
