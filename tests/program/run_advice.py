# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs one job of advice.toml: it must fail its check, and pass it once the check's own advice is followed."""
import json
import os
import re
import subprocess
import sys
import tempfile
import tomllib

import shapes

BASE = ["--unit", "mm", "--up", "z", "--span", "x"]


def name_of(job):
    return job.get("name", job["check"])


def run(program, folder, sets):
    args = [program, "make", "plug.stl", *BASE, "--out", "out", "--overwrite", "--json"]
    for one in sets:
        args += ["--set", one]
    done = subprocess.run(args, cwd=folder, capture_output=True, text=True, timeout=120, check=False)
    if done.returncode not in (0, 1):
        sys.exit(f"{' '.join(args)}\n{done.stderr}")
    return json.loads(done.stdout)["checks"]


def strength(match):
    numbers = re.findall(r"[\d.]+", match[1])
    return float(numbers[-1]) if numbers else 0.0  # advice may name a choice


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(here, "advice.toml"), "rb") as file:
        jobs = tomllib.load(file)["job"]
    if sys.argv[1:] == ["--list"]:
        print("\n".join(name_of(job) for job in jobs))
        return
    program, name = os.path.abspath(sys.argv[1]), sys.argv[2]
    [job] = [job for job in jobs if name_of(job) == name]
    with tempfile.TemporaryDirectory(prefix="cradlewright-advice-") as folder:
        with open(os.path.join(folder, "plug.stl"), "wb") as file:
            file.write(shapes.MAKERS["plug.stl"]())
        before = [c for c in run(program, folder, job["sets"]) if c["id"] == job["check"]]
        failed = [c for c in before if c["verdict"] == "fail"]
        if not failed:
            sys.exit(f"{name}: nothing fails: {[(c['subject'], c['verdict'], c['value']) for c in before]}")
        found = [m for c in failed if (m := re.search(job["advice"], c["advice"]))]
        if not found:
            sys.exit(f"{name}: no advice matches /{job['advice']}/: {[c['advice'] for c in failed]}")
        best = max(found, key=strength)
        sets = job["sets"] + [one.format(*best.groups()) for one in job["follow"]]
        keys = [one.split("=")[0] for one in sets]
        sets = [one for i, one in enumerate(sets) if one.split("=")[0] not in keys[i + 1:]]
        after = [c for c in run(program, folder, sets) if c["id"] == job["check"]]
        bad = [c for c in after if c["verdict"] not in ("pass", "not-applicable")]
        if bad or not any(c["verdict"] == "pass" for c in after):
            sys.exit(f"{name}: followed \"{best[0]}\" and still: " +
                     "; ".join(f"{c['subject']} {c['verdict']} {c['value']} [{c['low']}, {c['high']}] {c['limit']} {c['advice']}" for c in bad))


if __name__ == "__main__":
    main()
