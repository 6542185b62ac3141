"""Set up and run, with nothing but Python 3.11+ and pip:  python3 tools/dev.py demo | test | check | bench [args]"""

import hashlib
import importlib.util
import os
import pathlib
import subprocess
import sys
import venv

ROOT = pathlib.Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PY = BIN / ("python.exe" if os.name == "nt" else "python")
NEEDS = {"demo": ["build.txt", "run.txt"], "test": ["build.txt", "dev.txt"]}
NEEDS["check"] = NEEDS["bench"] = NEEDS["test"]
CHECKS = [
    ["-m", "ruff", "check", "."],
    ["-m", "ruff", "format", "--check", "."],
    ["-m", "mypy"],
    ["-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"],
    ["-m", "pytest", "-n", "auto"],
]


def prepare(command: str) -> None:
    """Make .venv and install the locked packages, if they are not there yet."""
    # Debian splits ensurepip off and its venv exits when it is missing, so ask first and drive pip from outside.
    has_ensurepip = importlib.util.find_spec("ensurepip") is not None
    if not PY.exists():
        venv.create(VENV, with_pip=has_ensurepip)
    pip = [str(PY), "-m", "pip"] if has_ensurepip else [sys.executable, "-m", "pip", "--python", str(PY)]
    locks = [ROOT / "requirements" / name for name in NEEDS[command]]
    content = b"".join(path.read_bytes() for path in [*locks, ROOT / "pyproject.toml"])
    wanted = hashlib.sha256(content).hexdigest()
    stamp = VENV / f".stamp-{locks[-1].stem}"
    if stamp.exists() and stamp.read_text() == wanted:
        return
    print("Installing the locked packages into .venv (once; about half a minute) ...", flush=True)
    install = [*pip, "install", "--quiet", "--disable-pip-version-check"]
    for lock in locks:
        subprocess.check_call([*install, "--require-hashes", "-r", str(lock)])
    subprocess.check_call([*install, "--no-deps", "--no-build-isolation", "-e", str(ROOT)])
    stamp.write_text(wanted)


def main() -> int:
    if sys.version_info < (3, 11):
        sys.exit("Python 3.11 or newer is needed; this is " + sys.version.split()[0])
    if len(sys.argv) < 2 or sys.argv[1] not in NEEDS:
        sys.exit(__doc__)
    command, args = sys.argv[1], sys.argv[2:]
    prepare(command)
    runs = {
        "demo": [["-m", "findhold.cli", "demo", *args]],
        "test": [["-m", "pytest", "-n", "auto", *args]],
        "check": CHECKS,
        "bench": [[str(path), *args] for path in sorted((ROOT / "bench").glob("bench_*.py"))],
    }[command]
    for run in runs:
        code = subprocess.call([str(PY), *run], cwd=ROOT)
        if code:
            return code
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
