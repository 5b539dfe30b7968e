"""Does the demo shop's main job without a window: due list, labels, a tension sheet, pictures."""

from __future__ import annotations

import json
import subprocess
from dataclasses import dataclass
from pathlib import Path

from private_environment import Environment, cache_folder, can_write

_PAPERS = ("due.txt", "labels.pdf", "tension-sheet.pdf")


@dataclass(frozen=True)
class Job:
    """Runs the program's commands and keeps count of what they wrote and what failed."""

    environment: Environment
    out: Path
    failed: list[str]

    def run(self, *arguments: str) -> str | None:
        """Run one command of the program; return what it said, or None if it failed."""
        done = subprocess.run(
            [self.environment.command("framekeeper"), *arguments],
            env={**self.environment.variables(), "QT_QPA_PLATFORM": "offscreen"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            encoding="utf-8",
            errors="replace",
            check=False,
        )
        if done.returncode != 0:
            self.failed.append("framekeeper " + " ".join(arguments))
            return None
        return done.stdout


def do_main_job(environment: Environment) -> int:
    """Write the papers and pictures of the demo shop, list them, and return the exit code."""
    job = Job(environment, out_folder(environment.checkout), [])
    due_list, labels, sheet = (job.out / name for name in _PAPERS)
    due = job.run("--demo", "due")
    if due is not None:
        due_list.write_text(due, encoding="utf-8")
    job.run("--demo", "labels", "--all", "--out", str(labels))
    code = frame_with_tension(job.run("--demo", "frames", "--json"))
    if code is not None:
        job.run("--demo", "tension-sheet", code, "--out", str(sheet))
    job.run("pictures", str(job.out / "pictures"))
    report(job)
    return 1 if job.failed else 0


def out_folder(checkout: Path) -> Path:
    """Return the folder for the papers, cleared of an earlier run.

    It is `out` in the checkout, or in the user's cache where the checkout cannot be written to.
    """
    out = checkout / "out"
    if not can_write(out if out.exists() else checkout):
        out = cache_folder(checkout) / "out"
    out.mkdir(parents=True, exist_ok=True)
    for old in (*(out / name for name in _PAPERS), *out.glob("pictures/*.png")):
        old.unlink(missing_ok=True)  # what is listed at the end must come from this run
    return out


def frame_with_tension(frames: str | None) -> str | None:
    """Return the code of the first frame in the list whose tension is known."""
    if frames is None:
        return None
    known = (frame["code"] for frame in json.loads(frames) if frame.get("tension") is not None)
    return next(known, None)


def report(job: Job) -> None:
    """List what lies in the out folder, with sizes, and what could not be made."""
    print(f"Written to {job.out}:")
    for path in sorted(path for path in job.out.rglob("*") if path.is_file()):
        print(f"  {path.relative_to(job.out)}  {path.stat().st_size / 1000:.1f} kB")
    for command in job.failed:
        print(f"This command failed; its own words stand above: {command}")
