# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs one job of advice.toml: it must fail its check, and pass it once the check's own advice is followed.

run_advice.py --list                 names of the jobs
run_advice.py PROGRAM NAME           one job
run_advice.py PROGRAM --complete     each check of the program has a job or a stated reason why not
"""
import json
import os
import re
import subprocess
import sys
import tempfile
import tomllib

import shapes

BASE = ["--up", "z", "--span", "x"]
PLUGS = {"ellipsoid": shapes.plug, "block": shapes.block, "plate": shapes.plate}


def name_of(job):
    return job.get("name", job["check"])


class Trial:
    """A plug, settings and caliper checks; followed advice changes the first two."""

    def __init__(self, job):
        self.kind = job.get("plug", "ellipsoid")
        self.shape = dict(job.get("shape", {}))
        self.sets = {"plug.unit": "mm"} | dict(one.split("=", 1) for one in job["sets"])
        self.calipers = job.get("caliper", [])

    def run(self, program, folder):
        with open(os.path.join(folder, "plug.stl"), "wb") as file:
            file.write(shapes.stl(PLUGS[self.kind](**self.shape)))
        with open(os.path.join(folder, "job.toml"), "w", encoding="utf-8") as file:
            file.write('[plug]\nscan = "plug.stl"\n')
            for caliper in self.calipers:
                lines = [f"{key} = {json.dumps(value)}" for key, value in caliper.items()]
                file.write("\n".join(["[[caliper]]", *lines, ""]))
        args = [program, "make", "job.toml", *BASE, "--out", "out", "--overwrite", "--json"]
        for key, value in self.sets.items():
            args += ["--set", f"{key}={value}"]
        done = subprocess.run(args, cwd=folder, capture_output=True, text=True, timeout=120, check=False)
        if done.returncode not in (0, 1):
            sys.exit(f"{' '.join(args)}\n{done.stderr}")
        return json.loads(done.stdout)["checks"]

    def follow(self, told):
        """`told`: setting or shape word -> text; a shape word with + or - at its end changes by that much."""
        for key, value in told.items():
            if key.startswith("shape."):
                word = key.removeprefix("shape.").rstrip("+-")
                sign = {"+": 1, "-": -1}.get(key[-1])
                self.shape[word] = float(value) if sign is None else max(0.0, self.shape[word] + sign * float(value))
            else:
                self.sets[key] = value


def number_in(text):
    """The last number, "3/8" and "1 1/2" read as such; 0 without one, since advice may name a choice."""
    found = re.findall(r"(?:(\d+) )?(\d+)/(\d+)|(\d+\.?\d*)", text)
    if not found:
        return 0.0
    whole, top, below, plain = found[-1]
    return float(plain) if plain else float(whole or 0) + int(top) / int(below)


def followed(job, failed):
    """What the advice of the failed subjects says to set; of several numbers for one setting the greatest, or the least
    when the job says so."""
    told, strength = {}, {}
    for check in failed:
        match = re.search(job["advice"], check["advice"])
        if not match:
            continue
        for one in job["follow"]:
            key, value = one.format(*match.groups()).split("=", 1)
            own = number_in(value) * (-1 if job.get("least") else 1)
            if key not in told or own > strength[key]:
                told[key], strength[key] = value, own
    return told


def run_job(program, job):
    name = name_of(job)
    with tempfile.TemporaryDirectory(prefix="cradlewright-advice-") as folder:
        trial = Trial(job)
        before = [c for c in trial.run(program, folder) if c["id"] == job["check"]]
        failed = [c for c in before if c["verdict"] == "fail"]
        if not failed:
            sys.exit(f"{name}: nothing fails: {[(c['subject'], c['verdict'], c['value'], c['limit']) for c in before]}")
        told = followed(job, failed)
        if not told:
            sys.exit(f"{name}: no advice matches /{job['advice']}/: {[c['advice'] for c in failed]}")
        trial.follow(told)
        after = [c for c in trial.run(program, folder) if c["id"] == job["check"]]
        bad = [c for c in after if c["verdict"] not in ("pass", "not-applicable")]
        if bad or not any(c["verdict"] == "pass" for c in after):
            sys.exit(f"{name}: followed {told} and still: " + "; ".join(
                f"{c['subject']} {c['verdict']} {c['value']} [{c['low']}, {c['high']}] {c['limit']} {c['advice']}"
                for c in bad or after))


def check_complete(program, book):
    listed = {c["id"] for c in json.loads(subprocess.run([program, "explain", "--json"], capture_output=True, text=True,
                                                         check=True).stdout)}
    with_job, without = {job["check"] for job in book["job"]}, set(book["without-job"])
    problems = [f"{i}: no job in advice.toml fails it" for i in sorted(listed - with_job - without)]
    problems += [f"{i}: no such check" for i in sorted((with_job | without) - listed)]
    problems += [f"{i}: has a job, so no reason is needed" for i in sorted(with_job & without)]
    if problems:
        sys.exit("\n".join(problems))


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(here, "advice.toml"), "rb") as file:
        book = tomllib.load(file)
    if sys.argv[1:] == ["--list"]:
        print("\n".join(name_of(job) for job in book["job"]))
        return
    program, name = os.path.abspath(sys.argv[1]), sys.argv[2]
    if name == "--complete":
        check_complete(program, book)
        return
    [job] = [job for job in book["job"] if name_of(job) == name]
    run_job(program, job)


if __name__ == "__main__":
    main()
